// Package expose turns what wickd knows into Prometheus metrics.
//
// A Collector reads one snapshot per scrape and makes every per-bag,
// per-reservoir, per-channel, per-sensor and per-alert series from it, so a bag
// that is gone from the site is gone from the next scrape, and all figures of
// one scrape belong to the same moment. Counters hold what the daemon counts
// while it works. Neither decides anything: no threshold, no alert condition.
//
// Units are Prometheus' base units, whatever wickd uses inside:
//
//	water content, health, share   ratio, 0–1
//	volume                         litres
//	uptake, draw, demand, supply   litres per second (times 86400: per day)
//	level                          metres
//	suction                        pascals
//	electrical conductivity        siemens per metre at 25 °C (1 mS/cm is 0.1 S/m)
//	temperature                    degrees Celsius
//	points in time                 seconds since 1970-01-01 UTC
//
// A figure is never exposed without its quality: each estimate has a standard
// deviation beside it, and wickd_estimate_quality and
// wickd_estimate_evidence_timestamp_seconds say what it rests on. A figure whose
// quality is unknown, or that is not a finite number, is left out.
//
// Collector and Counters may be used from any number of goroutines. The
// functions given in Options are called during a scrape, must not block for
// long and must return memory that nobody changes afterwards.
package expose
