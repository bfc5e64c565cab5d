package probe_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/probe"
)

// Linear compensation at 2 %/K against primary data of potassium chloride,
// 0.01 mol/kg and 0.1 mol/kg, µS/cm (CRC Handbook; Pratt et al. 2001, Pure
// Appl. Chem. 73:1783) [P]. KCl is a neutral salt like a nutrient solution's;
// the straight line is good to 2 % between 15 and 35 °C, which is its own
// error and stated as the tolerance.
func TestLinearAgainstPotassiumChloride(t *testing.T) {
	const tolerance = 0.02
	tests := map[string]struct {
		at25 float64
		at   map[float64]float64
	}{
		"0.01 mol/kg": {1408.23, map[float64]float64{15: 1141.45, 20: 1273.03, 35: 1687.79}},
		"0.1 mol/kg":  {12824.6, map[float64]float64{15: 10437.1, 20: 11615.9, 35: 15316.0}},
	}
	compensation, err := probe.Linear(0)
	require.NoError(t, err)
	for name, tt := range tests {
		for temperature, ec := range tt.at {
			got, err := compensation.To25(ec/1000, temperature)
			require.NoError(t, err)
			assert.InEpsilon(t, tt.at25/1000, got, tolerance, "%s at %g °C", name, temperature)
		}
		got, err := compensation.To25(tt.at25/1000, 25)
		require.NoError(t, err)
		assert.Equal(t, tt.at25/1000, got, "nothing to compensate at 25 °C")
	}
}

// The natural-water factors follow the viscosity of water to a few per cent, as
// ions that carry the current drag their water along (Walden's rule). Viscosity
// at 10, 20 and 30 °C 1.307, 1.002 and 0.798 mPa·s [P]; at 25 °C 0.890 [M].
func TestNaturalWaterFollowsViscosity(t *testing.T) {
	for temperature, viscosity := range map[float64]float64{10: 1.307, 20: 1.002, 30: 0.798} {
		got, err := probe.NaturalWater().To25(0.5, temperature)
		require.NoError(t, err)
		assert.InEpsilon(t, viscosity/0.890, got/0.5, 0.04, "%g °C", temperature)
	}
}

// Between the points of its table the factor lies between them and has no kink
// of more than the table's own rounding: read off at 18 °C and 33 °C by the
// parabola through the neighbours [D from printed f25 15 1.256, 20 1.116, 25
// 1.000 and 28 0.940, 30 0.903, 35 0.822].
func TestNaturalWaterBetweenItsPoints(t *testing.T) {
	for temperature, want := range map[float64]float64{18: 1.16912, 33: 0.85243} {
		got, err := probe.NaturalWater().To25(1, temperature)
		require.NoError(t, err)
		assert.InEpsilon(t, want, got, 0.005, "%g °C", temperature)
	}
}

func TestCompensationRefuses(t *testing.T) {
	linear, err := probe.Linear(0.02)
	require.NoError(t, err)
	tests := map[string]struct {
		by              probe.Compensation
		ec, temperature float64
	}{
		"ice":                       {linear, 1.4, -0.1},
		"too hot":                   {linear, 1.4, 50.1},
		"natural water, ice":        {probe.NaturalWater(), 0.5, -0.1},
		"natural water, too warm":   {probe.NaturalWater(), 0.5, 35.1},
		"natural water, rain":       {probe.NaturalWater(), 0.059, 20},
		"natural water, fertilised": {probe.NaturalWater(), 1.4, 20},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := tt.by.To25(tt.ec, tt.temperature)
			assert.Error(t, err)
			assert.Zero(t, got)
		})
	}
	for _, a := range []float64{2, -0.02, 0.001} {
		_, err := probe.Linear(a)
		assert.ErrorContains(t, err, "for example 2 %/K")
	}
}

// Topp, Davis and Annan 1980: water content at permittivity 10, 20 and 40 [D
// from the printed polynomial].
func TestTopp(t *testing.T) {
	for k, want := range map[float64]float64{10: 0.18830, 20: 0.34540, 40: 0.51020} {
		got, err := probe.Topp(k)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 5e-6)
	}
	for _, k := range []float64{0, 0.9, 82.1, -3} {
		_, err := probe.Topp(k)
		assert.Error(t, err)
	}
}
