package probe

import (
	"math"
	"slices"
	"time"
)

// hear takes a message at clock. One of a backlog is a sign of life but says
// nothing about the rhythm.
func (s *Silence) hear(clock time.Duration, backlog bool, configured time.Duration) {
	if s.Marked && !backlog && clock-s.Mark < max(sameMoment, s.longest(clock)/burst) {
		s.heard(clock)
		return
	}
	if s.Marked && !backlog {
		s.learn(clock, clock-s.Mark)
	}
	s.heard(clock)
	s.Mark, s.Marked = clock, !backlog
	s.setLimit(clock, configured)
}

// heard is told of any sign of life.
func (s *Silence) heard(clock time.Duration) {
	s.Heard, s.HeardAt, s.Silent, s.Together = true, clock, false, 0
}

func (s *Silence) learn(clock, interval time.Duration) {
	flagged := s.Limit > 0 && interval > s.Limit
	if len(s.Intervals) == keptIntervals {
		s.Intervals = append(s.Intervals[:0], s.Intervals[1:]...)
	}
	s.Intervals = append(s.Intervals, interval)
	// What was flagged was an outage, neither loss nor habit.
	if flagged {
		return
	}
	if interval >= s.longest(clock) {
		s.Longest, s.LongestAt = interval, clock
	}
	base, deviation, ok := s.rhythm()
	if !ok || deviation > irregular || repeats(interval, base) {
		return
	}
	n := steps(interval, base)
	fade := math.Exp(-n / lossMemory)
	s.Sent = s.Sent*fade + n
	s.Missed = s.Missed*fade + n - 1
}

// rhythm is the median interval and the mean deviation from its multiples, in
// medians. Where a sensor sends everything several times, what lies between two
// measurements counts, and not what lies between two copies of one.
func (s *Silence) rhythm() (base time.Duration, deviation float64, ok bool) {
	if len(s.Intervals) < leastIntervals {
		return 0, 0, false
	}
	var kept [keptIntervals]time.Duration // on the stack: this runs for every message
	sorted := kept[:copy(kept[:], s.Intervals)]
	slices.Sort(sorted)
	if upper := sorted[len(sorted)*5/6]; repeats(sorted[len(sorted)/2], upper) {
		for repeats(sorted[0], upper) {
			sorted = sorted[1:]
		}
	}
	base = sorted[len(sorted)/2]
	for _, interval := range sorted {
		deviation += math.Abs(float64(interval)/float64(base) - steps(interval, base))
	}
	return base, deviation / float64(len(sorted)), true
}

// repeats says that an interval is one between copies of a measurement, where base lies
// between measurements.
func repeats(interval, base time.Duration) bool { return interval < base/bursty }

// steps is how many messages of a sensor that sends every base an interval
// spans.
func steps(interval, base time.Duration) float64 {
	return max(1, math.Round(float64(interval)/float64(base)))
}

func (s *Silence) longest(clock time.Duration) time.Duration {
	age := float64(clock-s.LongestAt) / float64(longestHalfLife)
	return time.Duration(float64(s.Longest) * math.Exp2(-age))
}

func (s *Silence) setLimit(clock, configured time.Duration) {
	base, deviation, ok := s.rhythm()
	switch {
	case configured > 0:
		s.Expected = configured
		if deviation > irregular {
			deviation = 0 // the grower has said what is normal
		}
	case !ok:
		s.Expected = 0
		s.Limit = max(unlearnedLimit, unlearnedTimes*s.Longest)
		return
	case deviation > irregular:
		s.Expected = max(leastExpected, s.longest(clock), base)
		s.Limit = times(s.Expected, irregularLimit)
		return
	default:
		s.Expected = base
	}
	s.Limit = times(max(leastExpected, s.Expected), s.missingLimit(deviation))
}

// missingLimit is the limit in intervals.
func (s *Silence) missingLimit(deviation float64) float64 {
	m := s.missing()
	if m == fewestMissing {
		return losslessLimit
	}
	return float64(m) + min(max(leastSlack, 4*deviation), mostSlack)
}

// missing is how many messages in a row have to be missing.
func (s *Silence) missing() int {
	loss := (priorLoss*priorWeight + s.Missed) / (priorWeight + s.Sent)
	m := math.Ceil(math.Log(falseSilence) / math.Log(loss))
	return int(min(max(m, fewestMissing), mostMissing))
}
