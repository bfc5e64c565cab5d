package hydraulics

import "testing"

func benchBag(b *testing.B, hydrostatic bool) *Bag {
	b.Helper()
	st, err := NewStore(Tube{12, 80, .97}, houseMix)
	if err != nil {
		b.Fatal(err)
	}
	su, err := NewSupply(Wick{wedge, 6, 4, 7})
	if err != nil {
		b.Fatal(err)
	}
	bag, err := NewBag(st, su, BagOptions{Feddes: Feddes{200, 8000}, Hydrostatic: hydrostatic})
	if err != nil {
		b.Fatal(err)
	}
	return bag
}

// A school's house mix and its stone wool wedges.
var (
	houseMix = VanGenuchten{ResidualTheta: .088, SaturatedTheta: .729, Alpha: .13, N: 1.534, Ks: 330}
	wedge    = VanGenuchten{ResidualTheta: .01, SaturatedTheta: .95, Alpha: .096, N: 3.6, Ks: 108}
)

func BenchmarkFluxTable(b *testing.B) {
	for b.Loop() {
		if _, err := NewSupply(Wick{wedge, 6, 4, 7}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkStoreTable(b *testing.B) {
	for b.Loop() {
		if _, err := NewStore(Tube{12, 80, .97}, houseMix); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNewBag(b *testing.B) {
	for b.Loop() {
		benchBag(b, false)
	}
}

func BenchmarkStep(b *testing.B) {
	for name, dt := range map[string]float64{"1s": 1. / 3600, "1min": 1. / 60, "10min": 1. / 6, "1h": 1} {
		b.Run(name, func(b *testing.B) {
			bag := benchBag(b, false)
			s, t := bag.Store.Equilibrium(7), 0.0
			for b.Loop() {
				s = bag.Step(s, 60*sunshine(t), 1, dt).Storage
				t += dt
			}
		})
	}
}

func BenchmarkRichardsDay(b *testing.B) {
	col, err := BagColumn(Tube{12, 80, .97}, houseMix, Wick{wedge, 6, 4, 7}, BagColumnOptions{BagCells: 16, WickCells: 16})
	if err != nil {
		b.Fatal(err)
	}
	steps := 0
	for b.Loop() {
		for i := range 144 {
			x, err := col.Advance(1./6, Forcing{Bottom: Boundary{FixedHead, 0}, Demand: 60 * sunshine(float64(i)/6), Contact: 1})
			if err != nil {
				b.Fatal(err)
			}
			steps += x.Steps
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(steps)/32, "ns/cellstep")
	b.ReportMetric(float64(steps)/float64(b.N), "steps/day")
}
