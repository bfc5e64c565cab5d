package probe

import (
	"math"
	"time"

	"wickd/model"
)

// Run is the current run of equal values and what earlier runs were like.
type Run struct {
	Value  float64   `json:"value"`
	Since  time.Time `json:"since"` // of the first of them; zero: no run
	Last   time.Time `json:"last"`
	Length int       `json:"length"`

	Began time.Time `json:"began"` // of the past; zero: none
	Pairs int       `json:"pairs"` // in it
	Slow  Lengths   `json:"slow"`
	Fast  Repeats   `json:"fast"`

	LongestLength float64       `json:"longest_length"`
	LongestSpan   time.Duration `json:"longest_span"`
	LongestAt     time.Time     `json:"longest_at"`

	Stuck bool `json:"stuck"`
	// Other is the one other value that a stuck sensor has shown since.
	Other *float64 `json:"other,omitempty"`
}

// Lengths sums the lengths of runs and their squares, fading.
type Lengths struct {
	Sum     float64 `json:"sum"`
	Squares float64 `json:"squares"`
}

func (l *Lengths) add(length, memory float64) {
	fade := math.Exp(-length / memory)
	l.Sum = l.Sum*fade + length
	l.Squares = l.Squares*fade + length*length
}

// probability of an equal neighbour (see above), with one run of two added.
func (l Lengths) probability() float64 {
	m := (l.Squares + 4) / (l.Sum + 2)
	return (m - 1) / (m + 1)
}

// Repeats counts pairs of neighbours, fading.
type Repeats struct {
	Equal float64 `json:"equal"`
	Pairs float64 `json:"pairs"`
}

// add takes the pairs of a whole run. What is older fades by e over memory
// pairs, within the run too, so that no run outweighs the memory.
func (r *Repeats) add(equal, pairs, memory float64) {
	if pairs == 0 {
		return
	}
	fade := math.Exp(-pairs / memory)
	weight := memory * (1 - fade) / pairs
	r.Equal = r.Equal*fade + equal*weight
	r.Pairs = r.Pairs*fade + pairs*weight
}

// probability of an equal neighbour, by Laplace's rule of succession.
func (r Repeats) probability() float64 { return (r.Equal + 1) / (r.Pairs + 2) }

// observe takes a good reading. One that is older than the last is passed over.
func (r *Run) observe(q model.Quantity, value float64, at time.Time, interval time.Duration) {
	switch {
	case at.Before(r.Last):
		return
	case atRest(q, value):
		r.end(at, false)
		return
	case r.Length == 0:
		r.start(value, at)
		return
	case equal(value, r.Value):
		r.Length++
		r.Last = at
		r.Stuck = r.Stuck || r.improbable(interval) && at.Sub(r.Since) >= r.least(q)
		return
	}
	if r.Stuck && !r.move(value) {
		r.Last = at
		return
	}
	r.end(at, true)
	r.start(value, at)
}

func equal(x, y float64) bool { return math.Abs(x-y) <= sameAfterUndoing*math.Abs(y) }

func (r *Run) start(value float64, at time.Time) {
	r.Value, r.Since, r.Last, r.Length = value, at, at, 1
	if r.Began.IsZero() {
		r.Began = at
	}
}

// move says whether a stuck sensor that shows another value has come loose: the
// second different one tells; the first may be a glitch.
func (r *Run) move(value float64) bool {
	if r.Stuck && r.Other == nil {
		r.Other = &value
		return false
	}
	if r.Stuck && equal(value, *r.Other) {
		return false
	}
	return true
}

// end puts the run into the past, unless it was stuck; changed: another value
// followed.
func (r *Run) end(at time.Time, changed bool) {
	stuck, length := r.Stuck, r.Length
	r.Stuck, r.Other, r.Length = false, nil, 0
	if stuck || length == 0 {
		return
	}
	repeats, pairs := float64(length-1), float64(length-1)
	if changed {
		pairs++
	}
	r.Pairs += int(pairs)
	r.Slow.add(float64(length), slowMemory)
	r.Fast.add(repeats, pairs, fastMemory)
	longestLength, longestSpan := r.longest(at)
	if float64(length) >= longestLength {
		r.LongestLength, r.LongestSpan, r.LongestAt = float64(length), max(longestSpan, r.Last.Sub(r.Since)), at
	}
}

// longest is the longest run of the past, faded.
func (r *Run) longest(at time.Time) (length float64, span time.Duration) {
	fade := math.Exp2(-float64(at.Sub(r.LongestAt)) / float64(runHalfLife))
	return r.LongestLength * fade, times(r.LongestSpan, fade)
}
