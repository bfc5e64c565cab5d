package estimate

import (
	"math"
	"time"

	"wickd/model/climate"
)

// daily learns from the site itself by how much one day's draw departs from
// what the reference makes expect. The error of a method against measured days
// is for the most part the same every day — the site's wind, its cover, the
// crop's coefficient — and the house's factor takes that up; only what changes
// from day to day can hide a leak or feign one. Half the squared difference of
// neighbouring days is free of what changes slowly (von Neumann 1941).
type daily struct {
	At           time.Time // of the last midnight, UTC
	Drawn, Asked float64   // L, at that midnight: by bags, and what they ask at factor one
	Known        bool      // yesterday was a day
	Ln           float64   // of yesterday's ratio of the two
	Whole        int       // days seen from midnight to midnight
	Days         int       // pairs of neighbouring days seen
	Ratio        float64   // mean of their variance against the prior's
}

const (
	// methodError of the best reference, relative, is in the error of every
	// rung; methodDaily is what of it differs from one day to the next.
	methodError = 0.10
	methodDaily = 0.05
	// priorDaily is how many pairs of days the rung's own figure is worth, and
	// dailyMemory how many are remembered.
	priorDaily  = 2.0
	dailyMemory = 12.0
	// leastDay is the draw of a day, as a share of the mean day, below which a
	// ratio says nothing.
	leastDay = 0.1
)

// rungDaily is the prior standard deviation of a day's departure, relative.
func rungDaily(rung climate.Rung) float64 {
	return math.Sqrt(math.Max(0, sq(rung.RelativeError())-sq(methodError)) + sq(methodDaily))
}

// sd is the standard deviation of a day's departure on a rung, relative.
func (d *daily) sd(rung climate.Rung) float64 {
	n := math.Min(float64(d.Days), dailyMemory)
	return rungDaily(rung) * math.Sqrt((priorDaily+n*d.Ratio)/(priorDaily+n))
}

// observe closes a day at its midnight; drawn and asked count from the start,
// and usual is the mean draw of a day. One whose level nobody heard is as the
// model has it, and says nothing.
func (d *daily) observe(t time.Time, drawn, asked, usual float64, rung climate.Rung, heard bool) {
	if !t.Equal(t.Truncate(24*time.Hour)) || !d.At.Before(t) {
		return
	}
	took, wanted := drawn-d.Drawn, asked-d.Asked
	whole := heard && t.Sub(d.At) == 24*time.Hour
	d.At, d.Drawn, d.Asked = t, drawn, asked
	if whole {
		d.Whole++
	}
	before, known := d.Ln, d.Known
	d.Known = whole && took > leastDay*usual && wanted > 0
	if !d.Known {
		return
	}
	d.Ln = math.Log(took / wanted)
	if !known {
		return
	}
	half := sq(d.Ln-before) / 2 / sq(rungDaily(rung))
	// A leak, or a tank topped up unseen, is no departure of the plants.
	now := sq(d.sd(rung) / rungDaily(rung))
	half = math.Min(half, dailyBound*now)
	d.Days++
	d.Ratio += (half - d.Ratio) / math.Min(float64(d.Days), dailyMemory)
}

// dailyBound is the squared departure, in variances, beyond which a day counts
// as something else: 3 sd.
const dailyBound = 9.0
