package notify

import "time"

// Pace bounds how often one recipient is written to. The zero value of a field
// is its default.
type Pace struct {
	Burst int           // messages at once; default 4
	Every time.Duration // one more message after this long; default 5 min

	// Spacing is the least time between two messages, in which what follows the
	// first is joined to the second; default 30 s.
	Spacing time.Duration

	// UrgentEvery is Every of the urgent messages, which have a bucket of their
	// own; default 1 min.
	UrgentEvery time.Duration

	// Above FloodAbove alerts told within FloodWindow only one message a window
	// is sent, a summary. Defaults 10 and 10 min: what alarm management calls a
	// flood (ISA-18.2).
	FloodAbove  int
	FloodWindow time.Duration
}

func (p Pace) orDefault() Pace {
	if p.Burst <= 0 {
		p.Burst = 4
	}
	if p.Every <= 0 {
		p.Every = 5 * time.Minute
	}
	if p.Spacing <= 0 {
		p.Spacing = 30 * time.Second
	}
	if p.UrgentEvery <= 0 {
		p.UrgentEvery = time.Minute
	}
	if p.FloodAbove <= 0 {
		p.FloodAbove = 10
	}
	if p.FloodWindow <= 0 {
		p.FloodWindow = 10 * time.Minute
	}
	return p
}

// lane is one token bucket with a flood gate. Urgent messages have a lane of
// their own, so that a flood of small matters cannot hold one back.
type lane struct {
	tokens float64
	filled time.Time // when tokens was last reckoned; zero: never, the bucket is full
	sent   []burst   // within the flood window, the oldest first
}

type burst struct {
	at      time.Time
	notices int
}

// wait is how long a message of n notices has to wait; zero: send it now.
func (l *lane) wait(now time.Time, n int, every time.Duration, p Pace) time.Duration {
	l.fill(now, every, p)
	told := n
	for _, b := range l.sent {
		told += b.notices
	}
	var hold time.Duration
	if l.tokens < 1 {
		hold = time.Duration((1 - l.tokens) * float64(every))
	}
	if last := len(l.sent) - 1; last >= 0 {
		gap := p.Spacing
		if told > p.FloodAbove {
			gap = max(gap, p.FloodWindow)
		}
		hold = max(hold, l.sent[last].at.Add(gap).Sub(now))
	}
	return hold
}

func (l *lane) fill(now time.Time, every time.Duration, p Pace) {
	if l.filled.IsZero() {
		l.tokens = float64(p.Burst)
	} else if gone := now.Sub(l.filled); gone > 0 {
		l.tokens = min(float64(p.Burst), l.tokens+float64(gone)/float64(every))
	}
	l.filled = now
	for len(l.sent) > 0 && now.Sub(l.sent[0].at) >= p.FloodWindow {
		l.sent = l.sent[1:]
	}
}

func (l *lane) spend(now time.Time, n int) {
	l.tokens--
	l.sent = append(l.sent, burst{now, n})
}
