package climate

import "math"

// WindFloor is the least wind in m/s at 2 m: FAO-56 p 63 limits u₂ to 0.5 m/s
// and more, because the boundary layer of still, warm air turns over by
// itself. It is the one remark of FAO-56 that fits a closed greenhouse.
const WindFloor = 0.5

// DayTerms are the terms of the daily equation.
type DayTerms struct {
	Temperature float64 // mean of Tmax and Tmin, °C
	Wind        float64 // u₂, m/s; not floored here
	Saturation  float64 // es, kPa
	Vapour      float64 // ea, kPa
	Net         float64 // Rn, MJ m⁻² d⁻¹
	Soil        float64 // G, MJ m⁻² d⁻¹
	Pressure    float64 // kPa
}

// Daily returns the reference evapotranspiration in mm/d, FAO-56 eq 6. It may
// be negative (dew) and is not floored, as printed.
//
//	ETo = [0.408 Δ (Rn−G) + γ 900/(T+273) u₂ (es−ea)] / [Δ + γ(1+0.34 u₂)]
func Daily(t DayTerms) float64 { return combination(t, 900) }

// HourTerms are the terms of the hourly equation.
type HourTerms struct {
	Temperature float64 // mean of the hour, °C
	Wind        float64 // u₂, m/s; not floored here
	Vapour      float64 // ea, kPa
	Net         float64 // Rn, MJ m⁻² h⁻¹
	Soil        float64 // G, MJ m⁻² h⁻¹
	Pressure    float64 // kPa
}

// Hourly returns the reference evapotranspiration in mm/h, FAO-56 eq 53, not
// floored. Rates of shorter spells are in the same unit.
//
//	ETo = [0.408 Δ (Rn−G) + γ 37/(T+273) u₂ (e⁰(T)−ea)] / [Δ + γ(1+0.34 u₂)]
func Hourly(t HourTerms) float64 {
	return combination(DayTerms{
		Temperature: t.Temperature, Wind: t.Wind,
		Saturation: SaturationVapourPressure(t.Temperature), Vapour: t.Vapour,
		Net: t.Net, Soil: t.Soil, Pressure: t.Pressure,
	}, 37)
}

func combination(t DayTerms, numerator float64) float64 {
	slope, gamma := SaturationSlope(t.Temperature), PsychrometricConstant(t.Pressure)
	radiative := evaporated * slope * (t.Net - t.Soil)
	drying := gamma * numerator / (t.Temperature + 273) * t.Wind * (t.Saturation - t.Vapour)
	return (radiative + drying) / (slope + gamma*(1+0.34*t.Wind))
}

// SoilFluxHourly returns G in MJ m⁻² h⁻¹ from Rn: a tenth by day, half by
// night (eq 45, 46). Over a day take 0; over a month SoilFluxMonthly.
func SoilFluxHourly(net float64, day bool) float64 {
	if day {
		return 0.1 * net
	}
	return 0.5 * net
}

// SoilFluxMonthly returns G in MJ m⁻² d⁻¹ from the mean temperatures in °C of
// this month and the one before (eq 44).
func SoilFluxMonthly(this, before float64) float64 { return 0.14 * (this - before) }

// Hargreaves returns the reference evapotranspiration in mm/d from the day's
// temperatures in °C and Ra in MJ m⁻² d⁻¹ (eq 52). Not below 0.
func Hargreaves(tmean, tmax, tmin, ra float64) float64 {
	return max(0, 0.0023*(tmean+17.8)*math.Sqrt(max(0, tmax-tmin))*ra*evaporated)
}
