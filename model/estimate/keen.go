package estimate

import (
	"math"
	"time"

	"wickd/model"
)

// keen is the explanation of a slow decline: a second filter, equal to the
// first but ready to believe that wick health changes from day to day. Calm
// and keen are weighed against each other as long as both live; where the keen
// one explains the readings better and sees less health, the wicks clog.
type keen struct {
	State state
	LLR   float64 // log-likelihood of the readings, less the calm filter's; fades with keenMemory
}

const (
	keenDrift  = 0.25 // per √d: wicks that go from sound to useless in a week
	keenMemory = 72 * time.Hour
	// keenDecisive: with keenMemory a year offers some hundred chances, e^5; one more for
	// the many bags.
	keenDecisive = 6.0
	// keenSettled is how long a bag must be known: before, what the filters make
	// of its first days and of the house moves more than any wick.
	keenSettled = 72 * time.Hour
	// keenRefills is how long a bag whose supply is back says nothing of the course of
	// its wicks: what fell dry takes water up otherwise than the model has it, the more
	// slowly the more peat is in it (common practice).
	keenRefills = 24 * time.Hour
	// keenSigma: standard deviations by which its health must lie below the
	// calm filter's to be another one.
	keenSigma = 1.64
)

// followKeenly takes the reading that the calm filter takes, whose innovation
// is nu with a variance.
func (b *bag) followKeenly(t time.Time, y, nu, variance float64) {
	k := &b.Keen
	if k.State.Time.IsZero() || t.Sub(b.Mended) < keenRefills {
		k.LLR = 0
		k.State = b.Base
	}
	gap := t.Sub(k.State.Time)
	s := b.advance(k.State, t, keenDrift)
	miss, own := b.innovation(s, y)
	k.LLR *= math.Exp(-gap.Hours() / keenMemory.Hours())
	k.LLR += weight(gap) * (huber(nu*nu/variance) + math.Log(variance) - huber(miss*miss/own) - math.Log(own)) / 2
	k.State = b.bounded(b.learn(s, miss, own))
}

// clogging reports that the keen filter has the better of it, and that no loss
// of contact explains the readings as well.
func (b *bag) clogging() bool {
	k := b.Keen.State
	sd := math.Sqrt(k.P[iHealth][iHealth])
	if b.Keen.LLR < keenDecisive || k.Time.Sub(b.First) < keenSettled || b.Cut || b.wickGone() && b.Cause != model.CauseWickClogging {
		return false
	}
	if lost, ok := b.best(model.CauseWickLostContact); ok && lost.LLR > b.Keen.LLR-equal {
		return false
	}
	return k.X[iHealth] < math.Log(weakened*b.usualHealth()) && k.X[iHealth]+keenSigma*sd < b.Base.X[iHealth] && b.dipsDeepen(k.X[iHealth])
}

// clog takes the keen filter's view.
func (b *bag) clog() {
	b.Base, b.Roll = b.Keen.State, b.Keen.State
	b.compareAnew()
	b.recall()
	if b.Cause == "" {
		b.Cause, b.Since = model.CauseWickClogging, b.Base.Time
	}
}
