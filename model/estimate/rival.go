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
	lostShare    = 0.12
	dryShare     = 0.01
	stoppedShare = 0.10
)

// kindPlan is how often a kind of rival starts and how long it is given.
type kindPlan struct {
	kind        model.Cause
	every, life time.Duration
}

// A lost wick shows within a bright day; plants that stopped drinking leave a
// well-fed bag a hundredth wetter at noon, which takes days to tell.
var (
	planLost     = kindPlan{model.CauseWickLostContact, rivalEvery, 30 * time.Hour}
	planStopped  = kindPlan{model.CauseNotDrinking, 12 * time.Hour, 132 * time.Hour}
	planRestored = kindPlan{causeRestored, rivalEvery, 30 * time.Hour}
)

// rivalEvery is the grid on which the channel compares its bags.
const rivalEvery = 2 * time.Hour

// Errors of model and weather last for hours, so that readings in quick
// succession say the same again: each counts for this much, and for less when
// it follows the one before sooner than evidenceGap.
const (
	evidenceWeight = 0.5
	evidenceGap    = 8 * time.Minute
)

func weight(gap time.Duration) float64 {
	return evidenceWeight * math.Min(1, gap.Seconds()/evidenceGap.Seconds())
}

// decisive is the log-likelihood ratio at which a rival takes over: e^12 to
// one, against the some four thousand chances a year that a bag offers it;
// decisiveStopped is that of plants that stopped, of which a year has fewer.
const (
	decisive        = 12.0
	decisiveStopped = 9.0
)

// launch starts rivals from the present state on a fixed grid of hours, so
// that equal readings make equal rivals.
func (b *bag) launch(t time.Time) {
	if !b.established(t) || b.Lost {
		return
	}
	base := rival{Start: t, At: t, S: b.Base.X[iStorage], LnHealth: b.Base.X[iHealth], LnDemand: b.Base.X[iDemand], Offset: b.Base.X[iOffset]}
	for _, p := range b.plans() {
		if b.due(p, t) {
			b.Rivals = append(b.Rivals, base.assume(p.kind))
		}
	}
}

// plans are the explanations that may come into question.
func (b *bag) plans() []kindPlan {
	switch {
	case b.Cut || b.wickGone():
		return []kindPlan{planRestored}
	case b.Cause == model.CauseNotDrinking:
		return []kindPlan{planLost}
	}
	return []kindPlan{planLost, planStopped}
}

// wickGone says that the wicks are known to have failed.
func (b *bag) wickGone() bool {
	return b.Cause == model.CauseWickLostContact || b.Cause == model.CauseWickClogging || b.Cause == model.CauseUndecided
}

func (b *bag) due(p kindPlan, t time.Time) bool {
	grid := t.Truncate(p.every)
	for i := len(b.Rivals) - 1; i >= 0; i-- {
		if r := b.Rivals[i]; r.Kind == p.kind {
			return r.Start.Truncate(p.every).Before(grid)
		}
	}
	return true
}

// life is how long a rival of a kind is given.
func life(kind model.Cause) time.Duration {
	if kind == planStopped.kind {
		return planStopped.life
	}
	return planLost.life
}

// assume makes a rival of a state.
func (r rival) assume(kind model.Cause) rival {
	r.Kind = kind
	switch kind {
	case model.CauseWickLostContact:
		r.LnHealth = math.Log(lostShare) + math.Min(0, r.LnHealth)
	case model.CauseNotDrinking:
		r.LnDemand += math.Log(stoppedShare)
	case causeRestored:
		r.LnHealth = 0
	}
	return r
}

// causeRestored is the rival of a fault: all is well again.
const causeRestored model.Cause = "restored"

// weighRivals carries every rival on to t and weighs the reading against it.
func (b *bag) weighRivals(t time.Time, y, nu, variance float64) {
	kept := b.Rivals[:0]
	w := weight(t.Sub(b.LastGood))
	for _, r := range b.Rivals {
		if t.Sub(r.Start) > life(r.Kind) {
			continue
		}
		r = b.carry(r, t)
		miss := y - r.S/b.volume() - r.Offset
		// Both by the filter's innovation variance: a rival may not buy
		// likelihood with vagueness. Huber's bound keeps one glitch from
		// deciding.
		r.LLR += w * (huber(nu*nu/variance) - huber(miss*miss/variance)) / 2
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
	if r, ok := b.best(model.CauseNotDrinking); ok && r.LLR > decisiveStopped {
		if lost, ok := b.best(model.CauseWickLostContact); !ok || lost.LLR < r.LLR {
			b.yield(r)
			b.Cause, b.Since = model.CauseNotDrinking, r.Start
		}
	}
}

// wickFault reports a lost wick that explains the readings decisively better
// than all being well, and what to call it.
func (b *bag) wickFault() (rival, model.Cause, bool) {
	r, ok := b.best(model.CauseWickLostContact)
	if !ok || r.LLR <= decisive || b.wickGone() {
		return r, "", false
	}
	switch slow := b.Keen.LLR; {
	case b.Keen.State.X[iHealth] < math.Log(weakened) && slow > r.LLR+equal:
		return r, model.CauseWickClogging, true
	case b.Keen.State.X[iHealth] < math.Log(weakened) && slow > r.LLR-equal:
		return r, model.CauseUndecided, true
	}
	return r, model.CauseWickLostContact, true
}

// weakened is the wick health below which a filter has seen a decline coming.
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
	b.Rivals, b.Keen = nil, keen{State: s}
}
