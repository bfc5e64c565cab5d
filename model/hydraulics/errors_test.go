package hydraulics

import (
	"fmt"
	"math"
	"testing"
)

// sunshine is the demand through a day, as a share of the daily mean: none at night, a
// squared sine from 6 to 20 h.
func sunshine(t float64) float64 {
	x := math.Mod(t, 24)
	if x < 6 || x > 20 {
		return 0
	}
	s := math.Sin(math.Pi * (x - 6) / 14)
	return s * s * 24 / 7
}

type errorCase struct {
	medium, wick string
	lift         float64
	count        int
	litres       float64 // per day
}

var demandDays = []float64{1, 0.6, 1.2, 0.3, 1, 0.8}

type errorRow struct {
	errorCase
	uptake, content, wicked, driest float64 // worst daily uptake error; worst error in θ; total wicked error / total demand
	stressed                        float64
}

func errorMaterial(name string) Material {
	switch name {
	case "house mix":
		m, err := Mix([]Part{{"perlite", .5, mustTypical("perlite")}, {"coir", .3, mustTypical("coir")}, {"peat", .2, mustTypical("peat")}}, MixOptions{})
		if err != nil {
			panic(err)
		}
		return m
	case "mix b":
		return VanGenuchten{ResidualTheta: .088, SaturatedTheta: .729, Alpha: .13, N: 1.534, Ks: 330}
	}
	return mustTypical(name)
}

func judge(c errorCase) (errorRow, error) {
	tube := Tube{12, 80, .97}
	m := errorMaterial(c.medium)
	w := Wick{errorMaterial(c.wick), 6, c.count, c.lift}
	stress := Feddes{200, 8000}
	st, err := NewStore(tube, m)
	if err != nil {
		return errorRow{}, err
	}
	su, err := NewSupply(w)
	if err != nil {
		return errorRow{}, err
	}
	b, err := NewBag(st, su, BagOptions{Feddes: stress})
	if err != nil {
		return errorRow{}, err
	}
	col, err := BagColumn(tube, m, w, BagColumnOptions{Stress: stress.Factor})
	if err != nil {
		return errorRow{}, err
	}
	row := errorRow{errorCase: c, driest: 1}
	s := st.Equilibrium(c.lift)
	var ref, quick, total, inRef, inQuick float64
	f := Forcing{Bottom: Boundary{FixedHead, 0}, Contact: 1}
	for day, scale := range demandDays {
		var dayRef, dayQuick, demanded float64
		for i := range 144 {
			f.Demand = c.litres * 1000 / 24 * scale * sunshine((float64(i)+.5)/6)
			x, err := col.Advance(1./6, f)
			if err != nil {
				return row, fmt.Errorf("day %d: %w", day, err)
			}
			dayRef += x.TakenUp
			inRef += x.Bottom
			q := b.Step(s, f.Demand, 1, 1./6)
			s = q.Storage
			dayQuick += q.TakenUp
			inQuick += q.Wicked
			demanded += f.Demand / 6
			theta := st.WaterContent(col.BagStorage())
			row.driest = math.Min(row.driest, theta)
			row.content = math.Max(row.content, math.Abs(st.WaterContent(s)-theta))
		}
		if e := (dayQuick - dayRef) / demanded; math.Abs(e) > math.Abs(row.uptake) {
			row.uptake = e
		}
		ref += dayRef
		quick += dayQuick
		total += demanded
	}
	row.stressed = 1 - ref/total
	row.wicked = math.Abs(inRef-inQuick) / total
	return row, nil
}

func errorCases() []errorCase {
	var out []errorCase
	for _, medium := range []string{"house mix", "mix b", "peat", "coir"} {
		for _, wick := range []string{"stone wool", "polyester felt"} {
			for _, lift := range []float64{5, 10, 15} {
				for _, count := range []int{2, 4} {
					for _, litres := range []float64{0.6, 1.8} {
						out = append(out, errorCase{medium, wick, lift, count, litres})
					}
				}
			}
		}
	}
	return out
}

func TestErrorTable(t *testing.T) {
	for _, c := range errorCases() {
		r, err := judge(c)
		if err != nil {
			t.Error(c, err)
			continue
		}
		fmt.Printf("%-10s %-15s %4g %d %4.1f | uptake %6.2f %%  θ %.4f  wicked %.2f %%  driest %.3f  stressed %.1f %%\n", c.medium, c.wick, c.lift, c.count, c.litres, 100*r.uptake, r.content, 100*r.wicked, r.driest, 100*r.stressed)
	}
}
