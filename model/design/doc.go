// Package design is what physics makes of a site: for every bag its store, its
// wicks' supply, its limits and its demand, for every reservoir how level and
// volume belong together.
//
// It turns the nouns of package model into the objects of hydraulics and
// climate, once, so that the estimator, the simulator and the commands that
// advise before building all rest on the same figures. It decides nothing
// about readings. A Site is immutable once built and safe for concurrent use.
//
// Figures that come from typical values are carried with a note, which every
// report that rests on them repeats.
package design
