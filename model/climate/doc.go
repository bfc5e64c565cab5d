// Package climate turns weather into the demand of plants for water, after
// FAO Irrigation and Drainage Paper 56 (Allen, Pereira, Raes & Smith 1998),
// here FAO-56; its equation numbers stand beside the functions.
//
// # What it gives
//
// The kernel functions (air, sun, radiation, Penman–Monteith by the day and by
// the hour, Hargreaves) are FAO-56 as printed, and checked against its worked
// examples. Demand and its Tracker give the reference evapotranspiration, the
// depth in mm that a cool-season grass 0.12 m high would lose, over any
// interval of the past or the future, from whatever sensors there are. A crop's
// uptake is then
//
//	canopy (m²) × Kc × reference depth (mm) × stress = litres
//
// with Kc from Crop.KcAt and stress from DryLimits and Salinity. No sensors
// are judged here, no water is balanced and nothing is read or written.
//
// # Under a cover
//
// FAO-56 holds no coefficients for greenhouses. Three things are done about it,
// each in sight: still air counts as 0.5 m/s (WindFloor); radiation is that
// inside the cover, measured there or converted with Inside; and
// Options.LongwaveShield says how much of the long-wave loss the cover stops.
// What is left is a factor near one that the site itself must teach.
//
// # The ladder of fewer sensors
//
// What is not measured is estimated and put into the same hourly equation. The
// Rung says how far down a depth stands; Rung.RelativeError gives the standard
// error of a day's depth: the step's cost below, the larger of its two columns,
// on top of 10 % for the method itself (daily lysimeter comparisons collected
// by Jensen, Burman & Allen 1990; from memory). Shorter spells are looser.
//
// The cost of each step, as a share of the mean day: root mean square error of
// day totals against all sensors, and mean error in parentheses, from the end
// of March to September in one drawing of invented weather at 47° N, under a
// cover passing 65 % and in the open:
//
//	                           covered             open
//	without humidity           2 %  (+0)       6 %  (+0)
//	radiation only            14 %  (-6)      19 %  (+9)
//	without radiation         22 %  (+13)     14 %  (-2)
//	temperature only          22 %  (+13)     17 %  (-1)
//	recent days               25 %  (-1)      26 %  (+0)
//	date and latitude only    27 %  (-9)      28 %  (+7)
//	litres per plant          33 %  (+0)      33 %  (+0)
//	Hargreaves' eq 52         49 %  (+44)     14 %  (+5)
//
// A test measures this table; four other drawings moved the errors by up to four
// points. The weather is invented, so the table ranks the steps and shows what
// each is blind to; it is not a claim about any place. Where nights do not come
// near the dew point, as in arid air or a heated house, the first row is too
// kind; recent days are one day ahead; the assumed 20 °C and 70 % happen to suit
// this season; the grower's litres are taken to be right on its average.
//
// The last row is why temperature alone does not lead to Hargreaves' equation
// here: it was fitted outdoors, reads the warmth that the cover traps as more
// sun and drier wind, and is out by nearly half. The same temperatures put
// through Penman–Monteith by FAO-56's procedure for missing data cost half of
// that under a cover and about as much in the open.
//
// # Invariants
//
// Depths are never negative or NaN: where the equation turns negative, dew or a
// cold sky, the step counts 0. Time is an argument; instants may be in any
// zone, hours of the day are UTC's and the sun follows the longitude. Equal
// observations in equal order give equal bits, also across a checkpoint
// (MarshalJSON, UnmarshalJSON). Memory is bounded by Options.Days: about 60 kB
// for five days.
//
// # Concurrency
//
// Functions and Crop are safe for concurrent use. Demand and Tracker belong to
// one goroutine.
package climate
