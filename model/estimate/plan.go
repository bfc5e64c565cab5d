package estimate

import (
	"math"
	"time"

	"wickd/model"
)

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
	base := rival{Start: t, At: t, S: b.Base.X[iStorage], LnHealth: b.Base.X[iHealth], LnDemand: b.Base.X[iDemand], Offset: b.Base.X[iOffset], Keen: b.Base.X[iHealth]}
	if !b.Keen.State.Time.IsZero() {
		base.Keen = b.Keen.State.X[iHealth]
	}
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
