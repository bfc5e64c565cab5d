package estimate

import (
	"fmt"
	"time"

	"wickd/model"
	"wickd/model/climate"
)

// dark watches for a radiation sensor that reads nothing by day: covered,
// unplugged or broken. Even a closed sky lets a quarter of what falls on the
// atmosphere through (FAO-56, eq 35 with n = 0), so that nothing at all under a
// high sun is no weather. A house may be darkened at the ends of the day to
// shorten it, but not through it.
type dark struct {
	Since time.Time // of the run of such readings; zero: none
	Last  time.Time
	Lasts time.Duration // of it under a high sun
}

const (
	// highSun is the sine of 10°: a closed sky then leaves some 60 W/m² outside,
	// which no cover takes away.
	highSun = 0.174
	// darkAfter is how long under a high sun nothing is read before the sensor
	// is named: longer than a house is darkened by then.
	darkAfter = 6 * time.Hour
	// darkGap is the longest time between two readings that counts.
	darkGap = time.Hour
)

// disbelieves says that a reading of the radiation, W/m², cannot be true.
func (d *dark) disbelieves(t time.Time, value float64, place *climate.Place) bool {
	if place == nil {
		return false
	}
	if value > 0 {
		*d = dark{}
		return false
	}
	if climate.SunElevation(*place, t) < highSun {
		d.Last = time.Time{}
		return d.Lasts >= darkAfter
	}
	if d.Since.IsZero() {
		d.Since = t
	}
	if gap := t.Sub(d.Last); !d.Last.IsZero() && gap > 0 {
		d.Lasts += min(gap, darkGap)
	}
	d.Last = t
	return true
}

// blame marks the sensor, unless a plainer fault is known of it.
func (d *dark) blame(site *model.Site, health map[model.Subject]*model.SensorHealth) {
	if d.Lasts < darkAfter {
		return
	}
	for _, s := range site.Air {
		if h := health[s.ID]; s.Quantity == model.Radiation && h != nil && !h.Silent && !h.Stuck && !h.Implausible {
			h.Implausible, h.Since = true, d.Since
			h.Evidence = fmt.Sprintf("it has read no radiation at all for %.0f h of daylight with the sun more than 10° high", d.Lasts.Hours())
		}
	}
}
