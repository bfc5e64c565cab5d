// Package sim is a simulated site: a truth that nobody sees, and sensors that
// tell of it with errors. It feeds the demo and judges the estimator.
//
// # What is simulated
//
//   - Bags: Richards' equation (hydraulics.Column) from the water surface
//     through the wicks to the top of the medium, in 24 cells, with roots that
//     take from every layer and tire where it is dry. The quick model that the
//     estimator rests on takes no part.
//   - Plants: canopy × Kc × reference evapotranspiration, times a factor of each
//     bag, one of the house, and a whim of each bag from hour to hour.
//   - Weather: season, day and night, dew and humidity; cloudiness that lasts
//     from day to day and clouds within the day, over the sun's geometry of
//     FAO-56; the air under a cover. The reference is FAO-56 eq 53 with a
//     movement of air and a shielding of the sky that the estimator is not told.
//   - Reservoirs: level by shape, wicks' draw, leaks, evaporation if they are
//     open, a grower who refills at nine the morning after the low mark and
//     mixes nearly to target. At `empty` the channels get nothing. Where a
//     reservoir feeds at times, each channel has a store of its own, which the
//     grower fills at eight and at eighteen. Salt is a
//     conserved quantity in mS/cm × L, which takes EC as proportional to
//     concentration; pH creeps up; temperature follows the air.
//   - Sensors: white noise, an offset for each moisture probe, rounding,
//     conversion to the unit that the site file gives, the inverse of its
//     calibration, EC at the solution's own temperature where the reader is to
//     compensate; payloads as the site file implies (a bare number, a JSON
//     document that all sensors of a topic share, SenML); lost messages.
//   - Faults of every kind that FaultKind lists.
//
// The truth differs from the site file: Scatter says how far, and each figure
// of it is drawn once from the seed.
//
// # What is not
//
// Hysteresis and water repellence (a bag that dried out fills again as if it
// had not), flow along the bag, swelling, roots that grow, air pockets, water
// under way in the channels (they are full or dry), osmotic stress,
// precipitates, a network that delays, reorders or repeats messages, and
// payloads that carry a time of their own. The grower never errs but by a
// fault.
//
// # What judge and judged share
//
// The retention and conductivity functions, the tube's geometry, the shape of
// the reservoir and the form of the demand equation. A mistake in these shows
// in neither; they are checked against published values in their own packages.
//
// # Origin of figures
//
// Site and physics come from the site file and the packages hydraulics, climate
// and design, with their sources. All else — weather, scatter, noise, time
// constants, the grower's habits and DemoSite — is invented demo data: it is
// made to be plausible, it is measured nowhere, and no result obtained with it
// is a claim about a real site.
//
// # Invariants
//
// Water and salt are conserved to a millionth over weeks, whatever the faults.
// No clock is read: one seed and one start give the same bytes. Every purpose
// has its own stream of randomness, so that a run with a fault can be compared
// with the run without it, reading by reading.
//
// # Cost
//
// A 10-min step of twelve bags takes about 0.6 ms of one core of a server
// (BenchmarkAdvance), 2.5 ms with mixtures from parts and most bags in trouble;
// two weeks of twelve bags about a second. New takes some 40 ms, nearly all of
// it in design.Build.
//
// # Concurrency
//
// A Sim belongs to one goroutine. Truth and messages are copies.
package sim
