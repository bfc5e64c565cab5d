package estimate

import (
	"math"
	"time"
)

// diurnal is how the draw of a house departs from the model's over the hours of the
// day, alike on every day: mix that passes water up slowly goes on drawing after
// dusk, plants drink a little by night, a vent opens at ten. What one bright day
// after dull ones draws so by night looks like a leak, unless it is expected. It is
// learnt from the levels alone, as a share of the day's draw, in waves of a whole,
// a half and a third of a day, whose mean over a day is nothing.
type diurnal struct {
	Cos, Sin [diurnalWaves]float64 // of the day's draw, per hour
	Variance float64               // of each; 0: nothing is learnt yet
	Booked   float64               // L that the model drew since the start, the course of the day in it
	Hour     time.Time             // that is being heard
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
	diurnalWaves = 3
	// diurnalPrior is the standard deviation of a wave's height before anything is
	// learnt of it, per hour and of the day's draw, and diurnalDrift by how much it
	// moves, per √d: slowly, for a leak that is a day old must not count as the
	// course of the day. Both are assumptions.
	diurnalPrior = 0.005
	diurnalDrift = 0.0005
	// diurnalWhim is by how much an hour's draw departs from one day to the next,
	// and diurnalMost how much of what an hour's levels say is believed at most.
	diurnalWhim = 0.015
	diurnalMost = 0.04
)

// wave is the angle of the day's first wave at t.
func wave(t time.Time) float64 {
	day := t.Sub(t.Truncate(24 * time.Hour))
	return 2 * math.Pi * day.Hours() / 24
}

// share is what it adds to the draw of an hour at t, of the day's.
func (d *diurnal) share(t time.Time) (share float64) {
	angle := wave(t)
	for i := range diurnalWaves {
		sin, cos := math.Sincos(float64(i+1) * angle)
		share += d.Cos[i]*cos + d.Sin[i]*sin
	}
	return share
}

// height is the root mean square of the waves over a day, of the day's draw, per
// hour, less the noise in them: as a rule a quarter of their variance, for most
// days differ by less than diurnalWhim.
func (d *diurnal) height() float64 {
	squares := 0.0
	for i := range diurnalWaves {
		squares += sq(d.Cos[i]) + sq(d.Sin[i])
	}
	return math.Sqrt(math.Max(0, squares/2-diurnalWaves*d.Variance/4))
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
	// Over a day the waves have nothing in common, and the mean square of each is a
	// half: so none need know of the others.
	s := noise + sq(diurnalWhim) + diurnalWaves*d.Variance
	gain := d.Variance / s * clamp(beyond, -diurnalMost, diurnalMost)
	d.Variance -= sq(d.Variance) / (2 * s)
	angle := wave(d.Hour) // where the two hours meet
	for i := range diurnalWaves {
		sin, cos := math.Sincos(float64(i+1) * angle)
		d.Cos[i] += gain * cos
		d.Sin[i] += gain * sin
	}
}
