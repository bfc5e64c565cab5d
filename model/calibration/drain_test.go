package calibration

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model/hydraulics"
)

// With n = 2 the mean over a pot of height H on its base is closed:
// θr + (θs − θr)·asinh(αH)/(αH).
func TestPotMean(t *testing.T) {
	v := hydraulics.VanGenuchten{ResidualTheta: 0.08, SaturatedTheta: 0.85, Alpha: 0.15, N: 2}
	for _, height := range []float64{5, 15, 40} {
		x := v.Alpha * height
		assert.InDelta(t, 0.08+0.77*math.Asinh(x)/x, potMean(v, 0, height), 1e-5)
	}
}

// weigh makes the weights of a pot of a known medium by the closed form of n = 2,
// to the gram: between two heights the mean is a difference of integrals.
func weigh(alpha float64, tables ...float64) DrainTest {
	const height, volume, dry, residual, saturated = 15.0, 2.5, 460.0, 0.08, 0.85
	integral := func(z float64) float64 { return math.Asinh(alpha*z) / alpha }
	t := DrainTest{Height: height, Volume: volume, Dry: dry, Saturated: math.Round(dry + 1000*volume*saturated), ScaleSD: 2}
	for _, table := range tables {
		mean := residual + (saturated-residual)*(integral(table+height)-integral(table))/height
		t.Drained = append(t.Drained, Drained{table, math.Round(dry + 1000*volume*mean)})
	}
	return t
}

func TestFitDrainFindsTheMedium(t *testing.T) {
	for name, alpha := range map[string]float64{"fine": 0.08, "middling": 0.15, "coarse": 0.3} {
		t.Run(name, func(t *testing.T) {
			truth := hydraulics.VanGenuchten{ResidualTheta: 0.08, SaturatedTheta: 0.85, Alpha: alpha, N: 2}
			m, err := FitDrain(weigh(alpha, 0, 10, 20, 40))
			require.NoError(t, err)
			assert.InDelta(t, 0.85, m.Porosity.Value, 0.001)
			assert.InDelta(t, math.Log(alpha), m.LnAlpha.Value, 2.5*m.LnAlpha.SD)
			assert.InDelta(t, 0, m.LnN1.Value, 2.5*m.LnN1.SD) // ln(2 − 1)
			for _, s := range []float64{3, 10.2, 20, 40, 55} {
				assert.InDelta(t, truth.Theta(-s), m.Curve.Theta(-s), 0.025, "suction %g cm", s)
			}
			assert.Less(t, m.Misfit, 0.006)
			a := hydraulics.AerationOf(truth)
			assert.InDelta(t, a.AirSpace, m.AirAt1kPa.Value, 2.5*m.AirAt1kPa.SD)
			assert.Less(t, m.AirAt1kPa.SD, 0.02)
			assert.Empty(t, m.Notes)
		})
	}
}

// One weight leaves the curve to the prior and says so; each more narrows it.
func TestMoreWeighingsNarrow(t *testing.T) {
	one, err := FitDrain(weigh(0.15, 0))
	require.NoError(t, err)
	four, err := FitDrain(weigh(0.15, 0, 10, 20, 40))
	require.NoError(t, err)
	assert.Contains(t, one.Notes[0], "what is usual")
	assert.Less(t, four.LnAlpha.SD, one.LnAlpha.SD)
	assert.Less(t, four.LnN1.SD, one.LnN1.SD)
	assert.Less(t, four.Easy.SD, one.Easy.SD)
	assert.Greater(t, one.LnN1.SD, 0.2, "one weight hardly moves n")
	// The container capacity of the pot is measured, not fitted.
	assert.InDelta(t, 1, one.Container.Value/four.Container.Value, 1e-12)
	assert.InDelta(t, one.Porosity.Value, one.Container.Value+one.Air.Value, 1e-12)
}

func TestDrainRefuses(t *testing.T) {
	tests := map[string]struct {
		change func(*DrainTest)
		want   string
	}{
		"kilograms":   {func(d *DrainTest) { d.Saturated, d.Dry = 2.6, 0.46 }, "check weights"},
		"no drained":  {func(d *DrainTest) { d.Drained = nil }, "no drained weight"},
		"swapped":     {func(d *DrainTest) { d.Drained[0].Weight = d.Saturated + 1 }, "between dry and saturated"},
		"millimetres": {func(d *DrainTest) { d.Height = 150 }, "2 to 100 cm"},
		"no volume":   {func(d *DrainTest) { d.Volume = 0 }, "0 L of medium"},
		"above":       {func(d *DrainTest) { d.Drained[0].Table = -3 }, "0 to 300"},
		"not a scale": {func(d *DrainTest) { d.ScaleSD = math.NaN() }, "balance"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			d := weigh(0.15, 0, 20)
			tt.change(&d)
			_, err := FitDrain(d)
			assert.ErrorContains(t, err, tt.want)
		})
	}
}

// Any medium of the range gives a usable curve that meets its own weights.
func TestFitDrainProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		alpha := math.Exp(rapid.Float64Range(math.Log(0.04), math.Log(0.5)).Draw(t, "ln alpha"))
		d := weigh(alpha, 0, 15, 30)
		m, err := FitDrain(d)
		require.NoError(t, err)
		v := m.Curve
		v.Ks = 100
		require.NoError(t, v.Validate())
		for _, w := range d.Drained {
			require.InDelta(t, d.water(w.Weight), m.PotMean(w.Table, d.Height), 0.02)
		}
		value, low, high := m.Alpha()
		require.Less(t, low, value)
		require.Less(t, value, high)
	})
}
