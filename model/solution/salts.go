package solution

// Salt is a fertilizer salt.
type Salt struct {
	Name    string
	Formula string
	// MolarMass of the formula, g/mol.
	MolarMass float64
	Ions      Composition // mol in 1 mol of the formula
	// Solubility at 20 °C, g in a litre of water (handbooks and makers' sheets
	// [M]; rounded down).
	Solubility float64
	// Seldom says that growers keep it for special waters: it is taken only where
	// the usual salts do not give the target.
	Seldom bool
}

// Salts are those that recipes are made of. Ammonium nitrate is left out: many
// places restrict it, and calcium nitrate of the trade brings enough ammonium.
func Salts() []Salt {
	of := func(parts ...any) Composition {
		var c Composition
		for i := 0; i < len(parts); i += 2 {
			c[parts[i].(Ion)] = parts[i+1].(float64)
		}
		return c
	}
	return []Salt{
		{"calcium nitrate, tetrahydrate", "Ca(NO3)2·4H2O", 236.15, of(Calcium, 1.0, Nitrate, 2.0), 1200, false},
		{"calcium nitrate of the trade", "5Ca(NO3)2·NH4NO3·10H2O", 1080.70, of(Calcium, 5.0, Nitrate, 11.0, Ammonium, 1.0), 1000, false},
		{"potassium nitrate", "KNO3", 101.10, of(Potassium, 1.0, Nitrate, 1.0), 310, false},
		{"monopotassium phosphate", "KH2PO4", 136.09, of(Potassium, 1.0, Phosphate, 1.0), 220, false},
		{"monoammonium phosphate", "NH4H2PO4", 115.03, of(Ammonium, 1.0, Phosphate, 1.0), 365, false},
		{"magnesium sulfate, heptahydrate", "MgSO4·7H2O", 246.47, of(Magnesium, 1.0, Sulfate, 1.0), 700, false},
		{"potassium sulfate", "K2SO4", 174.26, of(Potassium, 2.0, Sulfate, 1.0), 110, false},
		{"magnesium nitrate, hexahydrate", "Mg(NO3)2·6H2O", 256.41, of(Magnesium, 1.0, Nitrate, 2.0), 700, true},
		{"ammonium sulfate", "(NH4)2SO4", 132.14, of(Ammonium, 2.0, Sulfate, 1.0), 740, true},
		{"calcium chloride, dihydrate", "CaCl2·2H2O", 147.01, of(Calcium, 1.0, Chloride, 2.0), 900, true},
		{"potassium chloride", "KCl", 74.55, of(Potassium, 1.0, Chloride, 1.0), 340, true},
		{"sodium chloride", "NaCl", 58.44, of(Sodium, 1.0, Chloride, 1.0), 350, true},
	}
}

// inTankB says that a salt must stay away from calcium in concentrate: gypsum
// and calcium phosphate fall out.
func (s Salt) inTankB() bool { return s.Ions[Sulfate] > 0 || s.Ions[Phosphate] > 0 }

// Micronutrient is one of the elements that a solution needs in traces.
type Micronutrient struct {
	Element string
	Source  string
	Share   float64 // of the element in the source by mass, from the formula
	TankB   bool
}

// Micronutrients and their usual sources. Iron is a chelate of 6 % as DTPA sheets
// state it; it goes with calcium, the sulfates with the sulfates.
func Micronutrients() []Micronutrient {
	return []Micronutrient{
		{"Fe", "iron chelate DTPA, 6 % Fe", 0.06, false},
		{"Mn", "manganese sulfate, monohydrate", 54.938 / 169.02, true},
		{"Zn", "zinc sulfate, heptahydrate", 65.38 / 287.56, true},
		{"B", "boric acid", 10.81 / 61.83, true},
		{"Cu", "copper sulfate, pentahydrate", 63.546 / 249.69, true},
		{"Mo", "sodium molybdate, dihydrate", 95.95 / 241.95, true},
	}
}
