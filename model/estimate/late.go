package estimate

import (
	"slices"
	"time"
)

// Levels that a gateway keeps for hours, and a link that was down, come with
// times of their own when ticks have long carried the reservoir on without
// them. What it was at its last level is therefore kept, and a level from before
// a tick has it go on from there: what left by night, which tells a leak, is
// known although it was told in the morning. Bags do the same, from Base.

// backAtMost is how far it is gone back: what the weather was is remembered for a day
// longer, and without it the days would be drawn anew by that of now.
const backAtMost = 4 * 24 * time.Hour

// keep is called before a tick carries the reservoir on from its last level.
func (r *reservoir) keep() {
	if r.Kept == nil && r.tellsLevel && !r.Time.IsZero() && !r.physics.Reservoir.FloatValve {
		kept := r.copied()
		r.Kept = &kept
	}
}

// goBack has the reservoir be as it was before the ticks after a time, if it is
// known.
func (r *reservoir) goBack(t time.Time) {
	if r.Kept == nil || t.Before(r.Kept.Time) || r.Time.Sub(r.Kept.Time) > backAtMost {
		return
	}
	r.book(r.Kept.Tally) // takes back what the bags were booked for it since
	was := *r
	*r = *r.Kept
	r.physics, r.bags, r.weather, r.tellsLevel = was.physics, was.bags, was.weather, was.tellsLevel
	r.Built = was.Built // which the copy of an older version lacks
	// What other sensors told is as true as before.
	r.Heard, r.Resets, r.Stand, r.Sieve = was.Heard, was.Resets, was.Stand, was.Sieve
	r.EC, r.PH, r.Temperature, r.Solution = was.EC, was.PH, was.Temperature, was.Solution
}

// copied shares no memory with the reservoir that changes with it.
func (r *reservoir) copied() reservoir {
	c := *r
	c.Kept, c.Stand, c.Sieve = nil, stand{}, sieve{}
	c.Shadow, c.Warm, c.Lifts = slices.Clone(r.Shadow), slices.Clone(r.Warm), slices.Clone(r.Lifts)
	c.Draw.Hours, c.Hours = slices.Clone(r.Draw.Hours), slices.Clone(r.Hours)
	c.Filling.Times = slices.Clone(r.Filling.Times)
	c.Before, c.Breaches, c.Lately = slices.Clone(r.Before), slices.Clone(r.Breaches), slices.Clone(r.Lately)
	// These are not gone back to.
	c.EC, c.PH, c.Temperature, c.Solution = track{}, track{}, track{}, solutionWatch{}
	return c
}
