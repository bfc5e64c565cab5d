package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// rival is a competing explanation of a bag's readings: the bag as it was at
// Start, carried on under another assumption, without learning.
type rival struct {
	Start    time.Time
	At       time.Time
	Kind     model.Cause
	S        float64 // storage, cm³
	LnHealth float64
	LnDemand float64
	Slope    float64 // of LnHealth, 1/h
	Dry      bool
	Offset   float64
	LLR      float64 // log-likelihood of the readings since Start, less the filter's
}

// What the rivals assume. A wick that lost contact still touches somewhere;
// measured on bags lifted off their wicks, a tenth of the supply is what
// remains of it (assumption of the model, not a published figure).
const (
	lostShare     = 0.12
	dryShare      = 0.01
	stoppedShare  = 0.10
	cloggingSlope = -0.02 // per hour

	rivalEvery = 2 * time.Hour
	rivalLife  = 30 * time.Hour
)

// Readings every few minutes carry the same slow errors of model and weather,
// so their log-likelihoods are not independent: each counts for this much.
const evidenceWeight = 0.5

// decisive is the log-likelihood ratio at which a rival takes over: e^12 to
// one, against the some four thousand chances a year that a bag offers it.
const decisive = 12.0

// launch starts rivals from the present state on a fixed grid of hours, so
// that equal readings make equal rivals.
func (b *bag) launch(t time.Time) {
	if !b.established(t) || b.Lost {
		return
	}
	grid := t.Truncate(rivalEvery)
	if n := len(b.Rivals); n > 0 && !b.Rivals[n-1].Start.Truncate(rivalEvery).Before(grid) {
		return
	}
	base := rival{Start: t, At: t, S: b.Base.X[iStorage], LnHealth: b.Base.X[iHealth], LnDemand: b.Base.X[iDemand], Offset: b.Base.X[iOffset]}
	b.Rivals = append(b.Rivals, b.assumptions(base)...)
}

func (b *bag) assumptions(base rival) []rival {
	if b.Cut || b.Cause == model.CauseWickLostContact {
		base.Kind, base.LnHealth = causeRestored, 0
		return []rival{base}
	}
	lost, clog, stop := base, base, base
	lost.Kind, lost.LnHealth = model.CauseWickLostContact, math.Log(lostShare)+math.Min(0, base.LnHealth)
	clog.Kind, clog.Slope = model.CauseWickClogging, cloggingSlope
	stop.Kind, stop.LnDemand = model.CauseNotDrinking, base.LnDemand+math.Log(stoppedShare)
	return []rival{lost, clog, stop}
}

// causeRestored is the rival of a fault: all is well again.
const causeRestored model.Cause = "restored"

// weighRivals carries every rival on to t and weighs the reading against it.
func (b *bag) weighRivals(t time.Time, y, nu, variance float64) {
	kept := b.Rivals[:0]
	for _, r := range b.Rivals {
		if t.Sub(r.Start) > rivalLife {
			continue
		}
		r = b.carry(r, t)
		miss := y - r.S/b.volume() - r.Offset
		// Both by the filter's innovation variance: a rival may not buy
		// likelihood with vagueness. Huber's bound keeps one glitch from
		// deciding.
		r.LLR += evidenceWeight * (huber(nu*nu/variance) - huber(miss*miss/variance)) / 2
		kept = append(kept, r)
	}
	b.Rivals = kept
	b.launch(t)
	b.Weighed = true
}

func huber(square float64) float64 {
	const bound = 9.0 // 3 sd
	if square <= bound {
		return square
	}
	return 2*math.Sqrt(bound*square) - bound
}

func (b *bag) carry(r rival, t time.Time) rival {
	for r.At.Before(t) {
		next := r.At.Add(stride(t.Sub(r.At)))
		if next.After(t) {
			next = t
		}
		dt := next.Sub(r.At).Hours()
		mm, _ := b.weather.reference(r.At, next)
		rate := b.physics.Demand(r.At, mm) * b.common() * math.Exp(r.LnDemand) / dt
		r.LnHealth = clamp(r.LnHealth+r.Slope*dt, minLnHealth, maxLnHealth)
		r.S = b.physics.Hydraulic.Step(r.S, rate, math.Exp(r.LnHealth), dt).Storage
		r.At = next
	}
	return r
}

// best is the rival of a kind that explains the readings best. Of those that do
// so about equally well it is the youngest: before a fault shows, rivals of
// every earlier start agree, and the last of them began nearest to it.
func (b *bag) best(kind model.Cause) (rival, bool) {
	var out rival
	found := false
	for _, r := range b.Rivals {
		if r.Kind == kind && (!found || r.LLR > out.LLR) {
			out, found = r, true
		}
	}
	if !found {
		return out, false
	}
	for _, r := range b.Rivals {
		if r.Kind == kind && r.LLR > out.LLR-equal && r.Start.After(out.Start) {
			r.LLR = out.LLR
			out = r
		}
	}
	return out, true
}

// equal is the difference in log-likelihood that decides nothing (e² to one).
const equal = 2.0

// challenge lets a rival take over that explains the readings decisively
// better. A lost wick is left to the channel to judge first: see channel.go.
func (b *bag) challenge() {
	if r, ok := b.best(causeRestored); ok && r.LLR > decisive/2 && !b.Cut {
		b.yield(r)
		b.Cause = ""
		return
	}
	if r, ok := b.best(model.CauseNotDrinking); ok && r.LLR > decisive {
		if lost, ok := b.best(model.CauseWickLostContact); !ok || lost.LLR < r.LLR {
			b.yield(r)
			b.Cause, b.Since = model.CauseNotDrinking, r.Start
		}
	}
}

// wickFault reports the wick fault that explains the readings decisively
// better, if one does. A wick that the filter had already seen weaken for a
// while is clogging, however steep the end of it.
func (b *bag) wickFault() (rival, bool) {
	lost, okLost := b.best(model.CauseWickLostContact)
	clog, okClog := b.best(model.CauseWickClogging)
	best, ok := lost, okLost
	if okClog && (!okLost || clog.LLR > lost.LLR) {
		best, ok = clog, true
	}
	if ok && best.Kind == model.CauseWickLostContact && b.Base.X[iHealth] < math.Log(weakened) {
		best.Kind = model.CauseWickClogging
	}
	return best, ok && best.LLR > decisive && b.Cause == ""
}

// weakened is the wick health below which a filter that learns slowly has seen
// the decline coming.
const weakened = 0.7

// yield takes over a rival's view: its storage, wicks and demand, with wide
// variances, since its figures were assumed and not learnt.
func (b *bag) yield(r rival) {
	s := b.Base
	v := b.volume()
	s.X[iStorage], s.X[iHealth], s.X[iDemand] = r.S, r.LnHealth, r.LnDemand
	for _, i := range []int{iStorage, iHealth, iDemand} {
		for j := range states {
			s.P[i][j], s.P[j][i] = 0, 0
		}
	}
	s.P[iStorage][iStorage] = sq(0.01 * v)
	s.P[iHealth][iHealth] = sq(0.5)
	s.P[iDemand][iDemand] = sq(priorDemand)
	if r.Kind == model.CauseNotDrinking {
		s.P[iDemand][iDemand] = sq(0.7)
	}
	b.Base, b.Roll = s, s
	b.Rivals = nil
}
