package estimate

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wickd/model"
)

// A float that jams goes on trembling by its noise, so that no reading equals the one
// before, and a float valve that nobody told of holds the level where it is. Either
// way the level says nothing of what leaves, and to believe it is to believe that
// nobody drinks.
const (
	// standLeast and standMost are how long a level must have stood to be disbelieved:
	// a day and two nights, and what the weather is remembered for.
	standLeast, standMost = 36 * time.Hour, backAtMost
	// standUnheard is how long nothing may have been heard meanwhile: of standLeast two
	// thirds were then seen.
	standUnheard = 12 * time.Hour
	// standDoubt is how many times what a level may move by chance the bags must have
	// drawn: a house drinks a quarter of what it is thought to, at the least, and four
	// standard deviations of that are no chance (assumptions).
	standDoubt = 4 * 4
	// standSuspect is from how many times on nothing is learnt of it: a house that seems
	// to drink ever less has its bags look as though they were not fed (assumption).
	standSuspect = 4
	// standYoung is how many times that it takes while most plants are establishing, for
	// establishes after they were planted, the initial stage of vegetables (20 to 30 days:
	// FAO-56, table 11): the site file states the canopy that they will have, and some
	// draw less than a tenth of its share at first (assumption).
	standYoung  = 2.5
	establishes = 25 * 24 * time.Hour
	// standMean is how many readings a level is the mean of.
	standMean = 6
	// standLeap is how many times what a level may move by chance one reading counts
	// for at most: two in a row that leap may be glitches, three are not.
	standLeap = 2.5
)

// stand is a level that stands still.
type stand struct {
	Since  time.Time
	Level  float64    // mm, of then
	Now    float64    // mm, mean of the last standMean readings
	Count  int        // readings since
	Known  *reservoir `json:",omitempty"` // as it was then
	Off    float64    // what Asked lies apart by since, because factors were shared out anew
	Jammed bool
}

// stands takes a level and says that it is not to be believed, for it stands where it
// must have fallen.
func (r *reservoir) stands(t time.Time, level float64) bool {
	s := &r.Stand
	s.Count++
	chance := math.Max(leastLevel, 3*math.Sqrt(2*r.Noise.Variance/standMean))
	s.Now += clamp(level-s.Now, -standLeap*chance, standLeap*chance) / float64(min(s.Count, standMean))
	switch moved := math.Abs(s.Now-s.Level) > chance; {
	case s.Jammed && moved:
		r.setVolume(t, r.gauge(level))
		r.News = true
		return true
	case !s.Jammed && (moved || s.Known == nil || t.Sub(s.Since) > standMost || t.Sub(r.LastGood) > standUnheard):
		// What nobody heard of may have fallen, and have been filled up to where it was.
		r.standFrom(level)
		return false
	case s.Jammed:
		return true
	case s.Count <= standMean:
		s.Level = s.Now
	}
	switch {
	case !r.drawn(standSuspect*chance) || math.Abs(level-s.Now) > standLeap*chance || r.deserted(s.Since):
		return false
	case t.Sub(s.Since) >= standLeast && r.drawn(standDoubt*chance):
		r.jam(t)
	default: // not yet disbelieved, and nothing is learnt of it
		r.Readings++
		r.LastGood = t
	}
	return true
}

// standFrom begins to watch a level from one reading on.
func (r *reservoir) standFrom(level float64) {
	r.Stand = stand{Since: r.Time, Level: level, Now: level, Count: 1} // a tick may be ahead of t
	known := r.copied()
	r.Stand.Known = &known
}

// drawn says that since it stands the bags must have drawn so many mm.
func (r *reservoir) drawn(mm float64) bool {
	litres := r.askedSince() * r.Stand.Known.common()
	if r.establishing() {
		litres /= standYoung
	}
	return !r.exhausted() && litres > mm*r.physics.AreaAt(r.Stand.Level)
}

// askedSince is what was asked for since the level stands.
func (r *reservoir) askedSince() float64 { return r.Asked - r.Stand.Known.Asked - r.Stand.Off }

// establishing says that half of its bags or more were planted lately.
func (r *reservoir) establishing() bool {
	young := 0
	for _, b := range r.bags {
		if age := r.Time.Sub(b.physics.Bag.Planted); age < establishes {
			young++
		}
	}
	return 2*young >= len(r.bags)
}

// deserted says that the probes show that the plants have not drunk since a time, as
// where a crop was taken out: then the level stands rightly. On the twin the share of
// their pattern is 0.35 to 1.1 there, and -0.4 to 0.2 under a float that jams.
func (r *reservoir) deserted(since time.Time) bool {
	const half, gone = 0.5, 0.3
	var sum, weight float64
	for _, b := range r.bags {
		n := slices.IndexFunc(b.Dips, func(d dip) bool { return !d.Start.After(since.Add(dipEvery)) })
		if n < 0 {
			continue
		}
		d := &b.Dips[n]
		block := int(since.Sub(d.Start) / dipBlock)
		if block >= len(d.Blocks) {
			continue // its probe fell silent, or is not believed
		}
		k, sd := d.since(block).share(mStopped, b.Noise.Variance, d.warm(mStopped))
		if w := 1 / sq(sd); w > 0 {
			sum, weight = sum+w*k, weight+w
		}
	}
	return weight > 1/sq(half) && sum > gone*weight
}

// jam goes back to when the level came to stand, and goes on from there without it.
func (r *reservoir) jam(t time.Time) {
	was, since := *r, r.Stand.Since
	r.Kept = r.Stand.Known
	r.goBack(since)
	r.Stand = stand{Since: since, Level: was.Stand.Level, Now: was.Stand.Now, Count: was.Stand.Count, Jammed: true}
	r.advance(t)
	// Meanwhile the bags were booked by a house that was thought to drink ever less.
	now := r.Tally
	now.More += r.Drawn - was.Drawn + was.Tally.More - now.More
	r.book(now)
	r.News = true
}

// blameLevel marks a level that stands where it must have fallen.
func (r *reservoir) blameLevel(health map[model.Subject]*model.SensorHealth) {
	if h := health[r.sensor(model.Level)]; h != nil && r.Stand.Jammed && !h.Silent && !h.Stuck {
		h.Implausible, h.Since = true, r.Stand.Since
		why := "a float valve or channels filled at times that the site file does not state, or plants that are no longer there"
		if r.feedsAtTimes() {
			why = "or channels that nobody has filled since, or plants that are no longer there"
		}
		h.Evidence = fmt.Sprintf("it has stood at %.0f mm while its bags must have drunk: a float that jams, %s", r.Stand.Level, why)
	}
}
