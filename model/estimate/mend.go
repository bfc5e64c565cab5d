package estimate

import (
	"math"
	"time"
)

// A supply that fails or comes back shows in the probes an hour or two later.
// Until then the reservoir's filter takes the draw that is missing for less
// thirst of every bag, and what dried out and drinks its fill — litres within
// hours — for more, or for a leak. It therefore keeps what it knew at each
// hour, believes no leak while a bag seems to drink its fill, and once the
// truth is known goes back to before.

// remembered is the reservoir's filter at a full hour.
type remembered struct {
	At           time.Time
	X            vector
	P            matrix
	Tally        tally
	Drawn, Asked float64 // L, as the reservoir's; zero: kept by an older version
}

// memoryHours is how many are kept: what shows later was too slow to mislead.
const memoryHours = 12

// unheard is how old a probe's last good reading is when what its bag drinks is
// no longer seen.
const unheard = 2 * time.Hour

// suspected is the log-likelihood ratio of a supply that came back beyond which
// the level says nothing of leaks.
const suspected = 1.0

// remember keeps the filter of a full hour.
func (r *reservoir) remember(t time.Time) {
	r.Before = append(r.Before, remembered{At: t, X: r.X, P: r.P, Tally: r.Tally, Drawn: r.Drawn, Asked: r.Asked})
	r.Before = r.Before[max(0, len(r.Before)-memoryHours):]
}

// failing says that the supply of the bag is known to have failed.
func (b *bag) failing() bool { return b.Cut || b.wickGone() }

// unseen says that the supply of a failing bag could be back without showing.
func (b *bag) unseen(t time.Time) bool { return b.Lost || t.Sub(b.LastGood) > unheard }

// mending says that a bag seems to drink its fill.
func (r *reservoir) mending() bool {
	for _, b := range r.bags {
		if !b.failing() || !b.speaks() {
			continue
		}
		if back, ok := b.best(causeRestored); ok && back.LLR > suspected {
			return true
		}
	}
	return false
}

// before is the last that is remembered from before a time; nil: nothing is.
func (r *reservoir) before(since time.Time) (known *remembered) {
	for i := range r.Before {
		if k := &r.Before[i]; !k.At.After(since) {
			known = k
		}
	}
	return known
}

// feeds says that the level since then speaks against a channel without water:
// more has left the reservoir than the bags of the other channels can account
// for. It is asked while a house is new, when the first bright day after dull
// ones dries all bags faster than it was thought to drink: later the probes tell
// sooner, for the volume follows its level by and by.
func (r *reservoir) feeds(channel string, since time.Time) bool {
	k := r.before(since)
	if k == nil || k.Asked == 0 || r.Daily.Whole >= breachDays || r.physics.Reservoir.FloatValve || r.feedsAtTimes() {
		return false
	}
	var all, others float64
	for _, b := range r.bags {
		if b.Cut {
			continue
		}
		wants := b.physics.Demand(r.Time, 1)
		all += wants
		if b.physics.Channel.ID != channel {
			others += wants
		}
	}
	if all <= 0 {
		return false
	}
	const above = 1.25 // of a demand known so well
	left := r.Drawn - k.Drawn
	explained := above * others / all * (r.Asked - k.Asked) * math.Exp(k.X[jHouse]+k.X[jDay])
	return left > explained+leakSigma*math.Sqrt(k.P[jVolume][jVolume]+r.P[jVolume][jVolume])
}

// reconsider goes back to what was known of demand and leaks at a time, and to
// what the bags were said to have drunk by that: they fell dry, or drank their
// fill. The volume, which the level tells, stays, but for litres that were drawn
// otherwise than was thought and that it may not have followed yet: what it still
// lags behind would look like a leak in the night after. Bags that were booked
// anew hold no more of what the books were put right by since then.
func (r *reservoir) reconsider(since time.Time, litres float64, anew ...*bag) {
	r.P[jVolume][jVolume] += sq(litres)
	r.Breaches, r.Kept = nil, nil
	known := r.before(since)
	if known == nil {
		return
	}
	x := known.X
	x[jVolume] = r.X[jVolume]
	r.X, r.P, r.Before = x, known.P.set(vector{}, 1, r.P[jVolume][jVolume]), nil
	known.Tally.With[jVolume] = 0
	r.book(known.Tally, anew...)
}

// mended is told that a supply is back since then, and what its bags drank
// beyond their usual, L.
func (r *reservoir) mended(since time.Time, litres float64, anew ...*bag) {
	r.excuse(since, litres)
	r.reconsider(since, litres, anew...)
}

// excuse takes litres out of the draw booked since then, in proportion.
func (r *reservoir) excuse(since time.Time, litres float64) {
	hours := min(len(r.Hours), int(math.Ceil(max(0, r.HourEnd.Sub(since).Hours()))))
	latest := r.Hours[len(r.Hours)-hours:]
	open := math.Max(0, r.Drawn-r.Loose-r.HourMark)
	total := open
	for _, h := range latest {
		total += h.Lifted
	}
	if litres <= 0 || total <= 0 {
		return
	}
	share := math.Min(1, litres/total)
	today := open
	for i := range latest {
		if began := r.HourEnd.Add(-time.Duration(len(latest)-i) * time.Hour); !began.Before(r.Daily.At) {
			today += latest[i].Lifted
		}
		latest[i].Lifted *= 1 - share
	}
	r.HourMark += open * share
	r.Daily.Drawn += today * share
}
