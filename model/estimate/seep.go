package estimate

import "time"

// What stands between fillings and falls all the same leaks: no bag drinks from it then.
// How fast it falls is measured over as long as a standing level tells it best, which is
// a night as a rule, for what the channels lack may have been brought by a filling too
// small to show.

// seep is how a level falls that should stand: sums of a straight line through the
// volumes, L, and through the warmth of the air, K, by hours.
type seep struct {
	Since                              time.Time
	Count, At, Squares                 float64
	Volume, VolumeBy, Warmth, WarmthBy float64
	// Rate is the fall, L/h, where it was known best, to a variance, and Row what it
	// depends on; Variance 0: it is not known yet.
	Rate, Variance float64
	Row            vector
}

const (
	// seepHours is how long a level must have stood to tell a fall.
	seepHours = 2.0
	// seepSeldom is how likely somebody fills channels at another hour than as of late
	// (assumption).
	seepSeldom = 0.1
	// seepWorse is how many times its best error the error of a fall may come to, before
	// the best is taken and a new fall is begun (assumption).
	seepWorse = 1.5
)

// include takes one more level.
func (s *seep) include(t time.Time, volume, warmth float64) {
	if s.Count == 0 {
		s.Since = t
	}
	hours := t.Sub(s.Since).Hours()
	s.Count++
	s.At += hours
	s.Squares += hours * hours
	s.Volume += volume
	s.VolumeBy += hours * volume
	s.Warmth += warmth
	s.WarmthBy += hours * warmth
}

// spread is the sum of the squared distances from the mean hour, h², and slopes are by
// how much volume, L, and warmth, K, change in an hour.
func (s *seep) spread() float64 { return s.Squares - s.At*s.At/s.Count }

func (s *seep) slopes() (volume, warmth float64) {
	mean := s.At / s.Count
	return (s.VolumeBy - mean*s.Volume) / s.spread(), (s.WarmthBy - mean*s.Warmth) / s.spread()
}

// watchSeep follows a level that stands.
func (r *reservoir) watchSeep(t time.Time, g gauged) {
	s := &r.Filling.Seep
	s.include(t, g.volume, r.weather.warmth.excess(t))
	hours := t.Sub(s.Since).Hours()
	if hours < seepHours || s.Count < fillMean {
		return
	}
	slope, warming := s.slopes()
	mm, _ := r.weather.reference(s.Since, t)
	dried := r.evaporates(mm) // from the channels, or from itself
	brought := sq(r.lacks()) / 3
	if !t.After(r.Filling.next(s.Since)) {
		brought *= seepSeldom
	}
	variance := g.variance/s.spread() + (brought+sq(dried)/12+sq(levelWander)*hours)/sq(hours)
	switch {
	case s.Variance == 0 || variance < s.Variance:
		s.Rate, s.Variance = -slope-dried/2/hours, variance
		s.Row = vector{jUnexplained: 1, jWarm: -r.physics.AreaAt(r.physics.Level(g.volume)) * warming}
	case variance > sq(seepWorse)*s.Variance:
		r.learnSeep(t)
	}
}

// learnSeep takes the fall that was known best, and begins anew. What it finds to have
// left is what leaked: no bag lifted it.
func (r *reservoir) learnSeep(t time.Time) {
	s := r.Filling.Seep
	r.Filling.Seep = seep{}
	if s.Variance > 0 {
		fall := gauged{volume: s.Rate, variance: s.Variance, row: s.Row}
		nu, total := fall.innovation(r.X, r.P)
		drawn := r.Drawn
		r.learnLevel(t, fall, nu, total)
		r.Loose += r.Drawn - drawn
	}
}
