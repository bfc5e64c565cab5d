package alerts

import (
	"fmt"
	"time"
)

// An alarm that comes and goes is chattering when it is raised three times or
// more in a minute, says ISA-18.2 of an operator at a desk. Somebody with a
// phone in a pocket answers in hours, so here the window is six of them: the
// third call of an afternoon says nothing that the second did not.
const (
	chatterRaisings = 3
	chatterWindow   = 6 * time.Hour
	// noons is the window of what comes with every noon and goes with every night — a
	// warm tank, a bag at the limit of its wicks that is forecast to get dry: the third
	// noon running is the same trouble (assumption).
	noons = 72 * time.Hour
)

// window is within what time raisings of a condition count together.
func (d *Definition) window() time.Duration {
	if d.chatters > 0 {
		return d.chatters
	}
	return chatterWindow
}

// quiet is how long a chattering alert must be over before it counts as over: as
// long as its raisings lie apart on average.
func (d *Definition) quiet() time.Duration { return d.window() / chatterRaisings }

// count notes a raising and decides whether the alert chatters. One that does
// is held: it stays one occurrence until it has been over for long enough.
func (r *record) count(now time.Time, window time.Duration) {
	kept := r.Raisings[:0:0]
	for _, t := range append(r.Raisings, now) {
		if now.Sub(t) < window {
			kept = append(kept, t)
		}
	}
	r.Raisings = kept
	r.Chattering = len(kept) >= chatterRaisings
}

// offDelay is how long an alert must be over before it clears.
func (r *record) offDelay(d *Definition) time.Duration {
	if r.Chattering {
		return max(d.OffDelay, d.quiet())
	}
	return d.OffDelay
}

// chatterText tells a person that a chattering alert is held.
func (sc *scene) chatterText(d *Definition, r *record) string {
	return fmt.Sprintf("It comes and goes, %d times since %s, and is held as one alert until it has been over for %s",
		len(r.Raisings), sc.clock(r.Raisings[0]), length(d.quiet()))
}
