package climate

import (
	"fmt"
	"time"
)

// Demand gives the reference evapotranspiration of any interval from what its
// Tracker remembers. It is deterministic: equal options, observations in equal
// order and equal intervals give equal bits. Not safe for concurrent use.
type Demand struct {
	*Tracker
	options  Options
	pressure float64 // kPa
}

// New returns a Demand that has seen nothing, or every fault of o at once.
func New(o Options) (*Demand, error) {
	o = o.withDefaults()
	if err := o.validate(); err != nil {
		return nil, fmt.Errorf("climate options: %w", err)
	}
	return &Demand{
		Tracker:  newTracker(o.Days, o.MaxAge),
		options:  o,
		pressure: Pressure(o.Place.Elevation),
	}, nil
}

// Rate returns the reference evapotranspiration in mm over [t0, t1), past or
// future, and the poorest rung any part of it rests on. The depth is never
// negative: dew and long-wave gain are floored at 0 step by step. Zero and
// Full when t1 is not after t0.
//
// Steps are ten minutes where sensors were heard and an hour elsewhere, so the
// work grows with the length: 3 to 8 µs an hour.
func (d *Demand) Rate(t0, t1 time.Time) (mm float64, rung Rung) {
	var m memory
	for a := t0; a.Before(t1); {
		b := d.stepEnd(a, t1)
		if !m.fresh || m.hour != hourOf(binOf(a)) {
			m = d.recall(a)
		}
		depth, r := d.step(a, b, m)
		mm += depth
		rung = max(rung, r)
		a = b
	}
	return mm, rung
}

func (d *Demand) stepEnd(a, limit time.Time) time.Time {
	b := a.Truncate(time.Hour).Add(time.Hour)
	if d.heardWithin(a, b) {
		b = a.Truncate(binWidth).Add(binWidth)
	}
	if b.After(limit) {
		return limit
	}
	return b
}

// memory is what the hours before say about a step.
type memory struct {
	fresh     bool
	hour      int64
	known     bool    // whether day is a whole day's range
	day       Range   // of the last 24 hours, or of the typical day
	clearness float64 // Rs/Rso of the day, for the night sky
}

// assumedClearness of a sky never seen: half the possible sunshine, eq 35 over
// eq 37 at sea level.
const assumedClearness = (angstromA + angstromB*0.5) / 0.75

// recall takes the last 24 hours or, where they were not heard, the typical
// day.
func (d *Demand) recall(t time.Time) memory {
	seen := d.lastDay(t)
	if !seen.warm {
		typical := d.typicalDay(t)
		seen.Range, seen.warm = typical.Range, typical.warm
		if !seen.lit {
			seen.radiation, seen.lit = typical.radiation, typical.lit
		}
	}
	return memory{
		fresh: true, hour: hourOf(binOf(t)),
		known: seen.warm, day: seen.Range,
		clearness: d.clearness(seen, t),
	}
}

// clearness returns a day's Rs/Rso outside the cover.
func (d *Demand) clearness(seen daySeen, t time.Time) float64 {
	p := d.options.Place
	ra := ExtraterrestrialDaily(p.Latitude, p.meanSolar(t).YearDay())
	clear := ClearSky(p.Elevation, ra)
	switch {
	case clear < polarNight:
		return assumedClearness
	case seen.lit:
		return seen.radiation * 24 * megajoulesPerHour / (clear * d.options.Transmission)
	case seen.warm:
		return d.rangeRadiation(seen.Range, ra) / clear
	}
	return assumedClearness
}

// polarNight is an Rso in MJ m⁻² d⁻¹ too small to divide by.
const polarNight = 0.5

// rangeRadiation returns Rs outside the cover in the unit of ra.
func (d *Demand) rangeRadiation(r Range, ra float64) float64 {
	return RadiationFromRange(d.options.KRs, r.Max, r.Min, d.options.Place.Elevation, ra)
}
