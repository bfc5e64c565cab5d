package climate

import "math"

// Coefficients of Ångström's formula, FAO-56 eq 35, for places without a
// calibration of their own.
const (
	angstromA = 0.25 // share of Ra under a closed sky
	angstromB = 0.50 // further share in bright sunshine
)

// RadiationFromSunshine returns Rs from n hours of bright sunshine out of N
// and Ra, in the unit of Ra (eq 35). n/N outside 0..1 is cut; no daylight
// gives 0.
func RadiationFromSunshine(n, daylight, ra float64) float64 {
	if daylight <= 0 {
		return 0
	}
	return (angstromA + angstromB*min(1, max(0, n/daylight))) * ra
}

// ClearSky returns Rso for an elevation in m, in the unit of Ra (eq 37).
func ClearSky(elevation, ra float64) float64 { return (0.75 + 2e-5*elevation) * ra }

// Coefficients kRs of Hargreaves' radiation formula, in °C^-0.5 (eq 50).
const (
	KRsInterior = 0.16
	KRsCoastal  = 0.19
)

// RadiationFromRange returns Rs from the day's range of temperature, in the
// unit of Ra, never above the clear sky (eq 50). It was fitted outdoors over
// whole days.
func RadiationFromRange(kRs, tmax, tmin, elevation, ra float64) float64 {
	return min(ClearSky(elevation, ra), kRs*math.Sqrt(max(0, tmax-tmin))*ra)
}

// Inside returns the radiation under a cover that passes the share
// transmission (0..1) of what is measured outside, in the unit given.
func Inside(outside, transmission float64) float64 { return outside * transmission }

// NetShortwave returns Rns of the reference grass, in the unit of Rs (eq 38).
func NetShortwave(rs float64) float64 { return (1 - albedo) * rs }

// NetLongwaveDaily returns Rnl, the loss to the sky in MJ m⁻² d⁻¹, from the
// day's extreme temperatures in °C, ea in kPa and Rs/Rso (eq 39).
func NetLongwaveDaily(tmax, tmin, ea, clearness float64) float64 {
	black := stefanBoltzmannDay * (math.Pow(tmax+kelvin, 4) + math.Pow(tmin+kelvin, 4)) / 2
	return black * emissivity(ea) * cloudFactor(clearness)
}

// NetLongwaveHourly returns the loss in MJ m⁻² h⁻¹ at a temperature in °C
// (eq 39 with the hourly constant).
func NetLongwaveHourly(t, ea, clearness float64) float64 {
	return stefanBoltzmannHour * math.Pow(t+kelvin, 4) * emissivity(ea) * cloudFactor(clearness)
}

// emissivity turns negative above 5.9 kPa (35.8 °C saturated), past the data it
// was fitted to; the loss is then nil rather than a gain.
func emissivity(ea float64) float64 { return max(0, 0.34-0.14*math.Sqrt(ea)) }

// clearnessFloor is the least Rs/Rso given to cloudFactor: a closed sky still
// passes a quarter of Ra (eq 35 with n = 0), a third of the clear sky, and
// below it the factor would turn the sky into a heater.
const clearnessFloor = 0.33

func cloudFactor(clearness float64) float64 {
	return 1.35*min(1, max(clearnessFloor, clearness)) - 0.35
}
