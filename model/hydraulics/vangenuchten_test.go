package hydraulics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// loam is Carsel & Parrish 1988 (Water Resour. Res. 24:755): 0.078, 0.43,
// 0.036 /cm, 1.56, 24.96 cm/d [P].
var loam = VanGenuchten{ResidualTheta: 0.078, SaturatedTheta: 0.43, Alpha: 0.036, N: 1.56, Ks: 24.96 / 24}

func TestLoam(t *testing.T) {
	// [D] from the printed parameters.
	assert.InDelta(t, 0.4074, loam.Theta(-10), 5e-5)
	assert.InDelta(t, 0.2421, loam.Theta(-100), 5e-5)
	assert.InDelta(t, 5.37741, 24*loam.Conductivity(-10), 5e-6)
	assert.InDelta(t, 0.0339225, 24*loam.Conductivity(-100), 5e-8)
	assert.Equal(t, 0.43, loam.Theta(3))
	assert.Equal(t, loam.Ks, loam.Conductivity(0))
	assert.Zero(t, loam.Capacity(0))
}

// Celia, Bouloutas & Zarba 1990 give their medium's θ at the initial and top
// heads through its parameters: −1000 cm and −75 cm are 0.110 and 0.200 [D].
func TestCeliaMedium(t *testing.T) {
	assert.InDelta(t, 0.1099, celia.Theta(-1000), 1e-4)
	assert.InDelta(t, 0.2004, celia.Theta(-75), 1e-4)
}

func drawMedium(t *rapid.T, label string) VanGenuchten {
	logs := func(name string, lo, hi float64) float64 {
		return math.Exp(rapid.Float64Range(math.Log(lo), math.Log(hi)).Draw(t, label+" "+name))
	}
	r := rapid.Float64Range(0, 0.3).Draw(t, label+" residual")
	return VanGenuchten{
		ResidualTheta:  r,
		SaturatedTheta: rapid.Float64Range(r+0.05, 1).Draw(t, label+" saturated"),
		Alpha:          logs("alpha", 0.005, 1),
		N:              rapid.Float64Range(1.15, 6).Draw(t, label+" n"),
		Ks:             logs("Ks", 0.1, 3000),
		L:              rapid.Float64Range(0.01, 2).Draw(t, label+" L"),
	}
}

func TestRetentionIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMedium(t, "medium")
		require.NoError(t, m.Validate())
		s := math.Exp(rapid.Float64Range(-12, 16).Draw(t, "ln s"))
		more := s * rapid.Float64Range(1.0001, 10).Draw(t, "ratio")
		a, ca, ka := m.state(-s)
		b, cb, kb := m.state(-more)
		require.GreaterOrEqual(t, a, b)
		require.GreaterOrEqual(t, ka, kb)
		require.GreaterOrEqual(t, b, m.ResidualTheta)
		require.LessOrEqual(t, a, m.SaturatedTheta)
		for _, x := range []float64{a, ca, ka, b, cb, kb} {
			require.False(t, bad(x))
			require.GreaterOrEqual(t, x, 0.0)
		}
	})
}

// The capacity is the slope of the retention: a central difference of Theta.
func TestCapacityIsTheSlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMedium(t, "medium")
		s := math.Exp(rapid.Float64Range(-2, 8).Draw(t, "ln s"))
		e := 1e-4 * s
		slope := (m.Theta(-s+e) - m.Theta(-s-e)) / (2 * e)
		require.InDelta(t, slope, m.Capacity(-s), 1e-5*(slope+1e-6))
	})
}

func TestValidateNamesEveryFault(t *testing.T) {
	tests := map[string]struct {
		change func(*VanGenuchten)
		want   string
	}{
		"per cent":         {func(v *VanGenuchten) { v.SaturatedTheta = 85 }, "not per cent"},
		"residual above":   {func(v *VanGenuchten) { v.ResidualTheta = 0.6 }, "must exceed the residual"},
		"alpha of nothing": {func(v *VanGenuchten) { v.Alpha = 0 }, "alpha"},
		"n of one":         {func(v *VanGenuchten) { v.N = 1 }, "n 1"},
		"no conductivity":  {func(v *VanGenuchten) { v.Ks = -3 }, "conductivity -3"},
		"not a number":     {func(v *VanGenuchten) { v.N = math.NaN() }, "n NaN"},
		"connectivity":     {func(v *VanGenuchten) { v.L = 99 }, "connectivity"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			v := loam
			test.change(&v)
			require.ErrorContains(t, v.Validate(), test.want)
		})
	}
	v := VanGenuchten{SaturatedTheta: 2, Alpha: -1, N: 0.5}
	for _, want := range []string{"saturated", "alpha", "n 0.5", "conductivity"} {
		require.ErrorContains(t, v.Validate(), want)
	}
}
