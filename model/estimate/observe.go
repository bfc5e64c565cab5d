package estimate

import (
	"math"
	"time"

	"wickd/model"
)

const (
	// A filter may overrule its probe once it has seen this much of it. Before
	// that a reading is taken at its word.
	establishedAfter    = 6 * time.Hour
	establishedReadings = 30

	// A reading is doubted beyond this many standard deviations of the
	// innovation (one in two million by chance), and beyond this much.
	gateSigma = 5.0
	gateFloor = 0.03 // m³/m³

	// doubtsToAct is how many doubted readings in a row are no glitch.
	doubtsToAct = 3
	// agreeSigma and agreeToTrust end the distrust of a probe.
	agreeSigma   = 3.0
	agreeToTrust = 3

	// overfull is how far above saturation, or below the residual water that no
	// root takes, a reading may be by offset alone.
	overfull = 0.05
)

func (b *bag) established(t time.Time) bool {
	return b.Readings >= establishedReadings && t.Sub(b.First) >= establishedAfter
}

// observe takes a good reading of the probe. It reports whether the reading was
// too old to be used, or of a moment of which there was one: a message that came
// twice says nothing twice.
func (b *bag) observe(t time.Time, y float64) (late bool) {
	if !b.started() {
		b.begin(t)
	}
	if t.Before(b.Base.Time) || !t.After(b.Heard) {
		return true
	}
	b.Heard = t
	if t.Sub(b.LastGood) > dipBlock {
		// Before it fell silent it may have lied for hours, as one that froze does.
		b.compareAnew()
	}
	b.Noise.observe(t, y, leastNoise)
	from := b.Base
	if b.Lost && !b.Roll.Time.After(t) {
		from = b.Roll // the last good reading may be weeks old
	}
	s := b.advance(from, t, driftHealth)
	nu, variance := b.innovation(s, y)
	switch {
	case b.outside(y):
		b.refuse(t, y)
	case b.Readings == 0 && !b.Lost:
		b.settle(s, t, y)
	case b.Lost:
		b.doubtful(s, t, y, nu, variance)
	case math.Abs(nu) <= math.Max(gateSigma*math.Sqrt(variance), gateFloor):
		b.fuse(s, t, y, nu, variance)
	case !b.established(t):
		// Too little is known to overrule the probe.
		b.Resets++
		b.settle(s, t, y)
	default:
		b.suspect(s, t, y, nu, variance)
	}
	return false
}

// innovation is what a reading says beyond the prediction, with its variance.
func (b *bag) innovation(s state, y float64) (nu, variance float64) {
	h := b.row(s.Time)
	nu = y - h.dot(s.X)
	return nu, s.P.quadratic(h) + b.Noise.Variance
}

func (b *bag) row(t time.Time) vector {
	return vector{iStorage: 1 / b.volume(), iOffset: 1, iWarm: b.excess(t)}
}

func (b *bag) fuse(s state, t time.Time, y, nu, variance float64) {
	b.Squares += nu * nu / variance
	b.Fused++
	b.feel(t, y)
	b.lags(t.Sub(b.LastGood), nu)
	b.watchDips(t, y)
	b.weigh(t, y, nu, variance)
	b.followKeenly(t, y, nu, variance)
	b.accept(b.bounded(b.learn(s, nu, variance)), t, y)
	b.launch(t)
	b.launchDips(t)
	b.challenge()
}

// soaks says that a bag whose supply is back may still be filling.
func (b *bag) soaks(t time.Time) bool { return t.Sub(b.Mended) < keenRefills }

// learn is the update of a state by an innovation.
func (b *bag) learn(s state, nu, variance float64) state {
	h := b.row(s.Time)
	gain, p := s.P.update(h, variance, b.Noise.Variance)
	if b.Starved && b.soaks(s.Time) {
		// What fell dry takes water up otherwise than the model has it, which says
		// nothing of its wicks and plants: they are allowed for as unknown and not
		// learnt (Schmidt 1966, the considered state).
		gain[iHealth], gain[iDemand] = 0, 0
		p = s.P.joseph(h, gain, b.Noise.Variance)
	}
	return s.take(h, nu, variance, gain, p)
}

// take is the state after a measurement with row h, of which the gain and the
// covariance p after it are known: what the bag drank moves with it.
func (s state) take(h vector, nu, variance float64, gain vector, p matrix) state {
	share := s.With.dot(h) / variance
	s.Uptake += share * nu
	s.With = s.With.less(share, s.P.times(h))
	for i := range states {
		s.X[i] += gain[i] * nu
	}
	s.P = p
	return s
}

// settle takes the probe at its word.
func (b *bag) settle(s state, t time.Time, y float64) {
	b.accept(b.tells(s, y), t, y)
	b.compareAnew()
}

// tells is a state whose storage is what the probe says: what was known of wicks and
// demand stays.
func (b *bag) tells(s state, y float64) state {
	st := b.physics.Hydraulic.Store
	v := b.volume()
	h := b.row(s.Time)
	h[iStorage] = 0
	s.X[iStorage] = clamp((y-h.dot(s.X))*v, st.Min(), st.Max())
	s.P = s.P.set(h, v, b.Noise.Variance)
	s.With = vector{}
	return s
}

func (b *bag) accept(s state, t time.Time, y float64) {
	if b.Readings == 0 {
		b.First = t
	}
	b.Readings++
	b.LastGood, b.LastY = t, y
	b.Suspect = suspicion{}
	b.Base, b.Roll = s, s
}

// suspect holds a reading that an established filter does not believe, until
// there are enough of them to tell what happened. Where a supply had failed, water
// that comes back is believed sooner: a rival says that it would.
func (b *bag) suspect(s state, t time.Time, y, nu, variance float64) {
	fall := nu < 0
	b.Suspect.add(t, y, fall)
	if !fall && b.failing() {
		b.weigh(t, y, nu, variance)
		if b.challenge(); !b.failing() {
			b.Suspect = suspicion{}
			return
		}
	}
	if b.Suspect.Count < doubtsToAct || b.Suspect.Count < patience*doubtsToAct && b.refills() {
		return
	}
	switch {
	case fall && b.impossibleFall(b.Suspect.mean()):
		b.lose()
		b.Suspect = suspicion{}
	case fall && b.Suspect.Count < patience*doubtsToAct && b.held(t, y, nu, variance):
	default:
		// Watered from above, or the filter had gone astray.
		b.Resets++
		b.settle(s, t, y)
	}
}

// patience is how many times longer readings are held that tell of a supply that failed or
// is back: the bags of a channel decide that together.
const patience = 3

// held weighs a reading that fell beyond belief, and says that wicks which lift no more, or
// a probe that was touched, explain it or may come to: to take the probe at its word then
// would end that explanation just before it decides.
func (b *bag) held(t time.Time, y, nu, variance float64) bool {
	if b.failing() || !b.speaks() {
		return false
	}
	b.feel(t, y)
	b.weigh(t, y, nu, variance)
	last := b.Suspect.Count+1 >= patience*doubtsToAct
	if k, ok := b.touched(last); ok {
		b.reseat(k)
		b.LastGood, b.LastY, b.Suspect = t, y, suspicion{}
		return true
	}
	if r, ok := b.best(model.CauseWickLostContact); ok && r.LLR > decisive/2 {
		return true
	}
	return b.fallsAlone() && (b.Suspect.Count < 2*doubtsToAct || b.mayBeTouched())
}

// refills says that the channel under a bag that was cut off seems to feed it
// again.
func (b *bag) refills() bool {
	r, ok := b.best(causeRestored)
	return ok && b.Cut && r.LLR > suspected
}

// outside reports that no mix like the bag's can hold what the probe says: it is
// in the air, or its unit or its calibration is another one.
func (b *bag) outside(y float64) bool {
	return y > b.physics.Saturated+overfull || y < b.residual()-overfull
}

// residual is the least water the mix holds, m³/m³.
func (b *bag) residual() float64 { return b.physics.Hydraulic.Store.Min() / b.volume() }

// refuse holds a reading that cannot be, until there are enough of them to blame
// the probe.
func (b *bag) refuse(t time.Time, y float64) {
	fall := y < b.physics.Saturated
	b.Agree, b.Moved = 0, elsewhere{}
	b.Suspect.add(t, y, fall)
	if b.Suspect.Count >= doubtsToAct && !b.Lost {
		b.lose()
	}
}

// lose takes the readings that are doubted for those of a probe that lost contact.
func (b *bag) lose() {
	b.Lost, b.LostFrom, b.LostY, b.Agree, b.Moved = true, b.Suspect.Since, b.Suspect.mean(), 0, elsewhere{}
}

// impossibleFall reports that the water cannot have left the bag between the
// last good reading and the first doubted one: the plants would have had to
// take several times their most, and a bag loses water in no other way so
// fast, for the film around it is closed.
func (b *bag) impossibleFall(y float64) bool {
	hours := b.Suspect.Since.Sub(b.LastGood).Hours()
	mm, _ := b.weather.reference(b.LastGood, b.Suspect.Since)
	// In an hour a plant may take several times what is expected, over a day it
	// is not half as much again.
	greed := 1.5 + 2.5*math.Exp(-hours/6)
	most := greed * b.physics.Demand(b.LastGood, mm) * b.common() * math.Max(1, math.Exp(b.Base.X[iDemand])) / b.volume()
	// Wicks can siphon back as fast as they lift.
	drain := hours * math.Max(0, -b.physics.Hydraulic.Supply.Flow(0)) / b.volume()
	if b.physics.Hydraulic.Store.Suction(b.Base.X[iStorage]) >= b.physics.Lift {
		drain = 0
	}
	// The last reading that was believed is as a rule one that noise had raised.
	raised := 2 * math.Sqrt(b.Noise.Variance)
	return b.LastY-y > most+drain+raised+gateFloor/2
}

// doubtful handles the readings of a probe that lost contact: none is used
// until several in a row agree again with what the model says.
func (b *bag) doubtful(s state, t time.Time, y, nu, variance float64) {
	if b.Readings > 0 && math.Abs(nu) > agreeSigma*math.Sqrt(variance)+gateFloor/3 {
		b.Agree = 0
		if !b.Moved.follows(t, nu, b.Noise.Variance) || !anotherSpot(b.Moved.Mean, s.X[iOffset], y) {
			return
		}
		s.X[iOffset] += b.Moved.Mean
		s.P = s.P.forget(iOffset, sq(priorProbe))
		b.Agree = agreeToTrust
	}
	if b.Agree++; b.Agree < agreeToTrust {
		return
	}
	b.Lost, b.Agree, b.Moved = false, 0, elsewhere{}
	b.Resets++
	if b.Roll.Time.After(t) {
		// The estimate was carried on beyond a reading that came late. What the levels
		// told meanwhile was booked to it, and not to the last reading.
		ahead := b.advance(s, b.Roll.Time, driftHealth)
		s.Uptake += b.Roll.Uptake - ahead.Uptake
		s.Potential += b.Roll.Potential - ahead.Potential
	}
	if b.Readings == 0 {
		b.settle(s, t, y)
		return
	}
	// Who put it back did so in much the same spot or not: what it reads is believed as
	// far as the bag is not known better.
	s.P[iOffset][iOffset] += sq(spotsDiffer)
	nu, variance = b.innovation(s, y)
	b.accept(b.bounded(b.learn(s, nu, variance)), t, y)
	b.compareAnew()
}

// elsewhere is a probe that follows the model at another height: it was put back in
// another spot of the bag.
type elsewhere struct {
	Since, Last time.Time
	Count       int
	Mean        float64 // of what it reads beyond the model, m³/m³
}

const (
	// movedFor is how long it must: a day and its night.
	movedFor      = 24 * time.Hour
	movedReadings = 24
	// movedMost is how far spots of one bag differ, m³/m³ (assumption), and movedLess
	// how much less one may read, as a share: contact that is lost takes a fifth of the
	// reading and more (assumption).
	movedMost = 0.08
	movedLess = 0.15
	// spotsDiffer is the standard deviation of what spots of one bag differ by, m³/m³
	// (assumption).
	spotsDiffer = 0.02
)

// anotherSpot says that a probe that reads y and lies so far from the model, and from what
// was known of its offset, may be in another spot of its bag. What it differs by in all
// counts: a contact that is lost little by little is no row of spots.
func anotherSpot(moved, offset, y float64) bool {
	all := moved + math.Min(0, offset)
	return math.Abs(moved) <= movedMost && -all <= movedLess*(y-all)
}

// follows takes one more innovation, with the variance of the sensor's noise, and says
// that it is so.
func (m *elsewhere) follows(t time.Time, nu, noise float64) bool {
	if m.Count == 0 || t.Sub(m.Last) > dipBlock || math.Abs(nu-m.Mean) > 4*math.Sqrt(noise)+gateFloor/2 {
		*m = elsewhere{Since: t, Mean: nu}
	}
	m.Count++
	m.Last = t
	m.Mean += (nu - m.Mean) / float64(m.Count)
	return m.Count >= movedReadings && t.Sub(m.Since) >= movedFor
}
