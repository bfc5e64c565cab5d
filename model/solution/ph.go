package solution

import "math"

// OutdoorCO2 is the carbon dioxide of outdoor air, µatm (about 420 in the 2020s
// [M]); a closed house at noon has less, one with many roots in the solution more.
const OutdoorCO2 = 420.0

// Alkali is the charge of the strong ions, meq/L, that a solution of these
// totals has at a pH.
func (e Equilibrium) Alkali(pH float64, t Totals) float64 {
	h := math.Pow(10, -pH)
	return t.Carbon*charge(h, e.carbon[:]) +
		t.Phosphate*charge(h, e.phosphate[:]) +
		t.Citrate*charge(h, e.citrate[:]) +
		1000*(e.kw/h-h)/e.gamma
}

// charge is the mean number of hydrogen ions that an acid has given away at an
// activity h of them, mol/L.
func charge(h float64, constants []float64) float64 {
	sum, weighted, form := 1.0, 0.0, 1.0
	for i, k := range constants {
		form *= k / h
		sum += form
		weighted += float64(i+1) * form
	}
	return weighted / sum
}

// PH is the pH of a closed solution of these totals whose strong ions leave a
// charge of alkali, meq/L; within 0–14.
func (e Equilibrium) PH(alkali float64, t Totals) float64 {
	return rising(func(pH float64) float64 { return e.Alkali(pH, t) - alkali }, 0, 14)
}

// OpenPH is the pH once carbon dioxide has come to rest with air of co2 µatm;
// the carbon of the totals does not count.
func (e Equilibrium) OpenPH(alkali float64, t Totals, co2 float64) float64 {
	return rising(func(pH float64) float64 {
		t.Carbon = e.OpenCarbon(pH, co2)
		return e.Alkali(pH, t) - alkali
	}, 0, 14)
}

// OpenCarbon is the total carbon, mmol/L, of a solution at rest with air of co2
// µatm at a pH.
func (e Equilibrium) OpenCarbon(pH, co2 float64) float64 {
	h := math.Pow(10, -pH)
	dissolved := e.k0 * co2 * 1e-6 * 1000
	return dissolved * (1 + e.carbon[0]/h*(1+e.carbon[1]/h))
}

// CarbonOf is the total carbon, mmol/L, of a plain water of known pH and
// alkalinity, meq/L. It is 0 where the pH alone accounts for the alkalinity.
func (e Equilibrium) CarbonOf(pH, alkalinity float64) float64 {
	own := e.Alkali(pH, Totals{})
	return max(0, (alkalinity-own)/charge(math.Pow(10, -pH), e.carbon[:]))
}

// Buffer is how much alkali, meq/L, one unit of pH takes around a pH.
func (e Equilibrium) Buffer(pH float64, t Totals) float64 {
	const half = 0.05
	return (e.Alkali(pH+half, t) - e.Alkali(pH-half, t)) / (2 * half)
}

// AcidDemand is the strong acid, meq/L, that takes a plain water of pH from and
// alkalinity, meq/L, to pH to. Closed, its carbon dioxide stays in it, as within
// minutes of stirring; open, it has gone to rest with outdoor air, as after a
// day. Negative: base.
func (e Equilibrium) AcidDemand(from, to, alkalinity float64, open bool) float64 {
	t := Totals{Carbon: e.CarbonOf(from, alkalinity)}
	if open {
		t.Carbon = e.OpenCarbon(to, OutdoorCO2)
	}
	return alkalinity - e.Alkali(to, t)
}

// rising finds the zero of a function that rises from low to high, or the end
// that is nearer to one.
func rising(f func(float64) float64, low, high float64) float64 {
	for range 60 {
		mid := (low + high) / 2
		if f(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}
