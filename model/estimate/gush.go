package estimate

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat"
)

// A hose that came off empties a tank in an hour. Such a fall is told by the levels
// alone: none of the explanations that compete over days has time to, and the
// filter, which expects a draw like those before, would doubt every reading of it.

const (
	// gushSpan is how far back the fall is looked at, gushReadings the fewest levels
	// that show one: what somebody takes out at once is a step, and no fall.
	gushSpan     = 130 * time.Minute
	gushReadings = 4
	// gushTimes is by how many times the most that the bags ever drew in an hour the
	// fall must exceed what they draw: after dull days a bright one draws three times as
	// much where nobody measures the sky (assumption). gushLeast is for houses that
	// draw next to nothing.
	gushTimes = 3.0
	gushLeast = 1.0 // L/h
	// fillTimes is by how many times faster than by the model bags may fill whose supply
	// is back: they dried from below, where they drink first, and the model has them
	// dry evenly (assumption).
	fillTimes = 2.0
	// gushSigma is by how many standard deviations it must, and gushStraight by how
	// many of the sensor's levels may lie off a straight fall, or by which share of it:
	// waves are slower than the noise of a sensor that reads often. One step is off the
	// line through it by a seventh of its height and more, two equal ones by a tenth.
	gushSigma    = 8.0
	gushStraight = 2.5
	gushCurved   = 0.08
	// gushFaster is by how many times faster than was thought it is taken anew for
	// what it is: the first levels that show a fall may have begun before it.
	gushFaster = 1.15
	// gushDoubt is how well its rate is known, relative: it slackens as the level
	// falls.
	gushDoubt = 0.2
)

// gauging is a level as a volume, L.
type gauging struct {
	At     time.Time
	Volume float64
}

// look keeps the levels of the last two hours.
func (r *reservoir) look(t time.Time, g gauged) {
	kept := r.Lately[:0]
	for _, s := range r.Lately {
		if t.Sub(s.At) < gushSpan {
			kept = append(kept, s)
		}
	}
	r.Lately = append(kept, gauging{t, g.volume})
}

// beginGush takes a fall of the latest levels that no plant makes for a leak, and
// reports whether it did.
func (r *reservoir) beginGush(t time.Time, g gauged) bool {
	if r.Daily.Whole == 0 {
		return false
	}
	// The steepest, but for its error: longer ones may begin before the fall does.
	var steepest fall
	for n := gushReadings; n <= len(r.Lately); n += 1 + n/8 {
		f := fallOf(r.Lately[len(r.Lately)-n:], g.variance)
		f.rate -= r.Evening
		if f.straight && f.rate > r.plants() && f.rate > gushSigma*f.sd && f.least() > steepest.least() {
			steepest = f
		}
	}
	if steepest.rate == 0 || r.gushing() && steepest.rate < gushFaster*r.Gush {
		return false
	}
	r.gush(t, g, steepest.rate)
	return true
}

// fall is how fast levels fall, L/h, how well they tell it, and whether they do
// so evenly.
type fall struct {
	rate, sd float64
	straight bool
}

// least is the least that it may be.
func (f fall) least() float64 { return f.rate - gushStraight*f.sd }

// fallOf is the fall of levels of which each has that variance, L².
func fallOf(s []gauging, variance float64) (f fall) {
	hours, volumes := make([]float64, len(s)), make([]float64, len(s))
	for i, v := range s {
		hours[i], volumes[i] = v.At.Sub(s[0].At).Hours(), v.Volume
	}
	start, slope := stat.LinearRegression(hours, volumes, nil, false)
	spread, off := 0.0, 0.0
	middle := stat.Mean(hours, nil)
	for i, h := range hours {
		spread += sq(h - middle)
		off += sq(volumes[i] - start - slope*h)
	}
	sd := math.Sqrt(variance)
	fell := -slope * hours[len(hours)-1]
	f.straight = math.Sqrt(off/float64(len(s))) <= math.Max(gushStraight*sd, gushCurved*fell)
	f.rate, f.sd = -slope, sd/math.Sqrt(spread)
	return f
}

func (r *reservoir) gushing() bool { return r.Gush > 0 }

// plants is the fastest that the bags may draw, L/h.
func (r *reservoir) plants() float64 {
	return math.Max(gushLeast, gushTimes*r.most()+fillTimes*r.refill())
}

// most is the most that the bags drew in an hour, L, but for the last ones, in which
// it may have run out already.
func (r *reservoir) most() (most float64) {
	const lately = 3
	for _, h := range r.Hours[:max(0, len(r.Hours)-lately)] {
		most = math.Max(most, h.asked())
	}
	return most
}

// refill is what bags whose supply had failed would draw in an hour, L, if it were
// back, or drew when it came back: the fall that is looked at may be of that hour.
func (r *reservoir) refill() (litres float64) {
	for _, b := range r.bags {
		held := b.Roll.X[iStorage]
		switch {
		case b.Dried > 0 && r.Time.Sub(b.Mended).Hours() < fillIn:
			held = math.Min(held, b.Dried)
		case !b.failing() && !b.soaks(r.Time):
			continue
		}
		litres += math.Max(0, b.physics.Hydraulic.Step(held, 0, 1, 1).Wicked) / 1000
	}
	return litres
}

// gush has the filter begin from the level, with a leak of that rate.
func (r *reservoir) gush(t time.Time, g gauged, rate float64) {
	// Sensors that read often may have told the filter of it by and by.
	if !r.gushing() && t.Sub(r.Found.At) > gushSpan {
		r.Found = r.believed(t)
	}
	lost := r.X[jVolume] - g.volume
	r.setVolume(t, g)
	r.Drawn, r.Loose = r.Drawn+lost, r.Loose+lost
	r.become(rate, sq(gushDoubt*rate))
	r.Gush, r.News = rate, true
}

// become sets what leaks.
func (r *reservoir) become(rate, variance float64) {
	r.X[jUnexplained], r.P = rate, r.P.forget(jUnexplained, variance)
	r.Tally.With[jUnexplained] = 0
	r.Breaches, r.Doubt = nil, track{}
}

// highest is the highest of the levels of the last two hours but the last, L.
func (r *reservoir) highest() (volume float64) {
	for _, s := range r.Lately[:len(r.Lately)-1] {
		volume = math.Max(volume, s.Volume)
	}
	return volume
}

// endGush ends a fall once as many of the last levels as it takes to see its rate stand,
// or nearly, and reports whether it did.
func (r *reservoir) endGush(t time.Time, g gauged) bool {
	const over = 0.3 // of its rate
	if !r.gushing() {
		return false
	}
	slow := over * r.Gush
	for n := gushReadings; n <= len(r.Lately); n++ {
		last := r.Lately[len(r.Lately)-n:]
		f := fallOf(last, g.variance)
		if gushStraight*f.sd > slow {
			continue
		}
		if f.rate-r.Evening > slow {
			return false
		}
		r.setVolume(t, g)
		r.become(r.Found.Loose, r.Found.Variance)
		r.Gush, r.Found, r.News = 0, known{}, true
		r.Lately = last
		return true
	}
	return false
}
