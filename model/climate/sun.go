package climate

import (
	"math"
	"time"
)

// solarConstant is Gsc in MJ m⁻² min⁻¹ (FAO-56 eq 21).
const solarConstant = 0.0820

// InverseDistance returns dr, the inverse relative distance from Earth to Sun
// squared, on day of the year J (eq 23).
func InverseDistance(j int) float64 { return 1 + 0.033*math.Cos(2*math.Pi*float64(j)/365) }

// Declination returns the sun's declination δ in rad on day J (eq 24).
func Declination(j int) float64 { return 0.409 * math.Sin(2*math.Pi*float64(j)/365-1.39) }

// SunsetHourAngle returns ωs in rad at a latitude in degrees on day J
// (eq 25): 0 in the polar night, π under the midnight sun.
func SunsetHourAngle(latitude float64, j int) float64 {
	c := -math.Tan(radians(latitude)) * math.Tan(Declination(j))
	return math.Acos(min(1, max(-1, c)))
}

// DaylightHours returns N in hours (eq 34).
func DaylightHours(latitude float64, j int) float64 {
	return 24 / math.Pi * SunsetHourAngle(latitude, j)
}

// EquationOfTime returns Sc in hours, apparent less mean solar time
// (eq 32, 33).
func EquationOfTime(j int) float64 {
	b := 2 * math.Pi * float64(j-81) / 364
	return 0.1645*math.Sin(2*b) - 0.1255*math.Cos(b) - 0.025*math.Sin(b)
}

// ExtraterrestrialDaily returns Ra in MJ m⁻² d⁻¹ at a latitude in degrees on
// day J (eq 21).
func ExtraterrestrialDaily(latitude float64, j int) float64 {
	ws := SunsetHourAngle(latitude, j)
	return skyOf(latitude, j).between(-ws, ws)
}

// Extraterrestrial returns the radiation in MJ/m² that falls on a horizontal
// plane above the atmosphere over [t0, t1): eq 28 between the two hour angles,
// cut at sunrise and sunset, summed over the days touched. Solar time comes
// straight from UTC, the longitude and the equation of time, so no time zone
// takes part; FAO-56 example 19 is reproduced. Zero when t1 is not after t0.
func Extraterrestrial(p Place, t0, t1 time.Time) float64 {
	sum := 0.0
	for a := t0; a.Before(t1); {
		b := p.nextSolarDay(a)
		if b.After(t1) {
			b = t1
		}
		sum += p.extraterrestrialWithin(a, b)
		a = b
	}
	return sum
}

// SunElevation returns the sine of the sun's height above the horizon at t:
// negative at night.
func SunElevation(p Place, t time.Time) float64 {
	day := p.meanSolar(t)
	s := skyOf(p.Latitude, day.YearDay())
	return s.vertical + s.horizontal*math.Cos(hourAngle(day, EquationOfTime(day.YearDay())))
}

// sky is the geometry of one day at one latitude: the sine of the sun's height
// is vertical + horizontal·cos ω.
type sky struct {
	vertical, horizontal, distance float64
}

func skyOf(latitude float64, j int) sky {
	phi, delta := radians(latitude), Declination(j)
	return sky{
		vertical:   math.Sin(phi) * math.Sin(delta),
		horizontal: math.Cos(phi) * math.Cos(delta),
		distance:   InverseDistance(j),
	}
}

// between integrates eq 28 over hour angles in rad, all by day: MJ/m².
func (s sky) between(w1, w2 float64) float64 {
	return 12 * 60 / math.Pi * solarConstant * s.distance *
		((w2-w1)*s.vertical + s.horizontal*(math.Sin(w2)-math.Sin(w1)))
}

// extraterrestrialWithin needs a and b on one mean solar day. The equation of
// time can push an hour angle past ±π, so yesterday's and tomorrow's daylight
// are looked at too.
func (p Place) extraterrestrialWithin(a, b time.Time) float64 {
	day := p.meanSolar(a)
	j := day.YearDay()
	w1 := hourAngle(day, EquationOfTime(j))
	w2 := w1 + b.Sub(a).Hours()*math.Pi/12
	s, ws := skyOf(p.Latitude, j), SunsetHourAngle(p.Latitude, j)
	sum := 0.0
	for turn := -1.0; turn <= 1; turn++ {
		noon := turn * 2 * math.Pi
		from, to := max(w1, noon-ws), min(w2, noon+ws)
		if from < to {
			sum += max(0, s.between(from, to))
		}
	}
	return sum
}

// nextSolarDay returns the mean solar midnight after t, in UTC.
func (p Place) nextSolarDay(t time.Time) time.Time {
	day := p.meanSolar(t)
	midnight := time.Date(day.Year(), day.Month(), day.Day()+1, 0, 0, 0, 0, time.UTC)
	return t.Add(midnight.Sub(day))
}

// hourAngle returns ω in rad, 0 at noon, of a mean solar time (eq 31 with the
// zone's terms gone).
func hourAngle(solar time.Time, equation float64) float64 {
	h := float64(solar.Hour()) + float64(solar.Minute())/60 +
		(float64(solar.Second())+float64(solar.Nanosecond())/1e9)/3600
	return math.Pi / 12 * (h + equation - 12)
}

func radians(degrees float64) float64 { return degrees * math.Pi / 180 }
