package probe

import "time"

// Sensors that fall silent at once share a cause: a power cut, a gateway, the
// radio's base. Each by itself would be told of, a dozen for one plug that was
// pulled.

const (
	// leastTogether is how many sensors make a common cause. Three that die each by
	// itself within a message of each other are no chance worth counting.
	leastTogether = 3
	// togetherWithin is how many intervals may lie between the last message of a
	// sensor and that of the others: one that was due, another that was lost, and some
	// jitter.
	togetherWithin = 2.5
	// overdueAfter is how many intervals without a message are more than jitter.
	overdueAfter = 1.5
)

// joinOutage marks the sensors that fell silent with others. It is asked when
// sensors are newly silent; some of the others are then only overdue.
func (h *Health) joinOutage(newly []int) {
	if len(newly) == 0 {
		return
	}
	if h.outageStands() {
		for i := range h.state.Sensors {
			if s := &h.state.Sensors[i].Silence; s.Silent && s.shares(h.state.Outage) {
				s.Together = true
			}
		}
		return // another outage meanwhile is told sensor by sensor, lest the first hide it
	}
	for _, i := range newly {
		at := h.outageOf(&h.state.Sensors[i].Silence)
		var members []*Silence
		for j := range h.state.Sensors {
			if s := &h.state.Sensors[j].Silence; s.overdue(h.state.Clock) && s.shares(at) {
				members = append(members, s)
			}
		}
		if len(members) < leastTogether {
			continue
		}
		h.state.Outage = at
		for _, s := range members {
			s.Together = true
		}
		return
	}
}

// outageStands says that sensors of the last outage are silent still.
func (h *Health) outageStands() bool {
	for i := range h.state.Sensors {
		if h.state.Sensors[i].Silence.Together {
			return true
		}
	}
	return false
}

// outageOf is the last moment at which a sensor was heard that may have fallen
// silent with s.
func (h *Health) outageOf(s *Silence) time.Duration {
	at := s.HeardAt
	for i := range h.state.Sensors {
		o := &h.state.Sensors[i].Silence
		if o.overdue(h.state.Clock) && o.HeardAt > at && s.shares(o.HeardAt) {
			at = o.HeardAt
		}
	}
	return at
}

// overdue says that more than a late message is missing at clock.
func (s *Silence) overdue(clock time.Duration) bool {
	return s.Heard && s.Expected > 0 && clock-s.HeardAt > times(s.Expected, overdueAfter)
}

// shares says that a sensor may have fallen silent in an outage at a time.
func (s *Silence) shares(outage time.Duration) bool {
	return s.Heard && s.Expected > 0 && s.HeardAt <= outage && outage-s.HeardAt <= times(s.Expected, togetherWithin)
}
