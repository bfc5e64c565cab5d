package solution

import (
	"fmt"
	"math"
)

// Temperatures and ionic strengths for which the constants hold.
const (
	coldest, warmest = 0.0, 50.0 // °C; Plummer & Busenberg fitted 0–90 °C
	strongest        = 0.5       // mol/L, the limit of Davies' equation
)

// Totals are the dissolved weak acids, every form together, mmol/L.
type Totals struct {
	Carbon    float64
	Phosphate float64
	Citrate   float64
}

// Equilibrium turns charge into pH and back at one temperature and ionic
// strength. The zero value is not usable: NewEquilibrium makes one.
type Equilibrium struct {
	k0, kw    float64    // mol/(L·atm); mol²/L²
	carbon    [2]float64 // dissociation constants for the activity of H⁺, mol/L
	phosphate [3]float64
	citrate   [3]float64
	gamma     float64 // activity coefficient of an ion of charge 1
}

// NewEquilibrium gives the constants at a temperature, 0–50 °C, and an ionic
// strength, 0–0.5 mol/L; 0 is an ideal solution. [IonicStrength] estimates it
// from EC.
func NewEquilibrium(celsius, ionicStrength float64) (Equilibrium, error) {
	if !(celsius >= coldest && celsius <= warmest) {
		return Equilibrium{}, fmt.Errorf("chemistry at %g °C: the constants hold for %g to %g °C", celsius, coldest, warmest)
	}
	if !(ionicStrength >= 0 && ionicStrength <= strongest) {
		return Equilibrium{}, fmt.Errorf("chemistry at an ionic strength of %g mol/L: it holds for 0 to %g; is this a concentrate", ionicStrength, strongest)
	}
	g := daviesGamma(celsius, ionicStrength)
	e := Equilibrium{k0: henry(celsius), kw: waterProduct(celsius), gamma: g}
	k1, k2 := carbonic(celsius)
	e.carbon = [2]float64{step(k1, g, 0), step(k2, g, 1)}
	for i := range 3 {
		// Goldberg, Kishore & Lennen 2002 (J. Phys. Chem. Ref. Data 31:231) at
		// 25 °C [M]; between 10 and 30 °C they move by less than 0.05.
		e.phosphate[i] = step(math.Pow(10, -[3]float64{2.148, 7.198, 12.35}[i]), g, i)
		e.citrate[i] = step(math.Pow(10, -[3]float64{3.128, 4.761, 6.396}[i]), g, i)
	}
	return e, nil
}

// step is the constant of HA^z− ⇌ A^(z+1)− + H⁺ in concentrations of the acid and
// the activity of H⁺: K·γ(z)/γ(z+1), with γ(z) = γ₁^z² after Davies.
func step(k, gamma float64, z int) float64 {
	before, after := float64(z*z), float64((z+1)*(z+1))
	return k * math.Pow(gamma, before-after)
}

// carbonic gives K₁ and K₂ of carbonic acid, mol/L. Plummer & Busenberg 1982
// (Geochim. Cosmochim. Acta 46:1011), T in kelvin.
func carbonic(celsius float64) (k1, k2 float64) {
	t := celsius + 273.15
	log1 := -356.3094 - 0.06091964*t + 21834.37/t + 126.8339*math.Log10(t) - 1684915/(t*t)
	log2 := -107.8871 - 0.03252849*t + 5151.79/t + 38.92561*math.Log10(t) - 563713.9/(t*t)
	return math.Pow(10, log1), math.Pow(10, log2)
}

// henry is the solubility of carbon dioxide, mol/(L·atm), from the same paper.
func henry(celsius float64) float64 {
	t := celsius + 273.15
	return math.Pow(10, 108.3865+0.01985076*t-6919.53/t-40.45154*math.Log10(t)+669365/(t*t))
}

// waterProduct is Kw, mol²/L²: pKw = 4470.99/T + 0.017060 T − 6.0875 (Harned &
// Hamer 1933 [M]).
func waterProduct(celsius float64) float64 {
	t := celsius + 273.15
	return math.Pow(10, -(4470.99/t + 0.017060*t - 6.0875))
}

// daviesGamma is the activity coefficient of an ion of charge 1 (Davies 1962):
// −log γ = A(√I/(1+√I) − 0.3I), A = 1.82e6 (εT)^−1.5. The permittivity is that of
// Malmberg & Maryott 1956, in °C [M].
func daviesGamma(celsius, ionicStrength float64) float64 {
	permittivity := 87.740 + celsius*(-0.40008+celsius*(9.398e-4-celsius*1.410e-6))
	a := 1.82e6 * math.Pow(permittivity*(celsius+273.15), -1.5)
	root := math.Sqrt(ionicStrength)
	return math.Pow(10, -a*(root/(1+root)-0.3*ionicStrength))
}

// IonicStrength estimates it from the EC of a solution, mS/cm: 0.013 mol/L for
// each mS/cm (Griffin & Jurinak 1973, Soil Sci. 116:26 [M]).
func IonicStrength(ec float64) float64 { return min(strongest, 0.013*max(0, ec)) }
