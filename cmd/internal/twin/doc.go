// Package twin judges wickd against a simulated site of which everything is
// known. Package sim makes the site — bags as columns of Richards' equation
// with their own media, wicks, plants and probes, a weather and a grower — and
// what its sensors would send; the decoder and the core of package daemon take
// that as they take a broker's messages. What they say is then held against
// the truth: how long a fault took to be named, what was raised without cause,
// how far uptake and water content lie off, and whether intervals hold what
// they promise. A bag that is called dry, or going to be, is rightly called
// so if it is or gets as dry as that, whatever is wrong or not: on a bright day
// plants may ask for more than their wicks lift. Of a fault that somebody mends it is
// asked whether its alerts ended, and how long after; what is told of it later than
// an hour after it was mended is a false alarm.
//
// What no reader of these sensors could do better stands beside some figures: the
// least error of a bag's uptake that its probe allows, and what somebody makes of the
// days ahead who knows all that was.
//
// It does not judge the transport, the journal or the delivery of alerts.
//
// A trial is decided by its seed alone: the same seed gives the same outcome.
// Trials share nothing and may run at the same time.
package twin
