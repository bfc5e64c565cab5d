package solution

import "math"

// RoughEC is the trade's rule: EC in mS/cm ≈ the sum of cations in meq/L
// divided by 10 (±10 % between 0.5 and 3 mS/cm).
func (c Composition) RoughEC() float64 { return c.Cations() / 10 }

// Constants of water at 25 °C for Onsager's equation: permittivity 78.36 and
// viscosity 8.903 mPoise.
const (
	kelvin25      = 298.15
	permittivity  = 78.36
	viscosity     = 0.008903 // poise
	ionDiameter   = 3.7      // Å, fitted to KCl 0.001–0.1 mol/L; Robinson & Stokes use 3–5
	kappaPerSqrtI = 0.3291   // 1/(Å·√(mol/L)), Debye's length at 25 °C
)

// Conductivity is the EC at 25 °C, mS/cm: the molar conductivities of the ions,
// slowed as Onsager (1927) has it for one salt and with the finite size of ions
// (Robinson & Stokes 1955, Electrolyte Solutions, ch. 7):
//
//	λ = λ⁰ − [2.801e6 |z z̄| q/((εT)^1.5 (1+√q)) λ⁰ + 41.25|z|/(η√(εT))] √I/(1+κa)
//
// where for each ion z̄ and the mobility in q are the means of the ions of
// opposite charge. What is paired as CaSO₄⁰ and MgSO₄⁰ does not conduct. Single
// salts up to 0.05 eq/L come out within 3.5 %, magnesium sulfate within 6 %.
func (c Composition) Conductivity() float64 {
	free, ionic := c.unpaired()
	cations, anions := free.side(1), free.side(-1)
	root := math.Sqrt(ionic)
	slowing := root / (1 + kappaPerSqrtI*ionDiameter*root)
	ec := 0.0
	for i, mmol := range free {
		f := Ion(i).facts()
		other := anions
		if f.charge < 0 {
			other = cations
		}
		if mmol <= 0 || other.charge == 0 {
			continue
		}
		z := math.Abs(f.charge)
		// λ·c is in mS/cm when λ is in S·cm²/eq and c in eq/L.
		ec += max(0, f.conducts-onsager(z, f.conducts, other)*slowing) * z * mmol / 1000
	}
	return ec
}

// opposite is the mean of the ions of one sign, weighted by equivalents.
type opposite struct{ charge, conducts float64 }

func (c Composition) side(sign float64) opposite {
	var sum, charge, conducts float64
	for i, mmol := range c {
		f := Ion(i).facts()
		if z := f.charge * sign; z > 0 {
			sum += z * mmol
			charge += z * mmol * z
			conducts += z * mmol * f.conducts
		}
	}
	if sum == 0 {
		return opposite{}
	}
	return opposite{charge / sum, conducts / sum}
}

// onsager is the bracket of the equation, S·cm²/eq for each √(mol/L).
func onsager(z, conducts float64, o opposite) float64 {
	const et = permittivity * kelvin25
	q := z * o.charge / (z + o.charge) * (conducts + o.conducts) / (o.charge*conducts + z*o.conducts)
	relaxation := 2.801e6 * z * o.charge * q / (et * math.Sqrt(et) * (1 + math.Sqrt(q))) * conducts
	electrophoresis := 41.25 * z / (viscosity * math.Sqrt(et))
	return relaxation + electrophoresis
}

// Stability of the pairs at 25 °C, L/mol: log K 2.30 for CaSO₄⁰, 2.37 for MgSO₄⁰
// (geochemical tables [M]).
const (
	calciumSulfate   = 199.526
	magnesiumSulfate = 234.423
)

// unpaired is the composition without ion pairs, and its ionic strength, mol/L.
func (c Composition) unpaired() (free Composition, ionic float64) {
	free = c
	for range 40 {
		ionic = free.ionicStrength()
		gamma := math.Pow(daviesGamma(25, min(ionic, strongest)), 8) // two ions of charge 2
		sulfate := free[Sulfate] / 1000
		kCa, kMg := calciumSulfate*gamma*sulfate, magnesiumSulfate*gamma*sulfate
		free[Calcium], free[Magnesium] = c[Calcium]/(1+kCa), c[Magnesium]/(1+kMg)
		paired := free[Calcium]*kCa + free[Magnesium]*kMg
		// Half-way, as the full step overshoots in strong solutions.
		free[Sulfate] = (free[Sulfate] + c[Sulfate]*free[Sulfate]/max(free[Sulfate]+paired, 1e-300)) / 2
	}
	return free, ionic
}

func (c Composition) ionicStrength() float64 {
	sum := 0.0
	for i, mmol := range c {
		z := Ion(i).facts().charge
		sum += z * z * mmol
	}
	return sum / 2000
}
