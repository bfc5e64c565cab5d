package probe

import "fmt"

// UnitPermittivity is the unit of a moisture sensor that sends the relative
// permittivity of the medium; Topp turns it into water content.
const UnitPermittivity = "permittivity"

// Topp is the volumetric water content (0–1) of a mineral soil with relative
// permittivity k: θ = −0.053 + 0.0292k − 5.5e-4k² + 4.3e-6k³ (Topp, Davis and
// Annan 1980, Water Resources Research 16:574, eq. 7), here for k from 1 (air)
// to 82 (water); outside it is an error.
//
// The equation was fitted to mineral soils. Organic media hold more water at
// the same permittivity, so a measured calibration comes first.
func Topp(k float64) (float64, error) {
	if !(k >= 1 && k <= 82) {
		return 0, fmt.Errorf("convert permittivity: %g is outside 1–82", k)
	}
	return -0.053 + k*(0.0292+k*(-5.5e-4+k*4.3e-6)), nil
}
