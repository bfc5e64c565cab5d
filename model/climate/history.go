package climate

import "time"

// guideLife is for how many hours a day seen is still a guide to one ahead. A
// month moves the noon sun at 50° by up to 12°, a sixth of the radiation.
const guideLife = 30 * 24

// Range is the temperature of a day in °C. Mean is (Max+Min)/2, as FAO-56
// eq 9 takes it.
type Range struct {
	Max, Min, Mean float64
}

// Extremes returns the range of temperature over the hour of t and the 23
// before it; false when fewer than 20 of them were heard.
func (tr *Tracker) Extremes(t time.Time) (Range, bool) {
	d := tr.lastDay(t)
	return d.Range, d.warm
}

// daySeen is a day's weather in short.
type daySeen struct {
	Range
	radiation float64 // mean, W/m²
	warm, lit bool    // whether Range and radiation rest on a whole day
}

func (tr *Tracker) lastDay(t time.Time) daySeen {
	var s daySummary
	last := hourOf(binOf(t))
	for key := last - 23; key <= last; key++ {
		if h := tr.place(key); h.key == key {
			s.add(hourOfDay(key), h.max, h.min, h.means)
		}
	}
	return s.seen()
}

// daySummary gathers hours into a daySeen. Start from the zero.
type daySummary struct {
	warm, lit hoursHeard
	max, min  float64
	radiation column
}

func (s *daySummary) add(hour int, high, low float64, means [quantities]column) {
	if means[temperature].count > 0 {
		if s.warm == 0 {
			s.max, s.min = high, low
		}
		s.max, s.min = max(s.max, high), min(s.min, low)
		s.warm.add(hour)
	}
	if means[radiation].count > 0 {
		s.radiation.include(means[radiation].mean())
		s.lit.add(hour)
	}
}

func (s *daySummary) seen() daySeen {
	return daySeen{
		Range:     Range{Max: s.max, Min: s.min, Mean: (s.max + s.min) / 2},
		radiation: s.radiation.mean(),
		warm:      s.warm.enough(),
		lit:       s.lit.enough(),
	}
}

// Climatology is the mean weather of recent days by hour of the day in UTC.
type Climatology [24]Weather

// Climatology averages the days remembered before the hour of t. It is the
// forecast of a site without a weather service: tomorrow like the last few
// days. Hours never heard are NaN.
func (tr *Tracker) Climatology(t time.Time) Climatology {
	var c Climatology
	now := hourOf(binOf(t))
	for h := range c {
		c[h] = meansOf(tr.typical(now, h))
	}
	return c
}

// typicalAt returns the mean weather of recent days at t's hour.
func (tr *Tracker) typicalAt(t time.Time) Weather {
	now := hourOf(binOf(t))
	return meansOf(tr.typical(now, hourOfDay(now)))
}

// typicalDay is lastDay of the typical hours. Their range is a little narrower
// than a single day's, whose extremes fall in different hours.
func (tr *Tracker) typicalDay(t time.Time) daySeen {
	var s daySummary
	now := hourOf(binOf(t))
	for h := range 24 {
		means := tr.typical(now, h)
		mean := means[temperature].mean()
		s.add(h, mean, mean, means)
	}
	return s.seen()
}

// typical averages one hour of the day over the days that lie before the hour
// numbered now and within the life of a guide, a day a vote.
func (tr *Tracker) typical(now int64, hour int) [quantities]column {
	var means [quantities]column
	for i := hour; i < len(tr.hours); i += 24 {
		h := &tr.hours[i]
		if h.key >= now || h.key < now-guideLife {
			continue
		}
		for q, c := range h.means {
			if c.count > 0 {
				means[q].include(c.mean())
			}
		}
	}
	return means
}

func meansOf(c [quantities]column) Weather {
	var v [quantities]float64
	for q := range c {
		v[q] = c[q].mean()
	}
	return fromColumns(v)
}
