package climate

import (
	"math"
	"time"
)

const (
	megajoulesPerHour = 0.0036 // of one W/m²

	// lowSun is the sine of 0.3 rad: below that height Rs/Rso says little about
	// the cloud and the day's mean takes over (FAO-56 p 75 carries the
	// afternoon's ratio into the night).
	lowSun = 0.2955

	// assumedHumidity under cover until a night was seen (common practice:
	// growers keep 60 to 80 %).
	assumedHumidity = 0.7
)

// spell is one step with its sun.
type spell struct {
	hours float64
	ra    float64 // mean of the step, MJ m⁻² h⁻¹
	sine  float64 // of the sun's height at the middle
	lamps float64 // mean of the step, W/m²
}

// step returns the depth in mm over [a, b), which lies within one hour.
func (d *Demand) step(a, b time.Time, m memory) (float64, Rung) {
	middle := a.Add(b.Sub(a) / 2)
	s := spell{hours: b.Sub(a).Hours(), sine: SunElevation(d.options.Place, middle)}
	s.ra = Extraterrestrial(d.options.Place, a, b) / s.hours
	s.lamps = d.options.Lamps.Mean(a, b)

	w := d.At(middle)
	if rate, rung, ok := d.fromWeather(w, s, m, middle); ok {
		return max(0, rate) * s.hours, rung
	}
	typical := d.typicalAt(middle)
	if rate, _, ok := d.fromWeather(typical, s, m, middle); ok && measured(typical.Temperature) {
		return max(0, rate) * s.hours, RecentDays
	}
	rate, rung := d.fromSky(w, s, m, middle)
	return max(0, rate) * s.hours, rung
}

// fromWeather returns mm/h on the highest rung w allows; false when w and the
// memory allow none. What is missing is estimated and put into the one
// equation, as FAO-56 advises, rather than another equation taken.
func (d *Demand) fromWeather(w Weather, s spell, m memory, t time.Time) (float64, Rung, bool) {
	warm, damp, lit := measured(w.Temperature), measured(w.Humidity), measured(w.Radiation)
	if lit && d.options.LampsMeasured {
		s.lamps = 0
	}
	switch {
	case warm && damp && lit:
		return d.penman(w, s, m), Full, true
	case warm && lit:
		w.Humidity = d.assumeHumidity(w.Temperature, m)
		return d.penman(w, s, m), WithoutHumidity, true
	case lit:
		w.Temperature, w.Humidity = d.guessTemperature(t), assumedHumidity
		return d.penman(w, s, m), RadiationOnly, true
	case warm && damp:
		w.Radiation = d.assumeRadiation(s, m)
		return d.penman(w, s, m), WithoutRadiation, true
	case warm && m.known:
		w.Humidity = d.assumeHumidity(w.Temperature, m)
		w.Radiation = d.assumeRadiation(s, m)
		return d.penman(w, s, m), TemperatureOnly, true
	}
	return 0, 0, false
}

// fromSky returns mm/h when nothing recent was measured but, at most, a first
// temperature.
func (d *Demand) fromSky(w Weather, s spell, m memory, t time.Time) (float64, Rung) {
	if d.options.PlantDay.known() {
		return d.options.PlantDay.depth() * d.shareOfDay(s, t), PlantLitres
	}
	if !measured(w.Temperature) {
		w.Temperature = d.options.Temperature
	}
	m.known = false
	w.Humidity, w.Radiation = assumedHumidity, d.assumeRadiation(s, m)
	return d.penman(w, s, m), DateAndLatitude
}

func (d *Demand) penman(w Weather, s spell, m memory) float64 {
	if !measured(w.Wind) {
		w.Wind = d.options.Wind
	}
	vapour := w.Humidity * SaturationVapourPressure(w.Temperature)
	net := d.net(w, vapour, s, m)
	return Hourly(HourTerms{
		Temperature: w.Temperature,
		Wind:        max(WindFloor, w.Wind),
		Vapour:      vapour,
		Net:         net,
		Soil:        SoilFluxHourly(net, s.sine > 0 || net > 0), // by night, lamps
		Pressure:    d.pressure,
	})
}

// shareOfDay returns the part of the day's light that one hour like s holds, with
// half the possible sunshine; an even 1/24 where it is dark.
func (d *Demand) shareOfDay(s spell, t time.Time) float64 {
	p := d.options.Place
	day := d.underAssumedSky(ExtraterrestrialDaily(p.Latitude, p.meanSolar(t).YearDay())) + d.options.Lamps.day()
	if day < 1e-3 {
		return 1.0 / 24
	}
	return (d.underAssumedSky(s.ra) + s.lamps*megajoulesPerHour) / day
}

// underAssumedSky returns the radiation inside the cover with half the possible
// sunshine, in the unit of ra.
func (d *Demand) underAssumedSky(ra float64) float64 {
	return Inside((angstromA+angstromB*0.5)*ra, d.options.Transmission)
}

// net returns Rn in MJ m⁻² h⁻¹ (FAO-56 eq 40) under the cover's shield.
func (d *Demand) net(w Weather, vapour float64, s spell, m memory) float64 {
	rs := w.Radiation * megajoulesPerHour
	clearness := m.clearness
	if clear := ClearSky(d.options.Place.Elevation, s.ra) * d.options.Transmission; s.sine > lowSun && clear > 0 {
		clearness = rs / clear
	}
	loss := (1 - d.options.LongwaveShield) * NetLongwaveHourly(w.Temperature, vapour, clearness)
	return NetShortwave(rs+s.lamps*megajoulesPerHour) - loss
}

func (d *Demand) assumeHumidity(t float64, m memory) float64 {
	if !m.known {
		return assumedHumidity
	}
	dew := SaturationVapourPressure(m.day.Min - d.options.DewDepression)
	return min(1, dew/SaturationVapourPressure(t))
}

// assumeRadiation returns W/m² inside the cover.
func (d *Demand) assumeRadiation(s spell, m memory) float64 {
	if m.known {
		return Inside(d.rangeRadiation(m.day, s.ra), d.options.Transmission) / megajoulesPerHour
	}
	return d.underAssumedSky(s.ra) / megajoulesPerHour
}

func (d *Demand) guessTemperature(t time.Time) float64 {
	typical := d.typicalAt(t).Temperature
	if math.IsNaN(typical) {
		return d.options.Temperature
	}
	return typical
}
