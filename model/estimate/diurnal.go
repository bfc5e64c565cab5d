package estimate

import (
	"math"
	"time"
)

// diurnal is how the draw of a house departs from the model's over the hours of the
// day, alike on every day: mix that passes water up slowly goes on drawing after
// dusk, plants wake an hour sooner, a vent opens at ten. What one bright day after
// dull ones draws so in the evening looks like a leak, unless it is expected. It is
// learnt from the levels alone, hour by hour, as a share of the day's draw. What one
// hour draws more, the others draw less, each as it draws at all: how much is drawn in
// a day is for the demand to say, and what leaves at all hours alike, for a leak.
type diurnal struct {
	Shares   [24]float64 // of the day's draw, per hour, about each full hour of UTC
	Variance float64     // of each, where the most is drawn; 0: nothing is learnt yet
	Profile  [24]float64 // how the draw of a day was shared out of late, about each full hour of UTC
	Booked   float64     // L that the model drew since the start, the course of the day in it
	Hour     time.Time   // that is being heard
	Now      hourLevels
	Before   hourLevels // of the hour before, if it was heard
}

// hourLevels are the levels of an hour, each as the volume that the reservoir held at
// the start by the books, L.
type hourLevels struct {
	Sum   float64
	Count int
}

func (g hourLevels) mean() float64 { return g.Sum / float64(g.Count) }

const (
	// diurnalPrior is the standard deviation of an hour's departure before anything is
	// learnt of it, per hour and of the day's draw, and diurnalDrift by how much it
	// moves, per √d: slowly, for a leak that is a day old must not count as the
	// course of the day. Both are assumptions.
	diurnalPrior = 0.009
	diurnalDrift = 0.0009
	// diurnalWhim is by how much an hour's draw departs from one day to the next,
	// and diurnalMost how much of what an hour's levels say is believed at most.
	diurnalWhim = 0.015
	diurnalMost = 0.04
	// diurnalReach is over how many hours a departure is alike: the standard deviation
	// of a bell curve.
	diurnalReach = 1.5
	// diurnalLasts is for how many hours after a day's draw bags may go on, and
	// diurnalStill how much the stillest hour may depart, against the busiest: of bags
	// that go on all night the nights tell, too. Both are assumptions.
	diurnalLasts = 4
	diurnalStill = 0.3
)

// share is what it adds to the draw of an hour at t, of the day's.
func (d *diurnal) share(t time.Time) float64 {
	at := t.Sub(t.Truncate(24 * time.Hour)).Hours()
	hour, part := int(at), at-math.Floor(at)
	return (1-part)*d.Shares[hour] + part*d.Shares[(hour+1)%24]
}

// height is the root mean square of the departures over a day, of the day's draw, per
// hour, less the noise in them: as a rule a quarter of their variance, for most
// days differ by less than diurnalWhim.
func (d *diurnal) height() float64 {
	squares := 0.0
	for _, s := range d.Shares {
		squares += sq(s)
	}
	return math.Sqrt(math.Max(0, squares/24-d.Variance/4))
}

// near is how much of what is so in one hour is so in another.
func near(one, other int) float64 {
	apart := (one - other + 24) % 24
	return math.Exp(-sq(float64(min(apart, 24-apart))/diurnalReach) / 2)
}

// stir is how much an hour may depart, against the busiest: in full while the house
// draws and some hours after, and else by as much as is drawn about it. Deep in the
// night, when little is drawn, little is expected, and what leaves is a leak.
func (d *diurnal) stir(hour int) float64 {
	const even = 1.0 / 24
	for before := range diurnalLasts + 1 {
		if d.Profile[(hour-before+24)%24] > even/2 {
			return 1
		}
	}
	much, all := 0.0, 0.0
	for i, p := range d.Profile {
		much += p * near(i, hour)
		all += near(i, hour)
	}
	return clamp(much/all/even, diurnalStill, 1)
}

// forget leaves out the hours that a refill, a leak or a failed supply spoilt.
func (d *diurnal) forget() { d.Now, d.Before = hourLevels{}, hourLevels{} }

// hear takes a level as a volume, L, with the variance of its noise. day is the
// draw of the last whole day, L.
func (d *diurnal) hear(t time.Time, volume, variance, day float64) {
	if hour := t.Truncate(time.Hour); !hour.Equal(d.Hour) {
		if hour.Sub(d.Hour) > time.Hour {
			d.forget()
		}
		d.learn(variance, day)
		d.Hour, d.Before, d.Now = hour, d.Now, hourLevels{}
	}
	d.Now.Sum += volume + d.Booked
	d.Now.Count++
}

// learn takes what left between the middles of two hours beyond the books.
func (d *diurnal) learn(variance, day float64) {
	if d.Now.Count == 0 || d.Before.Count == 0 || !(day > 0) {
		return
	}
	beyond := (d.Before.mean() - d.Now.mean()) / day
	noise := variance * (1/float64(d.Now.Count) + 1/float64(d.Before.Count)) / sq(day)
	if d.Variance == 0 {
		d.Variance = sq(diurnalPrior)
	}
	d.Variance += sq(diurnalDrift) / 24
	at := d.Hour.UTC().Hour() // where the two hours meet
	stir := d.stir(at)
	s := noise + sq(diurnalWhim) + d.Variance
	gain := d.Variance * stir / s * clamp(beyond, -diurnalMost, diurnalMost)
	var alike [24]float64
	sum, squares := 0.0, 0.0
	for i := range alike {
		alike[i] = d.stir(i) * near(i, at)
		sum += alike[i]
	}
	for i, p := range d.Profile {
		alike[i] -= sum * p
		d.Shares[i] += gain * alike[i]
		squares += sq(alike[i] * stir)
	}
	d.Variance -= sq(d.Variance) * squares / 24 / s
}
