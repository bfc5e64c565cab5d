package estimate

import (
	"math"
	"slices"
	"time"
)

// observeLevel takes a good reading of the level, mm.
func (r *reservoir) observeLevel(t time.Time, level float64) (late bool) {
	if t.Before(r.Time) && t.After(r.Heard) {
		r.goBack(t)
	}
	if r.Time.IsZero() {
		r.begin(t)
	}
	if t.Before(r.Time) && r.Time.Sub(t) > neighbours || !t.After(r.Heard) {
		return true
	}
	r.Heard, r.Kept = t, nil
	if r.Noise.again(t, level) {
		// What is sent twice says nothing twice, and a leak is known by how much it says.
		return false
	}
	r.Noise.observe(t, level, leastLevel)
	r.advance(t)
	g := r.gauge(level)
	if r.feedsAtTimes() {
		r.observeFillings(t, g)
		return false
	}
	if r.Readings == 0 || r.physics.Reservoir.FloatValve {
		r.setVolume(t, g)
		return false
	}
	if r.stands(t, level) {
		return false
	}
	nu, s := g.innovation(r.X, r.P)
	r.look(t, g)
	if r.beginGush(t, g) || nu > 0 && r.endGush(t, g) {
		return false
	}
	slackens := r.gushing() && nu > 0 && g.volume <= r.highest() // and nobody refills it
	if !slackens && math.Abs(nu) > math.Max(refillSigma*math.Sqrt(s), refillFloor*r.physics.AreaAt(level)) || r.refilledUnheard(t, nu, s) {
		r.jump(t, g, nu)
		return false
	}
	r.learnLevel(t, g, nu, s)
	return false
}

// learnLevel has every filter learn from a level that is believed; nu is what it says
// beyond the prediction, with the variance s.
func (r *reservoir) learnLevel(t time.Time, g gauged, nu, s float64) {
	r.Doubt = track{}
	if r.disturbed(t) {
		r.Diurnal.forget()
	} else {
		r.Diurnal.hear(t, g.volume-g.row[jWarm]*r.X[jWarm], g.variance, r.lastDay())
	}
	r.weighBreaches(g)
	r.book(r.Tally.learn(r.P, g.row, nu, s))
	var by float64
	r.X, r.P, by = g.fuse(r.X, r.P)
	r.Drawn -= by
	r.hold()
	r.Readings++
	r.LastGood = t
	r.judgeBreaches(t)
	r.launchBreaches(t)
}

// refillEvery is how often a reservoir is refilled (common practice: once a week).
const refillEvery = 7 * 24 * time.Hour

// refilledUnheard says that more is there, by an innovation and its variance, than
// after hours of silence was thought, and that somebody filled it up rather than that
// the bags drank so much less. A refill has the chance of its time, and may be of
// anything that the reservoir holds.
func (r *reservoir) refilledUnheard(t time.Time, nu, s float64) bool {
	silent := t.Sub(r.LastGood)
	if nu <= 0 || silent <= staleAfter {
		return false
	}
	none := math.Exp(-float64(silent) / float64(refillEvery))
	return (1-none)/r.physics.Full() > none*math.Exp(-nu*nu/2/s)/math.Sqrt(2*math.Pi*s)
}

// hold begins afresh where rounding has left covariances that none can be.
func (r *reservoir) hold() {
	r.Breaches = slices.DeleteFunc(r.Breaches, func(b breach) bool { return !b.P.sound() || !b.Tight.sound() || !b.Open.sound() })
	if r.P.sound() {
		return
	}
	r.Resets++
	r.P, r.Tally.With = r.prior(), vector{}
	r.P[jVolume][jVolume] = r.Noise.Variance * sq(r.physics.AreaAt(r.physics.Level(r.X[jVolume])))
}

// jump waits for a second reading before it believes a refill, a spill or a
// change of the solution.
func (r *reservoir) jump(t time.Time, g gauged, nu float64) {
	if r.Doubt.Doubts > 0 && math.Abs(g.volume-r.Doubt.Value) > 4*math.Sqrt(2*g.variance)+refillFloor*r.physics.AreaAt(r.physics.Level(g.volume)) {
		r.Doubt = track{}
	}
	r.Doubt.Doubts++
	r.Doubt.Value = g.volume
	if r.Doubt.Doubts < 2 {
		return
	}
	r.Doubt = track{}
	before := r.X[jVolume]
	r.setVolume(t, g)
	r.News = true
	if nu > 0 {
		r.Lately = nil
		r.Refilled = t
		r.Solution.refilled(pour{At: t, Before: before, After: r.X[jVolume], VolumeSD: math.Sqrt(g.variance)})
	}
}

// disturbed says that the draw is not as on other days, or that nobody can tell.
func (r *reservoir) disturbed(t time.Time) bool {
	return !r.seesSky(t) || r.feedsAtTimes() || r.gushing() || slices.ContainsFunc(r.bags, (*bag).failing)
}

func (r *reservoir) setVolume(t time.Time, g gauged) {
	r.Diurnal.forget()
	r.Stand = stand{} // what was known before it was set is no longer so
	r.X, r.P = g.set(r.X, r.P)
	r.Tally = r.Tally.set(g)
	for i := range r.Breaches {
		b := &r.Breaches[i]
		b.X, b.P = g.set(b.X, b.P)
		b.Still, b.Tight = g.set(b.Still, b.Tight)
		b.Thirsty, b.Open = g.set(b.Thirsty, b.Open)
		b.Tally = b.Tally.set(g)
	}
	r.Readings++
	r.LastGood = t
}
