package hydraulics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func bagOf(t require.TestingT, tube Tube, m Material, w Wick, o BagOptions) *Bag {
	supply, err := NewSupply(w)
	require.NoError(t, err)
	b, err := NewBag(storeOf(t, tube, m), supply, o)
	require.NoError(t, err)
	return b
}

func annexe(t require.TestingT, o BagOptions) *Bag {
	return bagOf(t, Tube{12, 80, .97}, houseMix, Wick{wedge, 6, 4, 7}, o)
}

// conserved is the promise: water to 1e-9 of what the bag holds.
const conserved = 1e-9

func requireConserved(t require.TestingT, before float64, s Step) {
	require.InDelta(t, before+s.Clipped+s.Wicked-s.TakenUp, s.Storage, conserved*math.Abs(before)+1e-9)
}

// Water is conserved and storage stays within its bounds at any step from a
// second to a day, whatever the health and the demand.
func TestStepConservesWater(t *testing.T) {
	bags := []*Bag{annexe(t, BagOptions{}), annexe(t, BagOptions{Hydrostatic: true}), annexe(t, BagOptions{Feddes: Feddes{200, 8000}})}
	literal := &Bag{Store: bags[0].Store, Supply: bags[0].Supply}
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom(append(bags, literal)).Draw(t, "bag")
		for range 20 {
			before := rapid.Float64Range(b.Store.Min(), b.Store.Max()).Draw(t, "storage")
			s := b.Step(before,
				rapid.Float64Range(0, 2000).Draw(t, "demand"),
				rapid.Float64Range(0, 5).Draw(t, "health"),
				math.Exp(rapid.Float64Range(math.Log(1./3600), math.Log(24)).Draw(t, "ln dt")))
			requireConserved(t, before, s)
			require.Zero(t, s.Clipped)
			require.GreaterOrEqual(t, s.Storage, b.Store.Min())
			require.LessOrEqual(t, s.Storage, b.Store.Max())
			require.GreaterOrEqual(t, s.TakenUp, 0.0)
		}
	})
}

// The step does not matter: an hour in one step is an hour in seconds.
func TestStepIsStableAtAnyLength(t *testing.T) {
	b := annexe(t, BagOptions{Feddes: Feddes{200, 8000}})
	for name, start := range map[string]float64{"flooded": b.Store.Max(), "at rest": b.Store.Equilibrium(7), "dry": b.Store.Storage(300)} {
		t.Run(name, func(t *testing.T) {
			fine := start
			for range 3600 {
				fine = b.Step(fine, 120, 1, 1./3600).Storage
			}
			for _, n := range []int{1, 4, 60} {
				s := start
				for range n {
					s = b.Step(s, 120, 1, 1/float64(n)).Storage
				}
				assert.InDelta(t, fine, s, 2e-4*b.Store.Volume(), "%d steps", n)
			}
		})
	}
}

// Left alone, every bag comes to rest over the water table and stays.
func TestBagComesToRest(t *testing.T) {
	b := annexe(t, BagOptions{})
	rest := b.Store.Equilibrium(7)
	for _, start := range []float64{b.Store.Max(), b.Store.Storage(200), rest} {
		s := b.Step(start, 0, 1, 2000)
		assert.InEpsilon(t, rest, s.Storage, 2e-4)
		requireConserved(t, start, s)
	}
}

// [D] scipy 1.10.1, testdata/reference_scipy.py: LSODA over quad and brentq,
// a round bag from s = 30 cm under half a sine of 90 cm³/h, hydrostatic.
func TestStepAgainstScipy(t *testing.T) {
	b := bagOf(t, Tube{13, 70, 1}, houseMix, Wick{wedge, 6, 4, 7}, BagOptions{Hydrostatic: true})
	want := map[int]float64{1: 4194.712, 3: 4730.578, 6: 4723.583, 9: 4731.416, 12: 4755.275}
	s := b.Store.Storage(30)
	const perHour = 60
	for i := range 12 * perHour {
		// The demand at mid step is its mean to second order.
		s = b.Step(s, 90*math.Sin(math.Pi*(float64(i)+0.5)/perHour/12), 1, 1./perHour).Storage
		if w, ok := want[(i+1)/perHour]; ok && (i+1)%perHour == 0 {
			assert.InDelta(t, w, s, 1, "%d h", (i+1)/perHour)
		}
	}
}

func TestDeadWick(t *testing.T) {
	b := annexe(t, BagOptions{})
	start := b.Store.Equilibrium(7)
	s := b.Step(start, 50, 0, 10)
	assert.Zero(t, s.Wicked)
	assert.InDelta(t, 500, s.TakenUp, 1e-9)
	// Roots stop where there is nothing left.
	s = b.Step(start, 50, 0, 1e4)
	assert.InDelta(t, b.Store.Min(), s.Storage, 0.01*b.Store.Volume())
	requireConserved(t, start, s)
}

// Two wicks of half the section, and a bag twice as long with twice the wicks
// and demand, behave as one.
func TestBagScales(t *testing.T) {
	one := annexe(t, BagOptions{})
	halves := bagOf(t, Tube{12, 80, .97}, houseMix, Wick{wedge, 3, 8, 7}, BagOptions{})
	double := bagOf(t, Tube{12, 160, .97}, houseMix, Wick{wedge, 6, 8, 7}, BagOptions{})
	start := one.Store.Storage(25)
	a, b, c := one.Step(start, 80, 1, 3), halves.Step(start, 80, 1, 3), double.Step(2*start, 160, 1, 3)
	assert.InEpsilon(t, a.Storage, b.Storage, 1e-9)
	assert.InEpsilon(t, 2*a.Storage, c.Storage, 1e-5)
	assert.InEpsilon(t, 2*a.Wicked, c.Wicked, 1e-4)
}

// More health never means less water, and more demand never more of it.
func TestBagIsMonotone(t *testing.T) {
	b := annexe(t, BagOptions{Feddes: Feddes{200, 8000}})
	rapid.Check(t, func(t *rapid.T) {
		s := b.Store.Storage(rapid.Float64Range(10, 400).Draw(t, "suction"))
		d := rapid.Float64Range(0, 300).Draw(t, "demand")
		h := rapid.Float64Range(0, 2).Draw(t, "health")
		slack := 1e-4 * b.Store.Volume()
		require.GreaterOrEqual(t, b.Step(s, d, h+0.3, 2).Storage, b.Step(s, d, h, 2).Storage-slack)
		require.LessOrEqual(t, b.Step(s, d+20, h, 2).Storage, b.Step(s, d, h, 2).Storage+slack)
	})
}

// Linearise gives the slopes of what Step does: differences of short steps.
func TestLinearise(t *testing.T) {
	b := annexe(t, BagOptions{Feddes: Feddes{200, 8000}})
	for _, suction := range []float64{5, 9, 30, 260, 900} {
		s := b.Store.Storage(suction)
		l := b.Linearise(s, 100, 0.8)
		dt := 1e-4
		step := b.Step(s, 100, 0.8, dt)
		assert.InEpsilon(t, l.Inflow, step.Wicked/dt, 1e-2, "%g cm", suction)
		assert.InEpsilon(t, l.Uptake, step.TakenUp/dt, 1e-3)
		up := b.Linearise(s+0.05, 100, 0.8)
		assert.InDelta(t, (up.Inflow-l.Inflow)/0.05, l.InflowByStorage, 0.02+0.05*math.Abs(l.InflowByStorage))
		more := b.Linearise(s, 100, 0.801)
		assert.InEpsilon(t, (more.Inflow-l.Inflow)/0.001, l.InflowByHealth, 0.05)
		assert.InDelta(t, l.Uptake/100, l.UptakeByDemand, 1e-9)
	}
}

// Inputs that are no numbers count as none; the storage is brought within
// bounds and what that took is told.
func TestStepOfNonsense(t *testing.T) {
	b := annexe(t, BagOptions{})
	start := b.Store.Equilibrium(7)
	nan := math.NaN()
	for _, s := range []Step{b.Step(start, nan, 1, 1), b.Step(start, 10, nan, 1), b.Step(start, 10, 1, nan), b.Step(start, -5, 1, 1), b.Step(start, 10, 1, math.Inf(1))} {
		assert.False(t, bad(s.Storage) || bad(s.Wicked) || bad(s.TakenUp))
	}
	over := b.Step(b.Store.Max()+100, 0, 1, 0)
	assert.InDelta(t, -100, over.Clipped, 1e-9)
	assert.Equal(t, b.Store.Max(), over.Storage)
	assert.Equal(t, b.Store.Min(), b.Step(nan, 0, 1, 0).Storage)
	_, err := NewBag(nil, nil, BagOptions{})
	require.ErrorContains(t, err, "needs a store and a supply")
}

// Strawberry: uptake falls from −200 cm at high demand (Taylor & Ashcroft 1972
// [P]) to nothing at the wilting point of −8000 cm [M], and is never cut for
// being wet.
func TestFeddes(t *testing.T) {
	f := Feddes{200, 8000}
	assert.Equal(t, 1.0, f.Factor(-10))
	assert.Equal(t, 1.0, f.Factor(200))
	assert.InDelta(t, 0.5, f.Factor(4100), 1e-12)
	assert.Zero(t, f.Factor(8000))
	assert.Equal(t, 1.0, Feddes{}.Factor(1e6))
	assert.Equal(t, 0.0, Feddes{300, 300}.Factor(301))
}

// Whatever the figures: an error, or a step without NaN that conserves water.
func FuzzStep(f *testing.F) {
	f.Add(0.088, 0.729, 0.13, 1.534, 330.0, 12.0, 0.97, 7.0, 0.6, 60.0, 1.0, 0.5)
	f.Add(0.0, 1.0, 1.0, 1.1, 1.0, 3.0, 0.1, 100.0, 0.0, 1e4, 10.0, 24.0)
	f.Add(0.2, 0.21, 0.001, 6.0, 1e-3, 60.0, 1.0, 0.2, 1.0, 0.0, 0.0, 1e3)
	f.Fuzz(func(t *testing.T, r, sat, alpha, n, ks, diameter, fill, lift, share, demand, health, dt float64) {
		store, err := NewStore(Tube{diameter, 80, fill}, VanGenuchten{r, sat, alpha, n, ks, 0})
		if err != nil {
			return
		}
		supply, err := NewSupply(Wick{wedge, 6, 4, lift})
		if err != nil {
			return
		}
		bag, err := NewBag(store, supply, BagOptions{Feddes: Feddes{200, 8000}})
		if err != nil {
			return
		}
		if bad(share) || bad(demand) || math.Abs(demand) > 1e6 || math.Abs(dt) > 1e3 || health > 1e3 {
			return
		}
		before := store.Min() + math.Mod(math.Abs(share), 1)*(store.Max()-store.Min())
		s := bag.Step(before, demand, health, dt)
		if bad(s.Storage) || s.Storage < store.Min() || s.Storage > store.Max() || s.TakenUp < 0 {
			t.Fatalf("%+v", s)
		}
		if miss := before + s.Clipped + s.Wicked - s.TakenUp - s.Storage; math.Abs(miss) > conserved*(before+s.TakenUp+math.Abs(s.Wicked)) {
			t.Fatalf("lost %g of %+v", miss, s)
		}
	})
}
