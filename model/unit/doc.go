// Package unit reads, prints and converts numbers that carry a unit: "108 mm",
// "1.4 mS/cm", "0.13 /cm".
//
// A text is always read against a Dimension, because the same symbol means
// different things in different places: "cm" is a length and a suction, "%" a
// ratio and a slope, "K" a temperature and a difference of temperatures. Each
// Dimension has one canonical unit, the one in which wickd calculates:
//
//	Length                         mm
//	Area                           m²
//	Section                        cm²
//	Volume                         L
//	EC                             mS/cm
//	Temperature                    °C
//	TemperatureDifference          K
//	Ratio, Slope                   1
//	InverseLength                  1/cm
//	Conductivity (hydraulic)       cm/h
//	Duration                       s
//	Radiation                      W/m²
//	Suction                        cm of water
//	Flow                           L/d
//	PH                             pH
//	Speed                          m/s
//	TemperatureCoefficient         1/K
//
// Symbols are those of the trade, of SenML (RFC 8428, section 12.1: "Cel",
// "%RH", "S/m") and of UCUM ("[pH]", "[degF]"). They are case-sensitive, as
// mS and MS differ by nine orders of magnitude.
//
// Numbers are strict: decimal digits, a decimal point, an exponent. A comma, a
// digit group or a missing unit is an error that shows how to write it, because
// a number read wrongly here is a wrong bag.
//
// What the package does not do: it knows nothing of files, positions or
// sensors; it converts no quantity into another (a level into a volume, light
// in lx or µmol/m²/s into radiation). Everything is a pure function on
// read-only tables and safe for concurrent use.
package unit
