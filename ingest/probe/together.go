package probe

import "time"

// Sensors that fall silent at once share a cause: a power cut, a gateway, the
// radio's base. Each by itself would be told of, a dozen for one plug that was
// pulled. An outage is such a group; several may stand beside each other, each
// with a number from 1 on that its sensors carry until they are heard again.

const (
	// leastTogether is how many sensors make an outage, and keep it. Three that die
	// each by itself within a message of each other are no chance worth counting.
	leastTogether = 3
	// togetherWithin is how many intervals may lie between the last message of a
	// sensor and the last of the others: one that was due, and some jitter. joinWithin
	// is that of those who belong to an outage that stands for others, too: they may
	// have lost one before.
	togetherWithin, joinWithin = 1.5, 2.5
	// overdueAfter is how many intervals without a message are more than jitter.
	overdueAfter = 1.5
)

// outage is when, on the listening clock, sensors fell silent, and whether they had
// ever been heard.
type outage struct {
	At    time.Duration `json:"at"`
	Heard bool          `json:"heard"`
}

// joinOutage marks the sensors that fell silent with others. It is asked when
// sensors are newly silent; some of the others are then only overdue.
func (h *Health) joinOutage(newly []int) {
	if len(newly) == 0 {
		return
	}
	for number, o := range h.state.Outages {
		if h.silentOf(number+1) >= leastTogether {
			h.mark(o, number+1)
		}
	}
	for _, i := range newly {
		s := &h.state.Sensors[i].Silence
		if s.Together > 0 {
			continue
		}
		o := h.outageOf(s)
		count := 0
		for j := range h.state.Sensors {
			if s := &h.state.Sensors[j].Silence; s.Together == 0 && s.overdue(h.state.Clock) && s.shares(o, togetherWithin) {
				count++
			}
		}
		if count >= leastTogether {
			h.mark(o, h.number(o))
		}
	}
}

// mark has all who are missing since an outage carry its number. Its moment may be
// too early, by less than a message, where the sensor that it was found by had lost one.
func (h *Health) mark(o outage, number int) {
	for i := range h.state.Sensors {
		s := &h.state.Sensors[i].Silence
		if s.Together == 0 && s.overdue(h.state.Clock) && s.shares(outage{o.At + s.pace(), o.Heard}, joinWithin+1) {
			s.Together = number
		}
	}
}

// number keeps a new outage under the first number that is free. Who was left over
// from the one before is silent by itself by now.
func (h *Health) number(o outage) int {
	for i := range h.state.Outages {
		if h.silentOf(i+1) >= leastTogether {
			continue
		}
		for j := range h.state.Sensors {
			if s := &h.state.Sensors[j].Silence; s.Together == i+1 {
				s.Together = 0
			}
		}
		h.state.Outages[i] = o
		return i + 1
	}
	h.state.Outages = append(h.state.Outages, o)
	return len(h.state.Outages)
}

// silentOf is how many sensors of an outage are silent still.
func (h *Health) silentOf(number int) (n int) {
	for i := range h.state.Sensors {
		if h.state.Sensors[i].Silence.Together == number {
			n++
		}
	}
	return n
}

// outageOf is what a sensor that is newly silent may have fallen silent in: the last
// moment at which one was heard that may have done so with it.
func (h *Health) outageOf(s *Silence) outage {
	o := outage{At: s.HeardAt, Heard: s.Heard}
	for i := range h.state.Sensors {
		other := &h.state.Sensors[i].Silence
		later := outage{At: other.HeardAt, Heard: other.Heard}
		if other.Together == 0 && other.overdue(h.state.Clock) && later.At > o.At && s.shares(later, togetherWithin) {
			o = later
		}
	}
	return o
}

// overdue says that more than a late message is missing at clock.
func (s *Silence) overdue(clock time.Duration) bool {
	if !s.Heard || s.Expected == 0 {
		return s.Silent
	}
	return clock-s.HeardAt > times(s.Expected, overdueAfter)
}

// pace is how far messages of a sensor lie apart: of one that has not sent often enough
// to tell, the farthest that two ever did.
func (s *Silence) pace() time.Duration {
	if s.Expected > 0 || !s.Heard {
		return s.Expected
	}
	return max(s.Longest, leastBacklog)
}

// shares says that a sensor may have fallen silent in an outage, within so many of
// its intervals. Those that were never heard share when listening began.
func (s *Silence) shares(o outage, within float64) bool {
	if !s.Heard || !o.Heard {
		return s.Heard == o.Heard && s.HeardAt == o.At
	}
	return s.HeardAt <= o.At && o.At-s.HeardAt <= times(s.pace(), within)
}
