package design

import (
	"math"
	"time"

	"wickd/model/climate"
)

// The weather of a peak day: a clear midsummer day in a vented house. The
// temperatures are common practice for temperate summers; the dew point stays
// a degree under the night's lowest all day (FAO-56 annex 6, humid air).
const (
	peakMax = 30.0 // °C, two hours after noon
	peakMin = 18.0 // °C
	peakDew = 17.0 // °C
)

// assumedLatitude stands in where the site gives no place.
const assumedLatitude = 45.0

// Peak is the reference evapotranspiration of the day that wicks must stand.
type Peak struct {
	Hours [24]float64 // mm in each hour after local solar midnight
	Day   float64     // mm
	Date  time.Time   // the day it was worked out for, solar midnight
}

// MaxHour is the greatest depth in an hour, mm.
func (p Peak) MaxHour() float64 {
	most := 0.0
	for _, h := range p.Hours {
		most = math.Max(most, h)
	}
	return most
}

// PeakDay works out the peak day of a place: clear sky at the summer solstice
// under the cover, by the same Penman–Monteith as everything else. Between the
// tropics the sun stands highest on another day, but a solstice differs from
// it by less than the other assumptions do.
func PeakDay(place *climate.Place, transmission float64) (Peak, error) {
	p := climate.Place{Latitude: assumedLatitude}
	if place != nil {
		p = *place
	}
	month := time.June
	if p.Latitude < 0 {
		month = time.December
	}
	noon := time.Duration(-p.Longitude / 15 * float64(time.Hour))
	out := Peak{Date: time.Date(2001, month, 21, 0, 0, 0, 0, time.UTC).Add(noon)}
	demand, err := climate.New(climate.Options{Place: p, Transmission: transmission})
	if err != nil {
		return Peak{}, err
	}
	const step = 10 * time.Minute
	for at := out.Date.Add(-24 * time.Hour); at.Before(out.Date.Add(24 * time.Hour)); at = at.Add(step) {
		demand.Observe(at.Add(step/2), clearWeather(p, transmission, at, at.Add(step)))
	}
	for h := range out.Hours {
		from := out.Date.Add(time.Duration(h) * time.Hour)
		out.Hours[h], _ = demand.Rate(from, from.Add(time.Hour))
		out.Day += out.Hours[h]
	}
	return out, nil
}

func clearWeather(p climate.Place, transmission float64, from, to time.Time) climate.Weather {
	hours := to.Sub(from).Hours()
	clear := climate.ClearSky(p.Elevation, climate.Extraterrestrial(p, from, to)) / hours // MJ/m²/h
	mid := from.Add(to.Sub(from) / 2).UTC().Add(time.Duration(p.Longitude / 15 * float64(time.Hour)))
	clock := float64(mid.Hour()) + float64(mid.Minute())/60
	t := (peakMax+peakMin)/2 + (peakMax-peakMin)/2*math.Cos(2*math.Pi*(clock-14)/24)
	return climate.Weather{
		Temperature: t,
		Humidity:    climate.SaturationVapourPressure(peakDew) / climate.SaturationVapourPressure(t),
		Radiation:   climate.Inside(clear, transmission) / 0.0036, // W/m²
		Wind:        math.NaN(),
	}
}
