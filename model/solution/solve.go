package solution

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// acidified is the water after acid has turned its bicarbonate into the anion of
// the acid.
func (r Recipe) acidified() Composition {
	w := r.Water
	w[r.AcidAnion] += w[Bicarbonate] / math.Abs(r.AcidAnion.facts().charge)
	w[Bicarbonate] = 0
	return w
}

// need gives the target with its nitrate, and what the salts have to bring: the
// target less the acidified water. Sodium and chloride of the water that nobody
// asked for stay in it.
func (r Recipe) need() (target, need Composition, err error) {
	target = r.Target
	target[Bicarbonate] = 0
	if r.BalanceNitrate {
		target[Nitrate] = 0
		target[Nitrate] = target.Cations() - target.Anions()
		if target[Nitrate] < 0 {
			return target, need, fmt.Errorf("recipe: anions exceed cations by %.2f meq/L without any nitrate; lower sulfate, phosphate or chloride", -target[Nitrate])
		}
	}
	water := r.acidified()
	for ion := range Ions {
		if unwanted := (ion == Sodium || ion == Chloride) && target[ion] == 0; unwanted {
			continue
		}
		need[ion] = target[ion] - water[ion]
		if need[ion] < -0.005 {
			return target, need, fmt.Errorf("recipe: the water (with its acid) brings %.2f mmol/L of %s, more than the %.2f wanted; use rain water or water from reverse osmosis, another acid, or raise the target", water[ion], ion, target[ion])
		}
		need[ion] = max(0, need[ion])
	}
	return target, need, r.neutral(&need)
}

// neutral gives rounding of a printed recipe to nitrate, and refuses more.
func (r Recipe) neutral(need *Composition) error {
	off := need.Cations() - need.Anions()
	switch {
	case need.Cations() == 0:
		return errors.New("recipe: nothing is asked for beyond what the water brings")
	case math.Abs(off) > chargeTolerance+1e-9:
		water := ""
		if short := r.Water.Cations() - r.Water.Anions(); math.Abs(short) > chargeTolerance {
			water = fmt.Sprintf("; the water's own do not balance, with %.2f and %.2f, so see whether its report lacks one, such as sodium, chloride or sulfate", r.Water.Cations(), r.Water.Anions())
		}
		return fmt.Errorf("recipe: what salts have to bring has %.2f meq/L of cations and %.2f of anions; no salts give that, so change one (nitrate is usual) by %.2f%s", need.Cations(), need.Anions(), math.Abs(off), water)
	}
	need[Nitrate] = max(0, need[Nitrate]+off)
	return nil
}

// solve finds amounts of salts, mmol/L, that bring need with the least mass, seldom
// ones counting tenfold. The balance of charges ties the ions together, so
// nitrate's own equation is left out. A shortfall of each ion is allowed at a prohibitive cost, which keeps the
// equations independent whatever salts are at hand; what falls short is named.
func solve(salts []Salt, need Composition) ([]float64, error) {
	var usable []int
	for i, s := range salts {
		if fits(s, need) {
			usable = append(usable, i)
		}
	}
	var rows []Ion
	for ion := Ammonium; ion < Bicarbonate; ion++ {
		if need[ion] > 0 {
			rows = append(rows, ion)
		}
	}
	const prohibitive = 1000 // g/mmol
	a := mat.NewDense(len(rows), len(usable)+len(rows), nil)
	cost, b := make([]float64, len(usable)+len(rows)), make([]float64, len(rows))
	for row, ion := range rows {
		for k, i := range usable {
			a.Set(row, k, salts[i].Ions[ion])
			cost[k] = salts[i].MolarMass / 1000
			if salts[i].Seldom {
				cost[k] *= 10
			}
		}
		a.Set(row, len(usable)+row, 1)
		cost[len(usable)+row] = prohibitive
		b[row] = need[ion]
	}
	_, x, err := lp.Simplex(cost, a, b, 1e-10, nil)
	if err != nil {
		return nil, fmt.Errorf("recipe: find the salts: %w", err)
	}
	var short []string
	for row, ion := range rows {
		if lacking := x[len(usable)+row]; lacking > 1e-4 {
			short = append(short, fmt.Sprintf("%.2f mmol/L of %s", lacking, ion))
		}
	}
	if short != nil {
		return nil, fmt.Errorf("recipe: the salts at hand fall short by %s: each salt brings two things, and no mixture of them has this ratio; change the target or use more salts", strings.Join(short, ", "))
	}
	amounts := make([]float64, len(salts))
	for k, i := range usable {
		amounts[i] = max(0, x[k])
	}
	return amounts, nil
}

// fits says that a salt brings only what is wanted.
func fits(s Salt, need Composition) bool {
	for ion, n := range s.Ions {
		if n > 0 && need[ion] <= 0 {
			return false
		}
	}
	return true
}
