package estimate

import (
	"math"
	"time"
)

// What a sensor reads changes with its own temperature: the permittivity of
// water and the electronics of a capacitive probe, the speed of sound under an
// ultrasonic level sensor, the zero of a pressure cell. By day that looks like
// plants that drink more, or less, than they do, and by night like a leak. The
// filters therefore know a coefficient of each sensor, and learn it from days
// that were warm and dull, or cold and bright.
const (
	// priorWarm is the standard deviation of a moisture probe's coefficient,
	// m³/m³ per K: 0.0003 to 0.002, of either sign, are reported of capacitive
	// probes [M]. It is of the lower end: with more, a wick that lost contact under
	// small plants passes for a probe's warmth.
	priorWarm = 0.0003
	// priorWarmLevel is that of a level sensor, mm per K: sound in air gains
	// 0.17 % a kelvin (331.3 + 0.606·t m/s), which is 0.5 mm over 30 cm of air
	// where the sensor does not correct for it; most correct for some of it.
	priorWarmLevel = 0.3

	// neutral is the temperature, °C, at which sensors are taken to be right:
	// that of a room in which they are calibrated.
	neutral = 20.0
	// warmthLag is by how long a sensor lags behind the air, h: a housing, or a
	// probe's head in the sun over a bag.
	warmthLag = 1.0

	// usualSwing, K, and usualPeak, h of solar time, are the day of sensors under
	// cover where nobody measures the temperature: air that swings by 8 K and is
	// warmest at 15 h (common practice), and sensors that are an hour behind it.
	// Only the shape matters: the coefficient takes up the rest.
	usualSwing = 4.0
	usualPeak  = 16.0
)

// warmth is the temperature, °C, that sensors are taken to have.
type warmth struct {
	Value float64
	Time  time.Time // of the last reading; zero: none is measured
}

func (w *warmth) observe(t time.Time, celsius float64) {
	if w.Time.IsZero() {
		w.Value, w.Time = celsius, t
		return
	}
	if dt := t.Sub(w.Time).Hours(); dt > 0 {
		w.Value += (celsius - w.Value) * (1 - math.Exp(-dt/warmthLag))
		w.Time = t
	}
}

// excess is by how much sensors are warmer than neutral at a time, K; 0 where
// nothing is known, or no longer.
func (w *warmth) excess(t time.Time) float64 {
	if w.Time.IsZero() || t.Sub(w.Time) > staleAfter {
		return 0
	}
	return w.Value - neutral
}

// excess is that of a bag's own probe at the time of a reading: by the
// temperature of its root zone where one is measured, by the air's, or by the
// usual day. Level sensors are not given the usual day: a leak by night beside
// the draw by day would pass for it.
func (b *bag) excess(t time.Time) float64 {
	switch {
	case b.Heat.Readings > 0 && t.Sub(b.Heat.Time) <= staleAfter:
		return b.Heat.Value - neutral
	case b.weather.noThermometer:
		solar := float64(t.Unix()%86400)/3600 + b.weather.place.Longitude/15
		return usualSwing * math.Cos(2*math.Pi*(solar-usualPeak)/24)
	}
	return b.weather.warmth.excess(t)
}
