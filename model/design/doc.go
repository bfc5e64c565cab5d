// Package design is what physics makes of a site: for every bag its store, its
// wicks' supply, its limits and its demand, for every reservoir how level and
// volume belong together; and, before there is a site, what to build.
//
// # What it gives
//
// Build turns the nouns of package model into the objects of hydraulics and
// climate, once, so that the estimator, the simulator and the commands that
// advise all rest on the same figures. Site.Check reports on it: each bag's
// wicks at its dry limit against its full-grown plants on a peak day, what wick
// and medium in series pass on (Bag.Conveyed), how far the level may fall and
// rise, and a peak day run with the quick model (Bag.RunPeak), with advice in
// words. Size works out what a Requirement leaves open and says where each
// figure comes from.
//
// It decides nothing about readings, and reads and writes nothing.
//
// # Invariants
//
// A Site is immutable once built. Size and Check give the same figures for the
// same bag, as Size reports on a bag that Build made. What advice proposes is
// enough by the same physics that found it wanting; a test builds it. Figures
// that come from typical values are carried with a note, which every report
// that rests on them repeats.
//
// # Concurrency
//
// A built Site and its Bags are safe for concurrent use; functions share
// nothing.
package design
