// Package estimate knows what the sensors alone cannot show. From readings in
// time order it keeps, for every bag, an extended Kalman filter over
//
//	index  symbol  meaning                              unit
//	0      S       water in the bag                     cm³
//	1      ln H    logarithm of wick health             1 (0: as built)
//	2      ln D    logarithm of the demand factor       1 (0: as the reservoir's bags on average)
//	3      b       probe offset, with the model's own   m³/m³
//	4      c       what the probe reads by its warmth   m³/m³ per K
//
// driven by the quick model of package hydraulics and the reference
// evapotranspiration of package climate, and for every reservoir one over
//
//	0      V       volume                               L
//	1      ln C    logarithm of the demand factor that its bags share
//	2      ln T    logarithm of today's departure from it; it dies away
//	3      u       draw that no bag explains            L/h
//	4      c       what the level reads by its warmth   mm per K
//
// Where channels are filled from the reservoir at times, V is what both hold, and the
// level tells it after a filling.
//
// The two are tied: the bags' draw is what the volume is predicted with, and
// the factor that the volume teaches scales the demand of every bag. What the
// level tells afterwards of the hours before is booked to the bags, so that
// together they drank what left the reservoir. Near the
// limit of the wicks the draw tells little of demand; what is not known of the
// house is then in the variance of every bag's own factor, and what the bags have
// in common is handed to the house once a day. When a supply turns out to have
// failed or to be back, the reservoir forgets what the hours since then seemed to
// teach it. By how much
// one day departs from the next is learnt from the site's own days: a house that
// follows its reference closely lets a day's balance tell of small leaks, and
// where the sky is not measured the still water of the night must. How the course
// of a day departs from the model's, alike on every day, is learnt from the levels
// by the hour where the sun is measured; the more it departs, the larger a leak must
// be to be told. What leaves unexplained as a rule, as what plants drink by night, is
// learnt over weeks as a share of the draw, for it grows with them.
//
// Beside each filter run competing explanations — a wick out of contact,
// a channel run dry, each a copy of the bag under its own assumption; plants
// that stopped drinking, by the day's dip that is gone, and what a lost wick
// makes of that dip where the bag never dries for it; a clogging wick, a second
// filter that is readier to believe in a decline; a probe that was touched, a bag that
// goes on as it was and reads less from one reading to the next; a leak, the reservoir's
// filter with its unexplained draw set free. They are weighed by the log-likelihood of the readings; one
// that explains them clearly better takes over, and is named. Where two are
// about as good as each other, both are named with what would decide.
//
// What the readings cannot tell: bags far from their limits move by a
// hundredth of water content a day, so that wicks may lose four fifths of
// their lift before it shows; by night nothing drinks and no supply is missed;
// and demand against wick health of one bag is known only from how fast it
// recovers.
//
// Everything is deterministic in the order of calls: time is an argument,
// nothing iterates over a map. An Estimator is not safe for concurrent use; a
// snapshot shares no memory with it. Its state is plain JSON, and a restored
// estimator goes on exactly as the original would have.
package estimate
