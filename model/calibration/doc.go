// Package calibration turns a grower's weighings into the calibration of a
// moisture probe and into the retention curve of a medium.
//
// [FitMoisture] draws a line (or a curve, where the readings ask for one) through
// what a probe sent and what a balance said. [FitDrain] takes a home drain test: a
// pot of known height, weighed saturated, drained with its base at one or more
// heights above a water table, and dried; it fits van Genuchten's parameters to
// the mean water contents of the pot, with their uncertainty.
//
// Water contents are volumetric, 0–1; heights and suctions cm of water; weights g,
// volumes L, so that a gram of water is a millilitre. Everything is a pure
// function of its arguments. What cannot be told from so few weighings is said in
// standard deviations, not hidden: the prior of the fit is the range of potting
// media, and a parameter that the weighings do not move keeps its width.
package calibration
