package calibration

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// anscombe turns a set of Anscombe (1973, Am. Stat. 27:17) into water contents:
// y in twentieths.
func anscombe(y []float64) []Reading {
	x := []float64{10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5}
	var all []Reading
	for i := range x {
		all = append(all, Reading{x[i], y[i] / 20})
	}
	return all
}

// Anscombe's first set has slope 0.500, intercept 3.00, R² 0.667 and a residual
// standard deviation of 1.237 [M: printed in every textbook of regression].
func TestMoistureLine(t *testing.T) {
	m, err := FitMoisture(anscombe([]float64{8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68}))
	require.NoError(t, err)
	require.Len(t, m.Points, 2)
	slope := (m.Points[1].Value - m.Points[0].Value) / (m.Points[1].Raw - m.Points[0].Raw)
	assert.InDelta(t, 0.500/20, slope, 1e-4)
	assert.InDelta(t, (3.00+0.5*4)/20, m.Points[0].Value, 1e-3)
	assert.InDelta(t, 0.667, m.R2, 1e-3)
	assert.InDelta(t, 1.237/20, m.Scatter, 1e-4)
	// The band of the mean at the end of the data, x 14: t(9) 2.262 · s ·
	// √(1/11 + 25/110) = 1.58 [D].
	assert.InDelta(t, 2.262*1.237*math.Sqrt(1.0/11+25.0/110)/20, m.Confidence, 2e-3)
	assert.Contains(t, m.Unfit, "±6.2 % of the volume off the line (R² 0.67)")
}

// Anscombe's second set is a parabola that turns at 11, inside the readings: a
// probe that gives one number for two contents is not calibrated by it.
func TestMoistureRefusesToTurnBack(t *testing.T) {
	m, err := FitMoisture(anscombe([]float64{9.14, 8.14, 8.74, 8.77, 9.26, 8.10, 6.13, 3.10, 9.13, 7.26, 4.74}))
	require.NoError(t, err)
	assert.False(t, m.Curved)
}

// A capacitive probe whose response bends: five points follow it.
func TestMoistureCurve(t *testing.T) {
	truth := func(raw float64) float64 { u := (2600 - raw) / 1500; return 0.05 + 0.35*u + 0.18*u*u }
	var readings []Reading
	for i, raw := range []float64{1100, 1300, 1500, 1750, 2000, 2200, 2400, 2600} {
		readings = append(readings, Reading{raw, truth(raw) + 0.003*math.Pow(-1, float64(i))})
	}
	m, err := FitMoisture(readings)
	require.NoError(t, err)
	assert.True(t, m.Curved)
	require.Len(t, m.Points, 5)
	for _, p := range m.Points {
		assert.InDelta(t, truth(p.Raw), p.Value, 0.006)
	}
	assert.InDelta(t, 0.003, m.Scatter, 0.002)
	assert.Empty(t, m.Notes)
}

func TestTwoPoints(t *testing.T) {
	m, err := FitMoisture([]Reading{{2600, 0}, {1100, 0.6}})
	require.NoError(t, err)
	assert.Equal(t, 1100.0, m.Points[0].Raw)
	assert.InDelta(t, 0.6, m.Points[0].Value, 1e-12)
	assert.True(t, math.IsNaN(m.Confidence))
	assert.Contains(t, m.Notes[0], "Two points")
}

func TestMoistureRefuses(t *testing.T) {
	tests := map[string]struct {
		readings []Reading
		want     string
	}{
		"one":      {[]Reading{{1, 0.5}}, "two readings are the least"},
		"stuck":    {[]Reading{{1, 0.5}, {1, 0.2}}, "is it stuck"},
		"alike":    {[]Reading{{1, 0.50}, {2, 0.52}}, "dry further"},
		"per cent": {[]Reading{{1, 50}, {2, 20}}, "share from 0 to 1"},
		"nan":      {[]Reading{{math.NaN(), 0.5}, {2, 0.2}}, "has to be a number"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := FitMoisture(tt.readings)
			assert.ErrorContains(t, err, tt.want)
		})
	}
	_, err := WaterOf(9000, 1200, 5)
	assert.ErrorContains(t, err, "check the weights")
	_, err = WaterOf(5800, 1.3, 9)
	assert.ErrorContains(t, err, "0.144 g for a litre, and no medium has less than 30")
	_, err = WaterOf(5800, 1300, 9e6)
	assert.ErrorContains(t, err, "no medium has less")
	w, err := WaterOf(5800, 1300, 9)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, w, 1e-12)
}

// Whatever straight probe there is, the fit finds it, and readings keep their
// order and values.
func TestMoistureFindsTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0.3, 0.7).Draw(t, "wet"), rapid.Float64Range(0, 0.2).Draw(t, "dry")
		low := rapid.Float64Range(-1000, 1000).Draw(t, "low")
		span := rapid.Float64Range(1, 3000).Draw(t, "span")
		var readings []Reading
		for i := range rapid.IntRange(2, 12).Draw(t, "n") - 1 {
			u := float64(i) / 12
			readings = append(readings, Reading{low + span*u, a + (b-a)*u})
		}
		readings = append(readings, Reading{low + span, b})
		m, err := FitMoisture(readings)
		require.NoError(t, err)
		require.InDelta(t, a, m.Points[0].Value, 1e-9)
		require.InDelta(t, b, m.Points[len(m.Points)-1].Value, 1e-9)
		require.False(t, m.Curved)
		require.Less(t, m.Points[0].Raw, m.Points[1].Raw)
	})
}

func TestReadingsThatNoConverterSends(t *testing.T) {
	for _, raw := range []float64{1e300, -1e12, math.NaN(), math.Inf(1)} {
		_, err := FitMoisture([]Reading{{Raw: raw, Water: 0.2}, {Raw: 2, Water: 0.5}})
		assert.ErrorContains(t, err, "raw has to be a number within ±1e+09", raw)
	}
}
