package design

import (
	"math"
	"time"

	"wickd/model/climate"
)

// Air is the temperature of a clear day in a vented house, °C. The dew point is
// taken a degree under the night's lowest all day (FAO-56 annex 6, humid air).
type Air struct {
	Highest, Lowest float64 // two hours after noon, two hours after midnight
}

// summerAir and winterAir are the air of a clear day where the sun is at its
// strongest and where there is none, in a house vented in summer and kept from frost in winter (common
// practice for temperate places).
func summerAir() Air { return Air{Highest: 30, Lowest: 18} }
func winterAir() Air { return Air{Highest: 16, Lowest: 8} }

// AssumedLatitude stands in where the site gives no place.
const AssumedLatitude = 45.0

// Peak is the reference evapotranspiration of a clear day that wicks must stand.
type Peak struct {
	Hours [24]float64 // mm in each hour after local solar midnight
	Day   float64     // mm
	Date  time.Time   // the day it was worked out for, solar midnight
	Air   Air         // that was assumed
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
// it by less than the other assumptions do. A nil place is on the 45th parallel.
func PeakDay(place *climate.Place, transmission float64) (Peak, error) {
	month := time.June
	if placeOr45(place).Latitude < 0 {
		month = time.December
	}
	return clearDay(placeOr45(place), transmission, time.Date(solarYear, month, 21, 0, 0, 0, 0, time.UTC), summerAir())
}

// solarYear is any year that is not a leap year.
const solarYear = 2001

// ClearDay works out a clear day in the middle of a month. The air is between
// that of winter and that of summer as the sun's daily radiation is between
// nothing and its greatest at the place.
func ClearDay(place *climate.Place, transmission float64, month time.Month) (Peak, error) {
	p := placeOr45(place)
	date := time.Date(solarYear, month, 15, 0, 0, 0, 0, time.UTC)
	most := 0.0
	for j := 1; j <= 365; j++ {
		most = math.Max(most, climate.ExtraterrestrialDaily(p.Latitude, j))
	}
	share := climate.ExtraterrestrialDaily(p.Latitude, date.YearDay()) / most
	winter, summer := winterAir(), summerAir()
	air := Air{
		Highest: winter.Highest + share*(summer.Highest-winter.Highest),
		Lowest:  winter.Lowest + share*(summer.Lowest-winter.Lowest),
	}
	return clearDay(p, transmission, date, air)
}

func placeOr45(place *climate.Place) climate.Place {
	if place == nil {
		return climate.Place{Latitude: AssumedLatitude}
	}
	return *place
}

func clearDay(p climate.Place, transmission float64, date time.Time, air Air) (Peak, error) {
	noon := time.Duration(-p.Longitude / 15 * float64(time.Hour))
	out := Peak{Date: date.Add(noon), Air: air}
	demand, err := climate.New(climate.Options{Place: p, Transmission: transmission})
	if err != nil {
		return Peak{}, err
	}
	const step = 10 * time.Minute
	for at := out.Date.Add(-24 * time.Hour); at.Before(out.Date.Add(24 * time.Hour)); at = at.Add(step) {
		demand.Observe(at.Add(step/2), clearWeather(p, transmission, air, at, at.Add(step)))
	}
	for h := range out.Hours {
		from := out.Date.Add(time.Duration(h) * time.Hour)
		out.Hours[h], _ = demand.Rate(from, from.Add(time.Hour))
		out.Day += out.Hours[h]
	}
	return out, nil
}

func clearWeather(p climate.Place, transmission float64, air Air, from, to time.Time) climate.Weather {
	hours := to.Sub(from).Hours()
	clear := climate.ClearSky(p.Elevation, climate.Extraterrestrial(p, from, to)) / hours // MJ/m²/h
	mid := from.Add(to.Sub(from) / 2).UTC().Add(time.Duration(p.Longitude / 15 * float64(time.Hour)))
	clock := float64(mid.Hour()) + float64(mid.Minute())/60
	t := (air.Highest+air.Lowest)/2 + (air.Highest-air.Lowest)/2*math.Cos(2*math.Pi*(clock-14)/24)
	return climate.Weather{
		Temperature: t,
		Humidity:    climate.SaturationVapourPressure(air.Lowest-1) / climate.SaturationVapourPressure(t),
		Radiation:   climate.Inside(clear, transmission) / 0.0036, // W/m²
		Wind:        math.NaN(),
	}
}
