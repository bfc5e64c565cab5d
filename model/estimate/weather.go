package estimate

import (
	"math"
	"slices"
	"time"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/design"
)

// assumedLatitude stands in where the site gives no place: the middle of the
// temperate belt. The demand factor that the readings teach takes up most of
// the error.
const assumedLatitude = 45.0

// weather turns air readings into the reference depth of any interval.
type weather struct {
	demand   *climate.Demand
	inside   float64 // factor on measured radiation
	version  int     // counts observations; invalidates the memo
	memo     [8]memo
	memoNext int
	warmth   warmth
	place    *climate.Place // nil: unknown, the height of the sun too
	dark     dark
	// noThermometer says that nobody measures the air's temperature, where the hour
	// of the sun is known.
	noThermometer bool
}

type memo struct {
	from, to int64
	version  int
	mm       float64
	rung     climate.Rung
}

func newWeather(physics *design.Site) (*weather, error) {
	site, place := physics.Site, physics.Place
	p := climate.Place{Latitude: assumedLatitude}
	if place != nil {
		p = *place
	}
	d, err := climate.New(climate.Options{
		Place: p, Transmission: site.CoverTransmission, Lamps: physics.Lamps, LampsMeasured: !site.RadiationOutside,
	})
	if err != nil {
		return nil, err
	}
	w := &weather{demand: d, inside: 1, place: place}
	w.noThermometer = place != nil && !slices.ContainsFunc(site.Air, func(s model.Sensor) bool { return s.Quantity == model.Temperature })
	if site.RadiationOutside && site.CoverTransmission > 0 {
		w.inside = site.CoverTransmission
	}
	return w, nil
}

// observe takes a good reading of the air.
func (w *weather) observe(q model.Quantity, t time.Time, value float64) {
	nan := math.NaN()
	o := climate.Weather{Temperature: nan, Humidity: nan, Radiation: nan, Wind: nan}
	switch q {
	case model.Temperature:
		o.Temperature = value
		w.warmth.observe(t, value)
	case model.Humidity:
		o.Humidity = value
	case model.Radiation:
		if w.dark.disbelieves(t, value, w.place) {
			return
		}
		o.Radiation = value * w.inside
	default:
		return
	}
	w.demand.Observe(t, o)
	w.version++
}

// reference is the reference evapotranspiration, mm, over [from, to). Bags of
// a site ask for the same intervals, so the last answers are kept.
func (w *weather) reference(from, to time.Time) (float64, climate.Rung) {
	a, b := from.UnixNano(), to.UnixNano()
	for i := range w.memo {
		if m := &w.memo[i]; m.from == a && m.to == b && m.version == w.version && b > a {
			return m.mm, m.rung
		}
	}
	mm, rung := w.demand.Rate(from, to)
	w.memo[w.memoNext] = memo{from: a, to: b, version: w.version, mm: mm, rung: rung}
	w.memoNext = (w.memoNext + 1) % len(w.memo)
	return mm, rung
}
