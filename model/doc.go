// Package model holds the nouns of wickd: the site as its grower describes it,
// the readings that come from it and the estimates that are made of them.
//
// It has no behaviour beyond looking things up, imports nothing that does I/O
// and never reads the clock. The physics lives in the packages below it
// (hydraulics, climate, design, estimate, sim), which import these nouns; the
// nouns import none of them.
//
// Units in every noun, unless a field says otherwise:
//
//	length of tubes, lifts, levels   mm
//	water volume                     L
//	water content                    m³/m³ (0–1)
//	pressure head, suction           cm of water
//	flux and conductivity            cm/h
//	electrical conductivity          mS/cm at 25 °C
//	temperature                      °C
//	relative humidity                0–1
//	radiation                        W/m²
//
// All values are plain data: copy them, compare them, encode them as JSON.
// A Site is built once and is read-only afterwards, so it needs no lock.
package model
