package solution

import (
	"fmt"
	"math"
)

// OxygenSaturation is the dissolved oxygen, mg/L, of water at rest with moist air
// at a temperature, 0–40 °C, and a pressure, kPa (101.325 at sea level). Benson &
// Krause 1984 (Limnol. Oceanogr. 29:620), on which EN 25814's table rests; the
// pressure enters less that of water vapour. Nutrient salts lower it by less
// than 1 %.
func OxygenSaturation(celsius, pressure float64) (float64, error) {
	if !(celsius >= 0 && celsius <= 40) {
		return 0, fmt.Errorf("oxygen saturation at %g °C: it is known for 0 to 40 °C", celsius)
	}
	if !(pressure >= 50 && pressure <= 110) {
		return 0, fmt.Errorf("oxygen saturation at %g kPa: air has 50 to 110 kPa", pressure)
	}
	const sea = 101.325
	t := celsius + 273.15
	at := math.Exp(-139.34411 + 1.575701e5/t - 6.642308e7/(t*t) + 1.243800e10/(t*t*t) - 8.621949e11/(t*t*t*t))
	vapour := 0.6108 * math.Exp(17.27*celsius/(celsius+237.3)) // kPa, FAO-56 eq. 11
	return at * (pressure - vapour) / (sea - vapour), nil
}

// openWater is the crop coefficient of shallow open water (FAO-56, table 12 [P]).
const openWater = 1.05

// Evaporation is the water, L, that a surface, m², loses while the reference
// evapotranspiration at its place is eto, mm; open is the share that no lid or
// bag covers, 0–1. It takes no salt with it.
func Evaporation(surface, eto, open float64) float64 {
	return openWater * math.Max(0, surface) * math.Max(0, eto) * math.Min(1, math.Max(0, open))
}
