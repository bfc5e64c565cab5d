package hydraulics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Geometry of the trade: a litre takes 15.7 cm of a 90 mm tube, 12.7 cm of a
// 100 mm one and 10.9 cm of a tube of 170 mm lay-flat width [D], where the rule
// of thumb says 11 cm for the first two.
func TestLengthOfALitre(t *testing.T) {
	litre := func(t Tube) float64 { return 1000 / (t.Volume() / t.Length) }
	assert.InDelta(t, 15.7, litre(Tube{9, 1, 1}), 0.05)
	assert.InDelta(t, 12.7, litre(Tube{10, 1, 1}), 0.05)
	assert.InDelta(t, 10.9, litre(LayFlat(17, 1, 1)), 0.05)
}

func TestFullTubeIsRound(t *testing.T) {
	tube := Tube{13, 70, 1}
	assert.InDelta(t, 13, tube.Height(), 1e-6)
	assert.InDelta(t, 13, tube.Width(6.5), 1e-6)
	assert.InDelta(t, math.Pi/4*13*13*70, tube.Volume(), 1e-9)
}

// The section has the film's perimeter and the filling's area: its outline is
// walked and its chords are summed, neither as the code derives them.
func TestSectionKeepsFilmAndFilling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tube := Tube{rapid.Float64Range(2, 40).Draw(t, "diameter"), 50, rapid.Float64Range(0.1, 1).Draw(t, "fill")}
		s := tube.Section()
		perimeter, area := 0.0, 0.0
		const n = 4000
		for i := range n {
			a, b := 2*math.Pi*float64(i)/n, 2*math.Pi*float64(i+1)/n
			perimeter += math.Hypot(s.HalfWidth*(math.Cos(b)-math.Cos(a)), s.HalfHeight*(math.Sin(b)-math.Sin(a)))
			z := s.Height() * (float64(i) + 0.5) / n
			area += tube.Width(z) * s.Height() / n
		}
		require.InEpsilon(t, math.Pi*tube.Diameter, perimeter, 1e-5)
		require.InEpsilon(t, tube.Volume(), area*tube.Length, 1e-4)
		require.InEpsilon(t, tube.Volume(), s.Area(s.Height())*tube.Length, 1e-9)
		require.LessOrEqual(t, s.Height(), tube.Diameter*(1+1e-9))
	})
}

func storeOf(t require.TestingT, tube Tube, m Material) *Store {
	s, err := NewStore(tube, m)
	require.NoError(t, err)
	return s
}

// [D] scipy 1.10.1, testdata/reference_scipy.py: a round bag, D 13 cm, 70 cm.
func TestStorageAgainstScipy(t *testing.T) {
	s := storeOf(t, Tube{13, 70, 1}, houseMix)
	assert.InEpsilon(t, 4758.81163, s.Storage(7), 1e-6)
	assert.InEpsilon(t, 3339.39091, s.Storage(30), 1e-6)
	assert.InEpsilon(t, 6319.37898, s.Storage(-4), 1e-6)
}

// With θ = θr + Δθ·e^{−αs} the integral over a circle is a Bessel function:
// V[θr + Δθ·e^{−α(s+R)}·2I₁(αR)/(αR)] = 1196.776669 cm³ for α 0.1, s 10, R 6.5
// [D], value by scipy 1.10.1.
func TestStorageOfAnExponentialMedium(t *testing.T) {
	s := storeOf(t, Tube{13, 70, 1}, gardner{.06, .40, .1, 1})
	assert.InEpsilon(t, 1196.776669, s.Storage(10), 1e-6)
}

func TestStoreLimits(t *testing.T) {
	s := storeOf(t, Tube{12, 80, .97}, houseMix)
	assert.Equal(t, s.Max(), s.Storage(-s.Tube().Height()), "standing water to the top")
	assert.Equal(t, s.Max(), s.Storage(-1e6))
	assert.InEpsilon(t, 0.729*s.Volume(), s.Max(), 1e-12)
	assert.InEpsilon(t, 0.088*s.Volume(), s.Min(), 1e-12)
	assert.Greater(t, s.Storage(DriestSuction), s.Min())
	assert.Equal(t, s.Storage(7), s.Equilibrium(7))
}

func TestStoreIsMonotoneAndInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tube := Tube{rapid.Float64Range(4, 30).Draw(t, "diameter"), 100, rapid.Float64Range(0.3, 1).Draw(t, "fill")}
		s := storeOf(t, tube, drawMedium(t, "medium"))
		h := tube.Height()
		last := math.Inf(1)
		for _, suction := range []float64{-2 * h, -h, -0.7 * h, -0.1, 0, 1, 7, 20, 51, 102, 1e3, 1e5} {
			w := s.Storage(suction)
			require.LessOrEqual(t, w, last+1e-12*s.Volume())
			require.GreaterOrEqual(t, w, s.Min())
			require.LessOrEqual(t, w, s.Max())
			require.LessOrEqual(t, s.Slope(suction), 0.0)
			require.InDelta(t, w, s.Storage(s.Suction(w)), 1e-9*s.Volume())
			last = w
		}
	})
}

// The mean water content over a bag lies between those of its base and its top,
// and twice the bag holds twice the water.
func TestStoreScales(t *testing.T) {
	short, long := storeOf(t, Tube{12, 40, .9}, houseMix), storeOf(t, Tube{12, 80, .9}, houseMix)
	for _, s := range []float64{-3, 7, 60} {
		assert.InEpsilon(t, 2*short.Storage(s), long.Storage(s), 1e-9)
		mean := long.WaterContent(long.Storage(s))
		assert.Less(t, mean, houseMix.Theta(-s))
		assert.Greater(t, mean, houseMix.Theta(-s-long.Tube().Height()))
	}
}

func TestTubeRefuses(t *testing.T) {
	tests := map[string]struct {
		tube Tube
		want string
	}{
		"no diameter":      {Tube{0, 80, .97}, "diameter 0"},
		"no length":        {Tube{12, -1, .97}, "length -1"},
		"fill in per cent": {Tube{12, 80, 97}, "not per cent"},
		"fill NaN":         {Tube{12, 80, math.NaN()}, "fill NaN"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := NewStore(test.tube, houseMix)
			require.ErrorContains(t, err, test.want)
		})
	}
	_, err := NewStore(Tube{12, 80, .97}, nil)
	require.ErrorContains(t, err, "no material")
}
