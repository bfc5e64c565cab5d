package estimate

import (
	"math"
	"time"

	"wickd/model"
)

const (
	// bagHorizon is how far a bag's dryness is forecast, reservoirHorizon an
	// empty reservoir.
	bagHorizon       = 72 * time.Hour
	reservoirHorizon = 21 * 24 * time.Hour
	// levelTold is how old the last level may be of a reservoir whose end is the end of
	// its bags' supply: somebody may have filled it since.
	levelTold = 24 * time.Hour

	// z95 is the 95 % quantile of the standard normal distribution.
	z95 = 1.6449

	// dayScatter is the prior of how much one day's demand differs from the
	// next, relative: a temperate summer under cover. It counts as much as
	// priorDays seen.
	dayScatter = 0.25
	priorDays  = 3.0

	// persistence is the correlation of a day's departure from the usual with
	// the next day's: fair and dull weather come in spells (about a half for
	// daily sunshine in temperate summers, from memory).
	persistence = 0.5
	// forgetDays is the memory of what is usual.
	forgetDays = 6.0
)

// course is the reference depth, mm, of each hour of the next day, by what
// recent days were like; the days after are taken to be like it.
type course [24]float64

func (w *weather) course(t time.Time) course {
	var c course
	at := t.Truncate(time.Hour)
	for h := range c {
		// Directly from the climate: the memo is for what bags share.
		c[h], _ = w.demand.Rate(at.Add(time.Duration(h)*time.Hour), at.Add(time.Duration(h+1)*time.Hour))
	}
	return c
}

// forecast is when the bag falls below its dry limit, with the supply ending when its
// reservoir is empty, each quantile at its own. The outer quantiles move
// demand, wicks and storage to their own 95 % at once, which is more than 90 %: in the
// twin study 94 to 100 of a hundred intervals hold.
func (b *bag) forecast(t time.Time, c course, common, commonSD, offset float64, ends model.Quantiles) (q model.Quantiles) {
	s := b.Roll
	sdDemand := math.Sqrt(s.P[iDemand][iDemand] + math.Max(0, sq(commonSD)-b.House) + sq(dayScatter))
	sdHealth := math.Sqrt(s.P[iHealth][iHealth])
	sdStorage := math.Sqrt(s.P[iStorage][iStorage])
	run := func(z float64, end *time.Time) *time.Time {
		r := rival{S: s.X[iStorage] - z*sdStorage, LnHealth: s.X[iHealth] - z*sdHealth, LnDemand: s.X[iDemand] + z*sdDemand}
		return b.driesAt(t, r, c, common, offset, end)
	}
	if q.P05 = run(z95, ends.P05); q.P05 == nil {
		return q
	}
	if q.P50 = run(0, ends.P50); q.P50 == nil {
		return q
	}
	q.P95 = run(-z95, ends.P95)
	return q
}

// driesAt is when it does, of a supply that ends at a time; nil: not within the horizon.
func (b *bag) driesAt(t time.Time, r rival, c course, common, offset float64, end *time.Time) *time.Time {
	limit := (b.physics.DryLimit - offset) * b.volume()
	health := b.health(r.LnHealth)
	before := r.S
	for h := 0; h <= int(bagHorizon.Hours()); h++ {
		if r.S <= limit {
			over := 0.0 // of the hour that led to it, since it was dry
			if before > r.S {
				over = clamp((limit-r.S)/(before-r.S), 0, 1)
			}
			at := t.Add(time.Duration(math.Max(0, float64(h)-over) * float64(time.Hour)))
			return &at
		}
		if end != nil && !t.Add(time.Duration(h)*time.Hour).Before(*end) {
			health = dryShare
		}
		rate := b.physics.Demand(t, c[h%24]) * common * math.Exp(r.LnDemand)
		before, r.S = r.S, b.physics.Hydraulic.Step(r.S, rate, health, 1).Storage
	}
	return nil
}
