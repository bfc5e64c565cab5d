package solution

import (
	"fmt"
	"math"
)

// share puts the salts into the two tanks and says what comes of it.
func (r Recipe) share(salts []Salt, amounts []float64, target Composition) StockTanks {
	const least = 1e-4 // mmol/L: below what a balance shows
	var tanks StockTanks
	var a, b Composition
	for i, s := range salts {
		if amounts[i] < least {
			continue
		}
		w := Weighed{Name: s.Name + " (" + s.Formula + ")", Mmol: amounts[i], Grams: amounts[i] / 1000 * s.MolarMass * r.Dilution * r.Tank}
		if s.inTankB() {
			tanks.B = append(tanks.B, w)
			b = b.Plus(s.Ions, amounts[i])
		} else {
			tanks.A = append(tanks.A, w)
			a = a.Plus(s.Ions, amounts[i])
		}
		if strong := w.Grams / r.Tank; strong > s.Solubility {
			tanks.note("%s: %.0f g/L is more than dissolves at 20 °C (%.0f g/L); use a smaller dilution than 1:%g", s.Name, strong, s.Solubility, r.Dilution)
		}
	}
	tanks.traces(r)
	tanks.precipitates("tank A", a.Times(r.Dilution))
	tanks.precipitates("tank B", b.Times(r.Dilution))
	tanks.Solution = r.acidified().Plus(a, 1).Plus(b, 1)
	tanks.EC, tanks.RoughEC = tanks.Solution.Conductivity(), tanks.Solution.RoughEC()
	tanks.Stocks = stocks(r, a, b)
	if hard := r.Water[Bicarbonate]; hard > 0 {
		tanks.note("the recipe counts on acid that neutralises the water's %.2f mmol/L of bicarbonate and so brings %s: give it to the water before the concentrates", hard, r.AcidAnion)
	}
	for ion := range Ions {
		// Salts that no exact mixture is asked of leave no rest.
		if d := tanks.Solution[ion] - target[ion]; math.Abs(d) > chargeTolerance {
			tanks.note("%s comes to %.2f mmol/L, %.2f wanted: the water brings it", ion, tanks.Solution[ion], target[ion])
		}
	}
	return tanks
}

func (t *StockTanks) note(format string, args ...any) {
	t.Notes = append(t.Notes, fmt.Sprintf(format, args...))
}

func (t *StockTanks) traces(r Recipe) {
	for _, m := range Micronutrients() {
		mg := r.Traces[m.Element]
		if mg <= 0 {
			continue
		}
		w := Weighed{Name: m.Source, Grams: mg / 1000 / m.Share * r.Dilution * r.Tank}
		if m.TankB {
			t.B = append(t.B, w)
		} else {
			t.A = append(t.A, w)
		}
	}
}

// precipitates notes the salts that can crystallise although each that was put
// in dissolves by itself: potassium nitrate and potassium sulfate, by the product
// of their ions at their own solubility.
func (t *StockTanks) precipitates(tank string, c Composition) {
	k, no3, so4 := c[Potassium]/1000, c[Nitrate]/1000, c[Sulfate]/1000
	const nitrate, sulfate = 310 / 101.10, 110 / 174.26 // mol/L, from Salts
	if k*no3 > nitrate*nitrate {
		t.note("%s: potassium nitrate will crystallise; use a smaller dilution", tank)
	}
	if k*k*so4 > 4*sulfate*sulfate*sulfate {
		t.note("%s: potassium sulfate will crystallise; use a smaller dilution", tank)
	}
}

// stocks says what 1 mL of each tank does in a litre near full strength, where
// the ions of both slow each other down: the EC beyond the water's is shared in
// proportion to what each would conduct by itself.
func stocks(r Recipe, a, b Composition) [2]Stock {
	water := r.acidified()
	rise := water.Plus(a, 1).Plus(b, 1).Conductivity() - water.Conductivity()
	alone := [2]float64{a.Conductivity(), b.Conductivity()}
	var s [2]Stock
	for i, c := range []Composition{a, b} {
		s[i] = Stock{Name: string(rune('A' + i)), Phosphate: c[Phosphate] * r.Dilution / 1000}
		if sum := alone[0] + alone[1]; sum > 0 {
			s[i].Strength = rise * alone[i] / sum * r.Dilution / 1000
		}
	}
	return s
}
