package hydraulics

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func supplyOf(t require.TestingT, m Material, lift float64) *Supply {
	s, err := NewSupply(Wick{Material: m, Section: 1, Count: 1, Lift: lift})
	require.NoError(t, err)
	return s
}

// Gardner 1958, exponential K: q_max = Ks/(exp(αL) − 1) [D].
func TestGardnerExponential(t *testing.T) {
	tests := []struct{ alpha, ks, lift, want float64 }{
		{.05, 1, 20, 0.581977}, {.1, 10, 30, 0.523957}, {.1, 1, 15, 0.287217},
	}
	for _, test := range tests {
		s := supplyOf(t, gardner{.06, .4, test.alpha, test.ks}, test.lift)
		assert.InEpsilon(t, test.want, s.Max(), 2e-6, "%+v", test)
	}
}

// At any suction the same medium has q = Ks(e^{−αL}·… ) in closed form:
// q = Ks(1 − e^{α(L−s)})/(e^{αL} − 1) by integrating Darcy's law for
// K = Ks·e^{−αs}; worked here for α 0.1, Ks 10, L 12 at s 3, 20 [D].
func TestGardnerAtASuction(t *testing.T) {
	s := supplyOf(t, gardner{.06, .4, .1, 10}, 12)
	assert.InEpsilon(t, -6.290896, s.Flux(3), 1e-4)
	assert.InEpsilon(t, 2.373469, s.Flux(20), 1e-4)
}

// Gardner 1958, K = a/sⁿ: q_max = a[π/(n sin(π/n))]ⁿ/dⁿ with the constants
// 3.76090, 2.46740, 1.76805, 1.52202 for n 3/2, 2, 3, 4 [D]. b is made small
// enough not to count.
func TestGardnerPowerLaw(t *testing.T) {
	for n, constant := range map[float64]float64{1.5: 3.76090, 2: 2.46740, 3: 1.76805, 4: 1.52202} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			s := supplyOf(t, powerLaw{a: 400, b: 1e-4, n: n}, 20)
			assert.InEpsilon(t, constant*400/math.Pow(20, n), s.Max(), 2e-3)
		})
	}
}

// With b, n 2, a 400, b 400: 1.148454 at 20 cm, 0.302985 at 50 cm [D]. Close to
// the channel the form without b claims more than double.
func TestGardnerPowerLawWithB(t *testing.T) {
	m := powerLaw{a: 400, b: 400, n: 2}
	assert.InEpsilon(t, 1.148454, supplyOf(t, m, 20).Max(), 1e-4)
	assert.InEpsilon(t, 0.302985, supplyOf(t, m, 50).Max(), 1e-4)
	assert.InEpsilon(t, 2.4674, supplyOf(t, powerLaw{a: 400, b: 1e-4, n: 2}, 20).Max(), 1e-3)
}

// Carsel & Parrish loam: q_max(50 cm) = 0.402670 cm/d [D].
func TestLoamSupply(t *testing.T) {
	assert.InEpsilon(t, 0.402670, 24*supplyOf(t, loam, 50).Max(), 2e-5)
}

// [D] scipy 1.10.1, testdata/reference_scipy.py: quad and brentq on the height
// integral, lift 7 cm.
func TestFluxAgainstScipy(t *testing.T) {
	s := supplyOf(t, wedge, 7)
	for suction, want := range map[float64]float64{
		3: -60.25109425, 6: -13.10732461, 8: 10.81557854, 12: 31.91827613, 20: 36.50544426, 60: 36.68789093,
	} {
		assert.InEpsilon(t, want, s.Flux(suction), 1e-5, "suction %g", suction)
	}
}

func TestFluxLimits(t *testing.T) {
	s := supplyOf(t, wedge, 7)
	assert.Zero(t, s.Flux(7), "rest over the water table")
	assert.Equal(t, -wedge.Ks, s.Flux(0), "a wick that hangs free drains at Ks")
	assert.InDelta(t, -wedge.Ks*(1+14.0/7), s.Flux(-14), 1e-9, "Darcy under a standing head")
	assert.Equal(t, s.Max(), s.Flux(1e9))
	assert.InEpsilon(t, s.Slope(7), (s.Flux(7.001)-s.Flux(6.999))/0.002, 1e-3)
}

// Stone wool, 6 cm² wedges: raising the bag is what costs supply. The rule that
// doubling the lift can cut it tenfold holds where the lift passes the height
// to which the wick stays wet.
func TestLiftDecides(t *testing.T) {
	assert.Greater(t, supplyOf(t, wedge, 10).Max()/supplyOf(t, wedge, 20).Max(), 10.0)
}

func TestFluxRisesWithSuction(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMedium(t, "wick")
		lift := rapid.Float64Range(0.5, 60).Draw(t, "lift")
		s := supplyOf(t, m, lift)
		last := math.Inf(-1)
		for _, suction := range []float64{-20, -1, 0, 0.3 * lift, 0.9 * lift, lift, 1.1 * lift, 2 * lift, 10 * lift, 1e4, 1e8} {
			q := s.Flux(suction)
			require.False(t, bad(q))
			require.GreaterOrEqual(t, q, last)
			require.GreaterOrEqual(t, s.Slope(suction), 0.0)
			last = q
		}
		require.GreaterOrEqual(t, s.Max(), 0.0)
		// No wick lifts more than Darcy's law gives a saturated one under the
		// suction that holds there; and higher is never more.
		require.GreaterOrEqual(t, s.Max()*(1+1e-9), supplyOf(t, m, 1.3*lift).Max())
	})
}

// Flow is area times flux: two wicks of half the section are one wick.
func TestSupplyScales(t *testing.T) {
	one, err := NewSupply(Wick{wedge, 6, 2, 9})
	require.NoError(t, err)
	two, err := NewSupply(Wick{wedge, 3, 4, 9})
	require.NoError(t, err)
	assert.Equal(t, one.Flow(25), two.Flow(25))
	// q/Ks depends on K/Ks alone.
	faster := wedge
	faster.Ks *= 3
	assert.InEpsilon(t, 3*supplyOf(t, wedge, 9).Flux(25), supplyOf(t, faster, 9).Flux(25), 1e-9)
}

func TestWickRefuses(t *testing.T) {
	tests := map[string]struct {
		wick Wick
		want string
	}{
		"no lift":     {Wick{wedge, 6, 4, 0}, "stands in the water"},
		"no section":  {Wick{wedge, 0, 4, 7}, "section"},
		"no wicks":    {Wick{wedge, 6, 0, 7}, "at least one wick"},
		"no material": {Wick{nil, 6, 4, 7}, "no material"},
		"bad figures": {Wick{VanGenuchten{}, 6, 4, 7}, "alpha"},
		"lift NaN":    {Wick{wedge, 6, 4, math.NaN()}, "lift NaN"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := NewSupply(test.wick)
			require.ErrorContains(t, err, test.want)
		})
	}
}

// Whatever the figures: an error, or a table without NaN.
func FuzzSupply(f *testing.F) {
	f.Add(0.01, 0.95, 0.096, 3.6, 108.0, 0.5, 7.0, 12.0)
	f.Add(0.0, 1.0, 10.0, 1.05, 1e6, 20.0, 0.1, -5.0)
	f.Add(0.3, 0.31, 1e-4, 12.0, 1e-6, -2.0, 1000.0, 1e7)
	f.Fuzz(func(t *testing.T, r, sat, alpha, n, ks, l, lift, suction float64) {
		s, err := NewSupply(Wick{VanGenuchten{r, sat, alpha, n, ks, l}, 1, 1, lift})
		if err != nil {
			require.Nil(t, s)
			return
		}
		if bad(suction) {
			return
		}
		q, slope := s.Flux(suction), s.Slope(suction)
		if math.Abs(suction) < 1e9 && (bad(q) || bad(slope) || slope < 0) {
			t.Fatalf("flux %g slope %g", q, slope)
		}
		if q > s.Max() {
			t.Fatalf("flux %g above its maximum %g", q, s.Max())
		}
	})
}
