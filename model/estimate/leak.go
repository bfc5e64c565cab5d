package estimate

import (
	"math"
	"time"
)

// breach is the reservoir's filter under the explanation that the unexplained
// draw changed at Start — a leak began, or was mended: the same filter with
// that draw set free there. It is the generalised likelihood ratio test of
// Willsky & Jones (1976, IEEE Trans. Automatic Control 21:108). The random walk
// of the filter itself follows slow changes only.
type breach struct {
	Start time.Time
	X     vector
	P     matrix
	// Still is the filter that holds the unexplained draw to what it was at
	// Start, whose variance then was Was: the filter itself would follow a leak
	// by and by, and leave its rival little to explain better.
	Still vector
	Tight matrix // covariance of Still
	Was   float64
	LLR   float64 // log-likelihood of the levels since Start, less that of Still
}

const (
	breachEvery = 4 * time.Hour
	breachLife  = 48 * time.Hour
	// breachSize is the prior of what a leak takes, against the mean draw.
	breachSize = 0.25
	// breachAge is how long a rival must have lived to be believed: a morning
	// that begins earlier than the model's looks like a leak for some hours.
	breachAge = 6 * time.Hour
	// breachDecisive: a site leaks a few times a year; the starts of a day look
	// at much the same levels, so that a year offers some four hundred chances,
	// e^6, and a leak explains what one of them feigns e^5 times better.
	breachDecisive = 5.0
	// breachDays is how many whole days must have been seen: before that the
	// demand of a house is not known well enough to miss water.
	breachDays = 3
	// breachSigma: standard deviations by which the freed draw must differ
	// from what was believed; one-sided 99 %.
	breachSigma = 2.33
)

// launchBreaches starts a rival on a fixed grid of hours, once the draw of a
// few days is known.
func (r *reservoir) launchBreaches(t time.Time) {
	kept := r.Breaches[:0]
	for _, b := range r.Breaches {
		if t.Sub(b.Start) <= breachLife {
			kept = append(kept, b)
		}
	}
	r.Breaches = kept
	if len(r.Hours) < 24 || r.Daily.Whole < breachDays {
		return
	}
	grid := t.Truncate(breachEvery)
	if n := len(r.Breaches); n > 0 && !r.Breaches[n-1].Start.Truncate(breachEvery).Before(grid) {
		return
	}
	b := breach{Start: t, X: r.X, P: r.P, Still: r.X, Tight: r.P, Was: r.P[jUnexplained][jUnexplained]}
	b.Still[jUnexplained] = math.Max(0, r.X[jUnexplained]) // the end of what came in unseen is no leak
	for j := range states {
		b.Tight[jUnexplained][j], b.Tight[j][jUnexplained] = 0, 0
	}
	b.P[jUnexplained][jUnexplained] += sq(breachSize * r.scale())
	r.Breaches = append(r.Breaches, b)
}

// carryBreaches takes the step that the filter is about to take: drawn and
// slope are its own draw and what that gains with the common factor.
func (r *reservoir) carryBreaches(f transition, q vector, drawn, slope, dt float64) {
	carry := func(x vector) vector {
		more := x[jHouse] + x[jDay] - r.X[jHouse] - r.X[jDay]
		x[jVolume] = math.Max(0, x[jVolume]-drawn-slope*more-x[jUnexplained]*dt)
		x[jDay] *= f.keep[jDay]
		return x
	}
	held := q
	held[jUnexplained] = 0
	for i := range r.Breaches {
		b := &r.Breaches[i]
		b.X, b.P = carry(b.X), b.P.propagate(f, q)
		b.Still, b.Tight = carry(b.Still), b.Tight.propagate(f, held)
	}
}

// weighBreaches fuses a level into every rival and its counterpart that holds
// still, and weighs them against each other.
func (r *reservoir) weighBreaches(g gauged) {
	for i := range r.Breaches {
		b := &r.Breaches[i]
		nu, s := g.innovation(b.Still, b.Tight)
		miss, own := g.innovation(b.X, b.P)
		b.LLR += (huber(nu*nu/s) + math.Log(s) - huber(miss*miss/own) - math.Log(own)) / 2
		b.X, b.P, _ = g.fuse(b.X, b.P)
		b.Still, b.Tight, _ = g.fuse(b.Still, b.Tight)
	}
}

// breached lets a rival take over that explains the levels decisively better.
func (r *reservoir) breached(t time.Time) {
	if r.mending() {
		return
	}
	best := -1
	for i, b := range r.Breaches {
		if t.Sub(b.Start) >= breachAge && b.LLR > breachDecisive && r.credible(b) && (best < 0 || b.LLR > r.Breaches[best].LLR) {
			best = i
		}
	}
	if best < 0 {
		return
	}
	b := r.Breaches[best]
	r.X, r.P, r.Broken, r.Breaches = b.X, b.P, b.Start, nil
}

// credible says that a rival shows more leak than was believed, or less of one
// that was known. What the course of the day feigns is in both and cancels.
func (r *reservoir) credible(b breach) bool {
	sd := math.Sqrt(b.P[jUnexplained][jUnexplained] + b.Was + sq(r.supplyFeigns()))
	change := b.X[jUnexplained] - math.Max(0, b.Still[jUnexplained])
	leaks := b.Still[jUnexplained] > breachSigma*math.Sqrt(b.Was)
	return change > breachSigma*sd || leaks && change < -breachSigma*sd
}

// unexplainedSD is of the unexplained draw, L/h.
func (r *reservoir) unexplainedSD() float64 {
	return math.Hypot(math.Hypot(math.Sqrt(r.P[jUnexplained][jUnexplained]), feignUnexplained*r.scale()), r.supplyFeigns())
}

// supplyFeigns is the standard deviation, L/h, of what misjudged wicks feign: of
// the draw the share that does not go with the demand, for there the wicks
// decide.
func (r *reservoir) supplyFeigns() float64 {
	if !(r.Lifted > 0) {
		return 0
	}
	return supplyError * clamp(1-r.Thirst/r.Lifted, 0, 1) * r.scale()
}
