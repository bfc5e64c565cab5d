package solution

import (
	"fmt"
	"strings"
)

// Reagent is an acid or a base of known strength that corrects pH.
type Reagent struct {
	Name     string  // "phosphoric acid"
	Share    float64 // of its mass that is the substance, 0–1; 0: known by Molarity only
	Density  float64 // g/mL at 20 °C; 0: a powder, counted in g
	Molarity float64 // mmol in each mL, or in each g of a powder
	Base     bool    // raises pH

	Charge    float64 // alkali that 1 mol brings, eq
	Carbon    float64 // mol in 1 mol, and so on
	Phosphate float64
	Citrate   float64
	// Conducts is the EC that 1 mmol in a litre adds when it neutralises
	// bicarbonate or carbon dioxide, mS/cm, from the ions' molar conductivities.
	Conducts float64
	Feeds    string  // nutrient that it brings; empty: none
	Gives    float64 // mol of the nutrient in 1 mol
}

// Unit is what an amount of the reagent is counted in.
func (r Reagent) Unit() string {
	if r.Density == 0 && r.Share > 0 {
		return "g"
	}
	return "mL"
}

// Label is the reagent with its strength: "nitric acid 38 %".
func (r Reagent) Label() string {
	switch {
	case r.Share == 0:
		return fmt.Sprintf("%s %.3g mol/L", r.Name, r.Molarity)
	case r.Density == 0:
		return r.Name + " (powder)"
	}
	return fmt.Sprintf("%s %.3g %%", r.Name, 100*r.Share)
}

// Normality is the acid or base that 1 mL (1 g) gives when the solution ends at
// pH 5.8 or so, meq: phosphoric acid gives one of its three, citric acid two.
func (r Reagent) Normality() float64 {
	switch {
	case r.Phosphate > 0:
		return r.Molarity
	case r.Citrate > 0:
		return 2 * r.Molarity
	case r.Charge < 0:
		return -r.Charge * r.Molarity
	}
	return r.Charge * r.Molarity
}

// Heats says that it boils and spatters where it meets water: sulfuric acid above
// half strength by mass, 7.1 mol/L.
func (r Reagent) Heats() bool { return !r.Base && r.Charge == -2 && r.Molarity > 7.1 }

// substance is what a reagent is made of.
type substance struct {
	name, short string
	sold        float64 // a usual strength, % by mass; 0: a powder
	molarMass   float64 // g/mol
	density     []strength
	of          Reagent
}

// strength is a row of a table of densities.
type strength struct {
	percent, density float64 // by mass; g/mL at 20 °C
}

// substances lists them. Densities at 20 °C are those of chemical engineers'
// handbooks [M]; they matter in proportion, and are good to 1 %. Conducts comes
// from the table in ions.go.
func substances() []substance {
	return []substance{
		{"nitric acid", "nitric", 38, 63.013,
			[]strength{{1, 1.004}, {10, 1.0543}, {20, 1.115}, {30, 1.180}, {40, 1.2463}, {50, 1.310}, {60, 1.3667}, {70, 1.4134}},
			Reagent{Charge: -1, Conducts: 0.027, Feeds: "N", Gives: 1}},
		{"phosphoric acid", "phosphoric", 85, 97.994,
			[]strength{{1, 1.004}, {10, 1.0532}, {20, 1.1134}, {30, 1.1805}, {50, 1.335}, {75, 1.579}, {85, 1.689}},
			Reagent{Phosphate: 1, Conducts: -0.009, Feeds: "P", Gives: 1}},
		{"sulfuric acid", "sulfuric", 35, 98.078,
			[]strength{{1, 1.005}, {10, 1.0661}, {20, 1.1394}, {35, 1.2599}, {50, 1.3951}, {60, 1.4983}, {70, 1.6105}, {80, 1.7272}, {93, 1.828}, {98, 1.8361}},
			Reagent{Charge: -2, Conducts: 0.071, Feeds: "S", Gives: 1}},
		{"citric acid", "citric", 0, 192.124, nil, // anhydrous
			Reagent{Citrate: 1, Conducts: -0.02}},
		{"potassium hydroxide", "hydroxide", 10, 56.106,
			[]strength{{1, 1.007}, {10, 1.0904}, {20, 1.186}, {30, 1.288}, {40, 1.396}, {50, 1.514}},
			Reagent{Base: true, Charge: 1, Conducts: 0.118, Feeds: "K", Gives: 1}},
		{"potassium bicarbonate", "bicarbonate", 0, 100.115, nil,
			Reagent{Base: true, Charge: 1, Carbon: 1, Conducts: 0.118, Feeds: "K", Gives: 1}},
	}
}

// ReagentNames are the acids and bases that are known, as NewReagent takes them.
func ReagentNames() []string {
	var names []string
	for _, s := range substances() {
		names = append(names, s.name)
	}
	return names
}

// NewReagent gives a named acid or base: a liquid of percent by mass, or a powder
// (citric acid, potassium bicarbonate), of which percent 0 means pure. Names may
// be short: "nitric".
func NewReagent(name string, percent float64) (Reagent, error) {
	s, err := findSubstance(name)
	if err != nil {
		return Reagent{}, err
	}
	r := s.of
	r.Name = s.name
	if s.density == nil {
		if percent == 0 {
			percent = 100
		}
		if !(percent >= 50 && percent <= 100) {
			return Reagent{}, fmt.Errorf("%s is weighed as a powder, so %g %% is not a purity; for a solution of it give mol/L", s.name, percent)
		}
		r.Share, r.Molarity = percent/100, percent/100*1000/s.molarMass
		return r, nil
	}
	if percent == 0 {
		return Reagent{}, fmt.Errorf("%s is sold in many strengths: give the one on its label, for example '%s %g%%' or '%s 1mol/L'", s.name, s.name, s.sold, s.name)
	}
	last := s.density[len(s.density)-1].percent
	if !(percent >= s.density[0].percent && percent <= last) {
		return Reagent{}, fmt.Errorf("%s of %g %%: the strength has to lie in 1 to %g %% by mass, as its label gives it", s.name, percent, last)
	}
	r.Share, r.Density = percent/100, densityAt(s.density, percent)
	r.Molarity = r.Density * r.Share / s.molarMass * 1000
	return r, nil
}

// NewReagentMolar gives a named acid or base as a solution of molarity, mol/L.
func NewReagentMolar(name string, molarity float64) (Reagent, error) {
	s, err := findSubstance(name)
	if err != nil {
		return Reagent{}, err
	}
	if !(molarity >= 0.01 && molarity <= 20) {
		return Reagent{}, fmt.Errorf("%s of %g mol/L: the strength has to lie in 0.01 to 20 mol/L", s.name, molarity)
	}
	r := s.of
	r.Name, r.Molarity = s.name, molarity
	return r, nil
}

func findSubstance(name string) (substance, error) {
	name = strings.ToLower(strings.TrimSpace(name))
	for _, s := range substances() {
		if name == s.name || name == s.short || name == s.short+" acid" || name == "potassium "+s.short {
			return s, nil
		}
	}
	return substance{}, fmt.Errorf("%q is not an acid or base that is known; there are %s", name, strings.Join(ReagentNames(), ", "))
}

func densityAt(table []strength, percent float64) float64 {
	for i := 1; i < len(table); i++ {
		a, b := table[i-1], table[i]
		if percent <= b.percent {
			return a.density + (b.density-a.density)*(percent-a.percent)/(b.percent-a.percent)
		}
	}
	return table[len(table)-1].density
}
