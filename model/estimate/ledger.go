package estimate

import (
	"math"
	"time"
)

// ledger remembers what left a reservoir in the last day and a half, and what
// each channel would have taken at a demand factor of one: when a channel runs
// dry, the level falls by so much less at once, long before its bags show it.
type ledger struct {
	Entries []entry
	Asked   []float64 // of the channels, L since the start, in the order of the site
	Other   float64   // what air and leaks took, L since the start
}

type entry struct {
	At       time.Time
	Drawn    float64   // L since the start, by the volume's own course
	Other    float64   // of Drawn, what no bag takes: air and leaks, L
	Variance float64   // of the volume, L²
	Common   float64   // the demand factor that the bags of the reservoir share
	Asked    []float64 // as in ledger
}

const (
	ledgerFor   = 36 * time.Hour
	ledgerEvery = 10 * time.Minute
	// ledgerBound is the most that the level may say, as a log-likelihood ratio:
	// a channel that leaks dry empties the reservoir faster, not slower.
	ledgerBound = 8.0
	// ledgerError is by how much the draw of the next hours departs from the
	// reference at the least, relative.
	ledgerError = 0.15
)

// ask adds what a channel would take at a demand factor of one.
func (l *ledger) ask(channel int, litres float64) {
	for len(l.Asked) <= channel {
		l.Asked = append(l.Asked, 0)
	}
	l.Asked[channel] += litres
}

// record notes the books at t.
func (l *ledger) record(t time.Time, drawn, variance, common float64) {
	n := len(l.Entries)
	if n > 0 && t.Sub(l.Entries[n-1].At) < ledgerEvery {
		return
	}
	l.Entries = append(l.Entries, entry{t, drawn, l.Other, variance, common, append([]float64(nil), l.Asked...)})
	first := 0
	for t.Sub(l.Entries[first].At) > ledgerFor {
		first++
	}
	l.Entries = l.Entries[first:]
}

// at is the last entry that is not after t; false: it reaches not so far back.
func (l *ledger) at(t time.Time) (entry, bool) {
	for i := len(l.Entries) - 1; i >= 0; i-- {
		if !l.Entries[i].At.After(t) {
			return l.Entries[i], true
		}
	}
	return entry{}, false
}

// withoutChannel is the log-likelihood ratio of the fall of the level since
// then, if a channel has taken nothing more, against all going on as before. It
// is 0 where the level says nothing: a refill since, no level, a float valve.
func (r *reservoir) withoutChannel(channel int, since time.Time) float64 {
	then, ok := r.Ledger.at(since)
	if !ok || r.Readings == 0 || r.physics.Reservoir.FloatValve || r.Refilled.After(then.At) || channel >= len(then.Asked) {
		return 0
	}
	all, its := 0.0, 0.0
	for i := range then.Asked {
		all += r.Ledger.Asked[i] - then.Asked[i]
	}
	its = r.Ledger.Asked[channel] - then.Asked[channel]
	if all <= 0 {
		return 0
	}
	fell := r.Drawn - then.Drawn
	noise := then.Variance + r.P[jVolume][jVolume]
	_, rung := r.weather.reference(r.Time.Add(-ledgerEvery), r.Time)
	other := r.Ledger.Other - then.Other
	rel := math.Max(ledgerError, rung.RelativeError())
	miss := func(asked float64) float64 {
		expected := then.Common * asked
		s := noise + sq(rel*expected)
		return huber(sq(fell-other-expected)/s) + math.Log(s)
	}
	return clamp((miss(all)-miss(all-its))/2, -ledgerBound, ledgerBound)
}
