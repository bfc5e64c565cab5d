package ingest

import (
	"slices"
	"time"
)

// remembered is how many intervals between messages make up what is usual for
// a topic: enough for a median that one late message does not move.
const remembered = 9

// intervals knows when a topic's last message was taken and how far apart its
// messages usually are.
type intervals struct {
	last  time.Time
	steps []time.Duration // the latest, at most remembered
	next  int             // where the next step goes once steps is full
}

// observe takes the time of a message that arrived in the normal course.
func (i *intervals) observe(t time.Time) {
	if !i.last.IsZero() && t.After(i.last) {
		i.learn(t.Sub(i.last))
	}
	i.move(t)
}

// move sets the time of the last message without learning from it.
func (i *intervals) move(t time.Time) {
	if t.After(i.last) {
		i.last = t
	}
}

func (i *intervals) learn(step time.Duration) {
	if len(i.steps) < remembered {
		i.steps = append(i.steps, step)
		return
	}
	i.steps[i.next] = step
	i.next = (i.next + 1) % remembered
}

// usual is the median interval; 0: not known.
func (i *intervals) usual() time.Duration {
	if len(i.steps) == 0 {
		return 0
	}
	sorted := slices.Clone(i.steps)
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}
