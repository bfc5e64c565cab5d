package climate

import (
	"errors"
	"time"
)

// Lamps burn over the crop at set hours.
type Lamps struct {
	Radiation float64 // short-wave that they give at the crop, W/m²
	Hours     []Hours
	Zone      *time.Location // of Hours; nil: UTC
}

// Hours are a span of every day, since midnight and up to 24 h. One whose To is not
// after its From goes on past midnight. No two of a day may overlap.
type Hours struct{ From, To time.Duration }

// Mean is what they give on the average over [a, b), W/m², which is no more than a
// day; 0 where b is not after a.
func (l Lamps) Mean(a, b time.Time) float64 {
	if l.Radiation == 0 || !b.After(a) {
		return 0
	}
	zone := l.Zone
	if zone == nil {
		zone = time.UTC
	}
	local := a.In(zone)
	var lit time.Duration
	for _, h := range l.Hours {
		for day := -1; day <= 1; day++ {
			from := clock(local, day, h.From)
			to := clock(local, day, h.To)
			if h.To <= h.From {
				to = clock(local, day+1, h.To)
			}
			lit += overlap(a, b, from, to)
		}
	}
	return l.Radiation * float64(min(lit, b.Sub(a))) / float64(b.Sub(a))
}

// clock is when clocks show an hour on the day of t or some days after it.
func clock(t time.Time, days int, since time.Duration) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day()+days, int(since.Hours()), int(since.Minutes())%60, 0, 0, t.Location())
}

func overlap(a, b, from, to time.Time) time.Duration {
	if from.Before(a) {
		from = a
	}
	if to.After(b) {
		to = b
	}
	return max(0, to.Sub(from))
}

// day is what they give in a day, MJ/m².
func (l Lamps) day() float64 {
	hours := 0.0
	for _, h := range l.Hours {
		span := h.To - h.From
		if span <= 0 {
			span += 24 * time.Hour
		}
		hours += span.Hours()
	}
	return l.Radiation * megajoulesPerHour * min(24, hours)
}

func (l Lamps) validate() error {
	faults := []error{within("radiation of lamps", l.Radiation, 0, 1000, "W/m²")}
	for _, h := range l.Hours {
		faults = append(faults,
			within("hour at which lamps are lit", h.From.Hours(), 0, 24, "h"),
			within("hour at which lamps go out", h.To.Hours(), 0, 24, "h"))
	}
	return errors.Join(faults...)
}
