package probe

import "time"

// How silence is judged.
//
// A sensor sends every I (the median of its recent intervals, or ExpectEvery)
// and each message is lost with probability p, learnt from the gaps. It is
// silent once so many messages in a row are missing that chance alone explains
// it with less than falseSilence per message sent: the least m with
// p^m ≤ falseSilence. The m-th is missing when m·I and a slack for jitter have
// passed. Sending every 10 min (52,560 messages a year):
//
//	loss p      missing m   flagged after   false per sensor-year (p^m · 52560)
//	≤ 0.18 %    2           2.9 I           ≤ 0.18
//	≤ 1.5 %     3           3 I + slack     ≤ 0.18 (1 %: 0.05)
//	≤ 4.3 %     4           4 I + slack     ≤ 0.18 (3 %: 0.04)
//	≤ 8 %       5           5 I + slack     ≤ 0.18 (5 %: 0.02)
//
// Two missing in a row cannot do at 1 % loss: 0.01² · 52,560 is five false
// flags per sensor-year. A lossless sensor uses the third interval up to just
// before its end, which costs nothing and forgives a burst.
//
// Simulated with losses of 0, 0.1, 0.5, 1, 1.5, 2, 3 and 5 %, each with no and
// with 5 % jitter: never more than two false flags in 20 sensor-years. The dead
// were found within 30 min without loss, 32 at 0.5 to 1 %, 42 at 2 to 3 % and
// 52 at 5 %, the minute of the Tick included.
//
// A sensor that sends on change has no I. Its limit is the longest interval
// seen (which halves every week) times irregularLimit.
const (
	falseSilence = 3.4e-6

	// The loss begins at 1 % with the weight of 50 messages, and forgets over
	// 1500: ten days of a message each 10 min.
	priorLoss, priorWeight = 0.01, 50.0
	lossMemory             = 1500.0

	fewestMissing, mostMissing = 2, 12
	losslessLimit              = 2.9
	irregularLimit             = 3.05
	leastSlack, mostSlack      = 0.05, 0.9

	// burst is how many times shorter than the longest interval one is that is none:
	// a sensor that sends everything twice, or a gateway that repeats.
	burst = 20

	// bursty is how many times shorter than the upper sixth the median interval is of a
	// sensor that sends every measurement three or four times. Of one that loses half
	// its messages that is three times the median.
	bursty = 4

	keptIntervals  = 24
	leastIntervals = 8 // before intervals are believed

	// irregular is the mean deviation from the grid of I, in I, above which a
	// sensor has no grid. Uniformly random deviations have 0.25.
	irregular = 0.12

	longestHalfLife = 7 * 24 * time.Hour
)

// Bounds of limits.
const (
	leastExpected  = time.Minute      // a sensor is not missed sooner
	sameMoment     = time.Second      // messages closer together are one
	unheardLimit   = 30 * time.Minute // for a sensor that was never heard
	unlearnedLimit = 2 * time.Hour    // for one with too few intervals to learn from
	unlearnedTimes = 4                // and this many times its longest interval
	leastBacklog   = 5 * time.Minute  // age from which a reading is of a backlog
)

// Silence is what is known of a sensor's rhythm. Times are on the listening
// clock, which stands still while nothing can be heard.
type Silence struct {
	Heard   bool          `json:"heard"`
	HeardAt time.Duration `json:"heard_at"`
	Silent  bool          `json:"silent"`
	// Together is the number of the outage in which it fell silent, or is about to be called so, with others; 0: in none.
	Together int `json:"together,omitempty"`

	Mark   time.Duration `json:"mark"`   // where the interval that is being learnt begins
	Marked bool          `json:"marked"` // Mark is set: no pause or backlog since

	Intervals []time.Duration `json:"intervals,omitempty"` // the last ones, oldest first
	Longest   time.Duration   `json:"longest"`
	LongestAt time.Duration   `json:"longest_at"`
	Sent      float64         `json:"sent"`   // messages, fading
	Missed    float64         `json:"missed"` // of them, fading

	Expected time.Duration `json:"expected"` // 0: not known yet
	Limit    time.Duration `json:"limit"`    // silence that is too long; 0: not set yet
}

// judge flags a sensor whose silence is too long at clock.
func (s *Silence) judge(clock, configured time.Duration) {
	limit := s.Limit
	if !s.Heard {
		limit = max(unheardLimit, times(configured, irregularLimit))
	}
	if clock-s.HeardAt > limit {
		s.Silent = true
	}
}

// pause forgives what may have been lost in a pause that has grown from before
// to after: as much as the pause was long, up to one interval. Clock is the
// listening clock, which has stood still.
func (s *Silence) pause(clock, before, after time.Duration) {
	s.Marked = false
	if !s.Silent && s.Heard {
		most := s.Expected
		if most == 0 {
			most = after
		}
		s.HeardAt += min(after, most) - min(before, most)
	}
	s.HeardAt = min(s.HeardAt, clock)
}

// backlogAge is the age from which a reading was not sent when it arrived.
func (s *Silence) backlogAge() time.Duration { return max(leastBacklog, s.Expected) }

func times(d time.Duration, factor float64) time.Duration {
	return time.Duration(float64(d) * factor)
}
