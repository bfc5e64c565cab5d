package estimate

import (
	"math"
	"slices"
)

// What the bags of a reservoir drink is booked as they drink it, by the demand
// that is believed at that hour. How much it was the level tells hours later, and
// by then the demand of the day may be another one. The books are therefore put
// right: what all bags drew beyond what was booked is one more state of the
// reservoir's filter, which no reading measures and which drives nothing, so that
// beside its mean only its covariance with the others has to be carried.

// tally is that state.
type tally struct {
	More float64 // L, since the start
	With vector  // covariance with the reservoir's state
}

// carry takes a step of the filter whose covariance before it is p: the draw errs by
// a variance and gains slope with the logarithm of the common factor, and the
// draw of lost hours that no bag explains counts as theirs.
func (c tally) carry(p matrix, f transition, slope, lost, variance float64) tally {
	for i := range states {
		c.With[i] += slope*(p[i][jHouse]+p[i][jDay]) + lost*p[i][jUnexplained]
	}
	c.With = f.carry(c.With)
	c.With[jVolume] -= variance // what they draw is gone
	return c
}

// learn takes what the filter is about to learn from a measurement with row h, an
// innovation and its variance.
func (c tally) learn(p matrix, h vector, nu, s float64) tally {
	share := c.With.dot(h) / s
	c.More += share * nu
	c.With = c.With.less(share, p.times(h))
	return c
}

// set is told that the volume was taken from a reading, whatever was drawn.
func (c tally) set(g gauged) tally {
	c.With[jVolume] = 0
	c.With[jVolume] = -c.With.dot(g.row)
	return c
}

// unbooked is for how much of dt hours the draw that no bag explains counts as
// theirs: all, unless it is known to leak. Plants that drink by night, and a noise
// that looks like a leak, are likelier than a leak that nobody is told of.
func (r *reservoir) unbooked(dt float64) float64 {
	if r.leaks() {
		return 0
	}
	return dt
}

// book puts the books right by what is now known, shared out among the bags as
// they lately drew. Those that were booked anew have no share in it.
func (r *reservoir) book(now tally, anew ...*bag) {
	more := now.More - r.Tally.More
	r.Tally = now
	total := r.lifting()
	if total <= 0 {
		return
	}
	for i, b := range r.bags {
		if slices.Contains(anew, b) {
			continue
		}
		for _, s := range b.states() {
			s.Uptake += more * r.Lifts[i] / total
			s.Potential += more * r.Lifts[i] / total
		}
	}
}

// lifting is what all bags lately drew together.
func (r *reservoir) lifting() (total float64) {
	for _, l := range r.Lifts {
		total += l
	}
	return total
}

// lifts keeps what each bag drew over about a day.
func (r *reservoir) lifts(i int, litres, dt float64) {
	r.Lifts[i] = math.Exp(-dt/limitMemory)*r.Lifts[i] + math.Max(0, litres)
}

// uptakeError is the error of what a bag drank in some days, relative. What all
// bags of a reservoir drank together is what left it, less what may have leaked
// meanwhile; what is left is the bag's share.
func (e *Estimator) uptakeError(b *bag, days float64) float64 {
	if !b.source.tells() {
		_, house := e.commonOf(b)
		return math.Hypot(math.Sqrt(b.Roll.P[iDemand][iDemand]), house)
	}
	r := b.source
	leaked := 24 * days * math.Sqrt(r.P[jUnexplained][jUnexplained])
	together := math.Hypot(r.leftError(), leaked) / (24 * days * r.scale())
	return math.Hypot(math.Sqrt(b.ownVariance()), together)
}

// tells says that the level shows what leaves the reservoir.
func (r *reservoir) tells() bool { return r.Readings > 0 && !r.physics.Reservoir.FloatValve }

// leftError is the standard deviation of what left the reservoir between two
// times, L: the level is known as well at the one as at the other.
func (r *reservoir) leftError() float64 { return math.Sqrt(2 * r.P[jVolume][jVolume]) }

// ownVariance is of the logarithm of a bag's demand against its reservoir's other
// bags: of its own factor, less what that was allowed for a house that is not known.
func (b *bag) ownVariance() float64 {
	told := 1/b.Roll.P[iDemand][iDemand] - 1/(sq(priorDemand)+b.House)
	return 1 / (1/sq(priorDemand) + math.Max(0, told))
}
