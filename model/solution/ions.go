package solution

// Ion is one of the ions that a nutrient solution is made of.
type Ion int

// The ions, in the order of a Composition.
const (
	Nitrate Ion = iota
	Ammonium
	Phosphate // as H₂PO₄⁻, its form at the pH of nutrient solutions
	Potassium
	Calcium
	Magnesium
	Sulfate
	Chloride
	Sodium
	Bicarbonate
	Ions // how many there are
)

// Composition is the concentration of each ion, mmol/L.
type Composition [Ions]float64

// ionFacts are what is known of an ion.
type ionFacts struct {
	name    string
	element string  // that analyses are given in
	mass    float64 // of that element, g/mol
	charge  float64
	// conducts is the limiting molar conductivity of one equivalent at 25 °C,
	// S·cm²/eq, from the CRC Handbook's table of ions [M].
	conducts float64
}

// facts of an ion. Atomic masses are IUPAC's, abridged.
func (i Ion) facts() ionFacts {
	return [Ions]ionFacts{
		Nitrate:     {"nitrate", "N", 14.007, -1, 71.42},
		Ammonium:    {"ammonium", "N", 14.007, 1, 73.5},
		Phosphate:   {"phosphate", "P", 30.974, -1, 36},
		Potassium:   {"potassium", "K", 39.098, 1, 73.48},
		Calcium:     {"calcium", "Ca", 40.078, 2, 59.47},
		Magnesium:   {"magnesium", "Mg", 24.305, 2, 53.0},
		Sulfate:     {"sulfate", "S", 32.06, -2, 80.0},
		Chloride:    {"chloride", "Cl", 35.45, -1, 76.31},
		Sodium:      {"sodium", "Na", 22.990, 1, 50.08},
		Bicarbonate: {"bicarbonate", "C", 12.011, -1, 44.5},
	}[i]
}

// String is the ion's name: "nitrate".
func (i Ion) String() string { return i.facts().name }

// Element is the symbol of the element that analyses give it in: "N".
func (i Ion) Element() string { return i.facts().element }

// MgPerL turns mmol/L of the ion into mg/L of its element.
func (i Ion) MgPerL(mmol float64) float64 { return mmol * i.facts().mass }

// Cations and Anions are the sums of charge, meq/L; in a real solution they are
// equal.
func (c Composition) Cations() float64 { return c.charge(1) }

// Anions is the sum of the negative charge, meq/L.
func (c Composition) Anions() float64 { return c.charge(-1) }

func (c Composition) charge(sign float64) float64 {
	sum := 0.0
	for i, mmol := range c {
		if z := Ion(i).facts().charge; z*sign > 0 {
			sum += mmol * z * sign
		}
	}
	return sum
}

// Plus adds x times another composition.
func (c Composition) Plus(o Composition, x float64) Composition {
	for i := range c {
		c[i] += x * o[i]
	}
	return c
}

// Times is the composition diluted or strengthened x times.
func (c Composition) Times(x float64) Composition { return Composition{}.Plus(c, x) }
