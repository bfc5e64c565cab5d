package estimate

import (
	"fmt"
	"math"
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
	// standDoubt is how many times what a level may move by chance the bags must have
	// drawn: a house drinks a quarter of what it is thought to, at the least, and four
	// standard deviations of that are no chance (assumptions).
	standDoubt = 4 * 4
	// standMean is how many readings a level is the mean of.
	standMean = 6
)

// stand is a level that stands still.
type stand struct {
	Since  time.Time
	Level  float64    // mm, of then
	Now    float64    // mm, mean of the last standMean readings
	Count  int        // readings since
	Known  *reservoir `json:",omitempty"` // as it was then
	Jammed bool
}

// stands takes a level and says that it is not to be believed, for it stands where it
// must have fallen.
func (r *reservoir) stands(t time.Time, level float64) bool {
	s := &r.Stand
	s.Count++
	s.Now += (level - s.Now) / float64(min(s.Count, standMean))
	chance := math.Max(leastLevel, 3*math.Sqrt(2*r.Noise.Variance/standMean))
	switch {
	case s.Known == nil && !s.Jammed, math.Abs(s.Now-s.Level) > chance, !s.Jammed && t.Sub(s.Since) > standMost:
		moved := s.Jammed
		r.standFrom(t, level)
		if moved {
			r.setVolume(t, r.gauge(level))
			r.News = true
		}
		return moved
	case s.Jammed:
		return true
	case s.Count <= standMean:
		s.Level = s.Now
	}
	if t.Sub(s.Since) < standLeast || !r.drawn(chance) {
		return false
	}
	r.jam(t)
	return true
}

// standFrom begins to watch a level from one reading on.
func (r *reservoir) standFrom(t time.Time, level float64) {
	r.Stand = stand{Since: t, Level: level, Now: level, Count: 1}
	known := r.copied()
	r.Stand.Known = &known
}

// drawn says that since it stands the bags must have drawn many times what a level
// may move by chance, mm.
func (r *reservoir) drawn(chance float64) bool {
	known := r.Stand.Known
	litres := (r.Asked - known.Asked) * known.common()
	return !r.exhausted() && litres > standDoubt*chance*r.physics.AreaAt(r.Stand.Level)
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
		h.Evidence = fmt.Sprintf("it has stood at %.0f mm while its bags must have drunk: a float that jams, a float valve that the site file does not state, or plants that are no longer there", r.Stand.Level)
	}
}
