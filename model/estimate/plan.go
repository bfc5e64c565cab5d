package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// What the rivals assume: shares of the wicks' health, or of the demand. A wick
// that lost contact still touches somewhere, a dry channel leaves nothing, and
// plants that are gone leave the drying of the medium. Assumptions, of no
// published figure.
const (
	lostShare    = 0.12
	dryShare     = 0.0001
	stoppedShare = 0.10
)

// rivalEvery is the grid on which rivals start and on which the channel compares
// its bags; rivalLife is how long they are given. A lost wick shows within a
// bright day. Plants that stopped drinking take days to tell: see [dip].
const (
	rivalEvery = 2 * time.Hour
	rivalLife  = 30 * time.Hour
)

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
// decisiveDips is that of the pattern of days, of which a year has fewer.
const (
	decisive     = 12.0
	decisiveDips = 8.2
)

// launch starts rivals from the present state on a fixed grid of hours, so
// that equal readings make equal rivals.
func (b *bag) launch(t time.Time) {
	if !b.established(t) || b.Lost {
		return
	}
	for _, kind := range b.inQuestion() {
		if b.due(kind, t) {
			b.Rivals = append(b.Rivals, b.asIs(t).assume(kind))
		}
	}
}

// asIs is the bag as its filter has it now, to be carried on without learning.
func (b *bag) asIs(t time.Time) rival {
	r := rival{Start: t, At: t, From: b.Base.X[iStorage], S: b.Base.X[iStorage], LnHealth: b.Base.X[iHealth], Was: b.Base.X[iHealth], LnDemand: b.Base.X[iDemand], Offset: b.Base.X[iOffset], Warm: b.Base.X[iWarm], Keen: b.Base.X[iHealth], Booked: uptakes{b.Base.Uptake, b.Base.Potential}}
	if !b.Keen.State.Time.IsZero() {
		r.Keen = b.Keen.State.X[iHealth] + math.Sqrt(b.Keen.State.P[iHealth][iHealth])
	}
	return r
}

// inQuestion is the explanation that may come next: a bag whose supply is known
// to have failed may have it back, any other may lose it, by its wicks or with
// the others on its channel.
func (b *bag) inQuestion() []model.Cause {
	switch {
	case b.failing():
		return []model.Cause{causeRestored}
	case b.source.bagsOn(b.physics.Channel.ID) < 2:
		return b.orMended(model.CauseWickLostContact)
	}
	return b.orMended(model.CauseWickLostContact, model.CauseChannelDry)
}

// orMended adds that all is well again to what may come to a bag whose wicks were
// learnt to lift little: the filter would follow new ones by and by.
func (b *bag) orMended(causes ...model.Cause) []model.Cause {
	if b.weak() {
		return append(causes, causeRestored)
	}
	return causes
}

// weak says that the wicks lift so little that they have aged.
func (b *bag) weak() bool { return math.Exp(b.Base.X[iHealth]) < failing*b.usualHealth() }

// wickGone says that the wicks are known to have failed.
func (b *bag) wickGone() bool {
	return b.Cause == model.CauseWickLostContact || b.Cause == model.CauseWickClogging || b.Cause == model.CauseUndecided
}

func (b *bag) due(kind model.Cause, t time.Time) bool {
	for i := len(b.Rivals) - 1; i >= 0; i-- {
		if r := b.Rivals[i]; r.Kind == kind {
			return r.Start.Truncate(rivalEvery).Before(t.Truncate(rivalEvery))
		}
	}
	return true
}

// assume makes a rival of a state.
func (r rival) assume(kind model.Cause) rival {
	r.Kind = kind
	switch kind {
	case model.CauseWickLostContact:
		r.LnHealth = math.Log(lostShare) + math.Min(0, r.LnHealth)
	case model.CauseChannelDry:
		r.LnHealth = math.Log(dryShare)
	case model.CauseNotDrinking:
		r.LnDemand += math.Log(stoppedShare)
	case causeRestored:
		r.LnHealth = 0
	}
	return r
}
