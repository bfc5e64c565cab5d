package design

import (
	"math"
	"slices"
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
	Lit   float64     // of Day, by lamps, mm
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

// Soonest is the least time, d, in which so many days' worth is asked for on peak days:
// less than a day's worth is soonest through at noon.
func (p Peak) Soonest(worth float64) float64 {
	asked := make([]float64, 2*len(p.Hours)) // in each hour of two days
	day := 0.0
	for h := range asked {
		asked[h] = math.Max(0, p.Hours[h%len(p.Hours)])
		day += asked[h] / 2
	}
	if !(day > 0) {
		return math.Inf(1)
	}
	whole, part := math.Modf(worth)
	forth := soonest(asked, part*day)
	slices.Reverse(asked)
	return whole + math.Min(forth, soonest(asked, part*day))/float64(len(p.Hours))
}

// soonest is the fewest hours from the beginning of one of the first half on in which so
// much is asked for: the shortest span of all begins or ends with an hour.
func soonest(asked []float64, much float64) float64 {
	fewest := float64(len(asked) / 2)
	for from := range len(asked) / 2 {
		left := much
		for h, here := range asked[from:] {
			if here > 0 && here >= left {
				fewest = math.Min(fewest, float64(h)+left/here)
				break
			}
			left -= here
		}
	}
	return fewest
}

// PeakDay works out the peak day of a place: clear sky at the summer solstice
// under the cover, by the same Penman–Monteith as everything else. Between the
// tropics the sun stands highest on another day, but a solstice differs from
// it by less than the other assumptions do. A nil place is on the 45th parallel.
// Lamps are lit at their hours on such a day too.
func PeakDay(place *climate.Place, transmission float64, lamps climate.Lamps) (Peak, error) {
	month := time.June
	if placeOr45(place).Latitude < 0 {
		month = time.December
	}
	o := climate.Options{Place: placeOr45(place), Transmission: transmission, Lamps: lampsAt(place, lamps)}
	return clearDay(o, time.Date(solarYear, month, 21, 0, 0, 0, 0, time.UTC), summerAir())
}

// Peak is the peak day of the site.
func (s *Site) Peak() (Peak, error) {
	return PeakDay(s.Place, s.Site.CoverTransmission, s.Lamps)
}

// solarYear is any year that is not a leap year.
const solarYear = 2001

// ClearDay works out a clear day in the middle of a month. The air is between
// that of winter and that of summer as the sun's daily radiation is between
// nothing and its greatest at the place. Lamps are lit at their hours.
func ClearDay(place *climate.Place, transmission float64, lamps climate.Lamps, month time.Month) (Peak, error) {
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
	return clearDay(climate.Options{Place: p, Transmission: transmission, Lamps: lampsAt(place, lamps)}, date, air)
}

func placeOr45(place *climate.Place) climate.Place {
	if place == nil {
		return climate.Place{Latitude: AssumedLatitude}
	}
	return *place
}

// lampsAt has lamps follow the sun where nobody knows how far clocks are from it.
func lampsAt(place *climate.Place, l climate.Lamps) climate.Lamps {
	if place == nil {
		l.Zone = nil
	}
	return l
}

// clearDay has the lamps of o give the plants all that is net of them. A clear night
// takes as much from leaves as weak lamps give, a closed sky or a screen does not, and
// wicks must stand the one as the other.
func clearDay(o climate.Options, date time.Time, air Air) (Peak, error) {
	noon := time.Duration(-o.Place.Longitude / 15 * float64(time.Hour))
	out := Peak{Date: date.Add(noon), Air: air}
	unlit, screened, lit := o, o, o
	unlit.Lamps, screened.Lamps = climate.Lamps{}, climate.Lamps{}
	screened.LongwaveShield, lit.LongwaveShield = 1, 1
	var hours [3][24]float64
	for i, o := range []climate.Options{unlit, screened, lit} {
		var err error
		if hours[i], err = clearHours(o, out.Date, air); err != nil {
			return Peak{}, err
		}
	}
	for h, mm := range hours[0] {
		by := hours[2][h] - hours[1][h]
		out.Hours[h] = mm + by
		out.Day += out.Hours[h]
		out.Lit += by
	}
	return out, nil
}

// clearHours is the depth in each hour of a clear day that begins at a time, mm.
func clearHours(o climate.Options, begins time.Time, air Air) (hours [24]float64, err error) {
	demand, err := climate.New(o)
	if err != nil {
		return hours, err
	}
	const step = 10 * time.Minute
	for at := begins.Add(-24 * time.Hour); at.Before(begins.Add(24 * time.Hour)); at = at.Add(step) {
		demand.Observe(at.Add(step/2), clearWeather(o.Place, o.Transmission, air, at, at.Add(step)))
	}
	for h := range hours {
		from := begins.Add(time.Duration(h) * time.Hour)
		hours[h], _ = demand.Rate(from, from.Add(time.Hour))
	}
	return hours, nil
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
