package solution

import (
	"fmt"
	"strings"
)

// Recipe asks for two stock tanks of a nutrient solution.
type Recipe struct {
	Target Composition // of the finished solution, mmol/L
	// BalanceNitrate says that nitrate is whatever balances the charges; its
	// target is not read.
	BalanceNitrate bool
	Water          Composition // what the water brings, mmol/L
	// AcidAnion is the anion of the acid that neutralises the water's bicarbonate:
	// Nitrate (the zero value), Phosphate or Sulfate. It counts as brought.
	AcidAnion Ion
	Traces    map[string]float64 // micronutrients, mg/L of the element
	Dilution  float64            // litres of solution that a litre of each stock makes, 20–400
	Tank      float64            // volume of each stock tank, L
	Use       []string           // names of Salts to choose from; empty: all
}

// StockTanks is what a recipe comes to.
type StockTanks struct {
	A, B []Weighed
	// Solution is the composition of the finished solution, water and all.
	Solution Composition
	Stocks   [2]Stock // what 1 mL of A and of B does in a litre, at full strength
	EC       float64  // of the finished solution at 25 °C, mS/cm
	RoughEC  float64
	Notes    []string
}

// Weighed is a salt with its amount.
type Weighed struct {
	Name  string
	Grams float64 // in the stock tank
	Mmol  float64 // in a litre of finished solution; 0: a micronutrient
}

// chargeTolerance is what cations and anions of a target may differ by, meq/L:
// rounding of a printed recipe.
const chargeTolerance = 0.1

// Weigh finds the least mass of usual salts that gives the target exactly, and shares
// them out so that calcium never meets sulfate or phosphate in concentrate. It
// refuses a target that cannot be met, with the reason.
func (r Recipe) Weigh() (StockTanks, error) {
	if err := r.check(); err != nil {
		return StockTanks{}, err
	}
	target, need, err := r.need()
	if err != nil {
		return StockTanks{}, err
	}
	salts, err := r.choice()
	if err != nil {
		return StockTanks{}, err
	}
	amounts, err := solve(salts, need)
	if err != nil {
		return StockTanks{}, err
	}
	return r.share(salts, amounts, target), nil
}

func (r Recipe) check() error {
	switch {
	case !(r.Dilution >= 20 && r.Dilution <= 400):
		return fmt.Errorf("recipe: a dilution of 1:%g is outside 1:20 to 1:400; 1:100 is usual", r.Dilution)
	case r.AcidAnion != Nitrate && r.AcidAnion != Phosphate && r.AcidAnion != Sulfate:
		return fmt.Errorf("recipe: no acid brings %s; use nitric, phosphoric or sulfuric acid", r.AcidAnion)
	case !(r.Tank > 0 && r.Tank <= 5000):
		return fmt.Errorf("recipe: stock tanks of %g L; give their volume, for example 10 L", r.Tank)
	}
	for i := range r.Target {
		for _, x := range []float64{r.Target[i], r.Water[i]} {
			if !(x >= 0 && x <= 50) {
				return fmt.Errorf("recipe: %s of %g mmol/L is outside 0 to 50; is it in mg/L", Ion(i), x)
			}
		}
	}
	for element, mg := range r.Traces {
		if !known(element) {
			return fmt.Errorf("recipe: %q is not a micronutrient; there are Fe, Mn, Zn, B, Cu, Mo", element)
		}
		if !(mg >= 0 && mg <= 10) {
			return fmt.Errorf("recipe: %g mg/L of %s is poison; the unit is mg/L of the element", mg, element)
		}
	}
	return nil
}

func known(element string) bool {
	for _, m := range Micronutrients() {
		if m.Element == element {
			return true
		}
	}
	return false
}

func (r Recipe) choice() ([]Salt, error) {
	if len(r.Use) == 0 {
		return Salts(), nil
	}
	var chosen []Salt
	for _, name := range r.Use {
		found := false
		for _, s := range Salts() {
			if strings.EqualFold(name, s.Name) || strings.EqualFold(name, s.Formula) {
				chosen, found = append(chosen, s), true
			}
		}
		if !found {
			return nil, fmt.Errorf("recipe: %q is not a salt that is known", name)
		}
	}
	return chosen, nil
}
