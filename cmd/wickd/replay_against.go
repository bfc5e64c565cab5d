package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"wickd/model"
)

// at is the snapshot of the hour next to t.
func (g gallery) at(t time.Time) (model.Snapshot, bool) {
	i := int(t.Sub(g.from).Round(time.Hour) / time.Hour)
	// Hours in which nobody listened are missing, so that it may lie further back.
	for i = min(i, len(g.story.hours)-1); i >= 0; i-- {
		switch s := g.story.hours[i]; {
		case s.Time.Sub(t).Abs() <= time.Hour/2:
			return s, true
		case s.Time.Before(t):
			return s, false
		}
	}
	return model.Snapshot{}, false
}

// against says how an estimate compares with what was so: by the median, for in
// the hour of a refill the two may lie on either side of it.
func (g gallery) against(what, unit string, scale float64, so *series, figure func(s model.Snapshot) model.Measured) string {
	var offs []float64
	within := 0
	for i, at := range so.at {
		s, ok := g.at(at)
		if !ok {
			continue
		}
		m := figure(s)
		off := math.Abs(m.Value - so.values[i])
		if off <= z90*m.SD {
			within++
		}
		offs = append(offs, off)
	}
	n := len(offs)
	if n == 0 {
		return ""
	}
	slices.Sort(offs)
	const bound = "\u00a0" // a sign is not parted from its number
	return fmt.Sprintf(" Against the truth: %s off by %.2g%s%s (median), within the band at %.0f%s%% of %s.",
		what, scale*offs[n/2], bound, unit, inPercent*float64(within)/float64(n), bound, plural(n, "time", "times"))
}

// taken says what was taken up between the first and the last time that is
// known.
func (g gallery) taken(so *series, figure func(s model.Snapshot) float64) string {
	var first, last int
	var from, to float64
	n := 0
	for i, at := range so.at {
		s, ok := g.at(at)
		if !ok {
			continue
		}
		if n++; n == 1 {
			first, from = i, figure(s)
		}
		last, to = i, figure(s)
	}
	if n < 2 {
		return ""
	}
	return fmt.Sprintf(" Taken up: %.1f L, in truth %.1f L.", to-from, so.values[last]-so.values[first])
}
