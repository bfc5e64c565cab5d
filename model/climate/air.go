package climate

import "math"

// Physical constants as FAO-56 gives them.
const (
	stefanBoltzmannDay  = 4.903e-9  // MJ K⁻⁴ m⁻² d⁻¹, eq 39
	stefanBoltzmannHour = 2.043e-10 // MJ K⁻⁴ m⁻² h⁻¹, p 75
	kelvin              = 273.16    // offset of eq 39, K
	albedo              = 0.23      // reference grass, eq 38
	evaporated          = 0.408     // mm of water per MJ/m², 1/λ with λ 2.45 MJ/kg, eq 20
)

// Pressure returns the mean air pressure in kPa at an elevation in m
// (FAO-56 eq 7; 1800 m gives 81.76 kPa).
func Pressure(elevation float64) float64 {
	return 101.3 * math.Pow((293-0.0065*elevation)/293, 5.26)
}

// PsychrometricConstant returns γ in kPa/°C for an air pressure in kPa
// (eq 8).
func PsychrometricConstant(pressure float64) float64 { return 0.665e-3 * pressure }

// SaturationVapourPressure returns e⁰(T) in kPa for T in °C (eq 11, Tetens'
// form over water; 20 °C gives 2.338 kPa). Fitted from about -40 to 50 °C.
func SaturationVapourPressure(t float64) float64 {
	return 0.6108 * math.Exp(17.27*t/(t+237.3))
}

// SaturationSlope returns Δ = de⁰/dT in kPa/°C at T in °C (eq 13).
func SaturationSlope(t float64) float64 {
	return 4098 * SaturationVapourPressure(t) / ((t + 237.3) * (t + 237.3))
}

// DewPoint returns the temperature in °C at which air of vapour pressure ea
// (kPa, above 0) is saturated: eq 11 solved for T.
func DewPoint(ea float64) float64 {
	l := math.Log(ea / 0.6108)
	return 237.3 * l / (17.27 - l)
}

// MeanSaturation returns es in kPa of a day with the given extreme
// temperatures in °C (eq 12). The mean of the two ends, not e⁰ of the mean
// temperature, because e⁰ is convex.
func MeanSaturation(tmax, tmin float64) float64 {
	return (SaturationVapourPressure(tmax) + SaturationVapourPressure(tmin)) / 2
}

// VapourPressureFromHumidity returns ea in kPa of a day from its extreme
// temperatures in °C and extreme relative humidities 0..1 (eq 17).
func VapourPressureFromHumidity(tmax, tmin, rhmax, rhmin float64) float64 {
	return (SaturationVapourPressure(tmin)*rhmax + SaturationVapourPressure(tmax)*rhmin) / 2
}

// VapourPressureFromMeanHumidity returns ea in kPa when only the day's mean
// relative humidity 0..1 is known (eq 19).
func VapourPressureFromMeanHumidity(tmax, tmin, rhmean float64) float64 {
	return rhmean * MeanSaturation(tmax, tmin)
}

// VapourPressureFromWetBulb returns ea in kPa from a psychrometer's dry and
// wet bulb in °C and the air pressure in kPa (eq 15 and 16). ventilation is
// apsy: 0.000662 for an aspirated instrument, 0.0008 naturally ventilated,
// 0.0012 indoors.
func VapourPressureFromWetBulb(dry, wet, pressure, ventilation float64) float64 {
	return SaturationVapourPressure(wet) - ventilation*pressure*(dry-wet)
}

// WindAt2m converts a wind speed measured at a height in m above short grass
// to the speed at 2 m (eq 47). The logarithm needs a height well above the
// grass; below 0.5 m the result is NaN.
func WindAt2m(speed, height float64) float64 {
	if height < 0.5 {
		return math.NaN()
	}
	return speed * 4.87 / math.Log(67.8*height-5.42)
}
