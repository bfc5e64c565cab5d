package probe_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest/probe"
	"wickd/model"
)

func TestCurve(t *testing.T) {
	// A capacitive probe: 2600 counts in air-dry coir, 1900 at half, 1100 wet.
	curve, err := probe.NewCurve([]model.CalibrationPoint{{Raw: 1100, Value: 60}, {Raw: 1900, Value: 40}, {Raw: 2600, Value: 5}})
	require.NoError(t, err)
	tests := map[string]struct{ raw, want float64 }{
		"first point":     {1100, 60},
		"middle point":    {1900, 40},
		"last point":      {2600, 5},
		"half-way":        {1500, 50},
		"second piece":    {2250, 22.5},
		"below the first": {1000, 62.5}, // 60 + 100·(20/800)
		"above the last":  {2700, 0},    // 5 − 100·(35/700)
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) { assert.InDelta(t, tt.want, curve.At(tt.raw), 1e-9) })
	}
}

func TestCurveRefuses(t *testing.T) {
	tests := map[string]struct {
		points []model.CalibrationPoint
		want   string
	}{
		"none":            {nil, "two are the least"},
		"one":             {[]model.CalibrationPoint{{Raw: 1, Value: 1}}, "two are the least"},
		"not in order":    {[]model.CalibrationPoint{{Raw: 2, Value: 1}, {Raw: 1, Value: 2}}, "does not rise"},
		"one raw twice":   {[]model.CalibrationPoint{{Raw: 1, Value: 1}, {Raw: 1, Value: 2}}, "does not rise"},
		"up and down":     {[]model.CalibrationPoint{{Raw: 1, Value: 1}, {Raw: 2, Value: 5}, {Raw: 3, Value: 4}}, "neither rises nor falls"},
		"flat throughout": {[]model.CalibrationPoint{{Raw: 1, Value: 1}, {Raw: 2, Value: 1}}, "neither rises nor falls"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := probe.NewCurve(tt.points)
			assert.ErrorContains(t, err, tt.want)
		})
	}
}

// A calibration keeps order, meets its points, and leaves the caller's points
// alone and is not changed through them.
func TestCurveProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raws := rapid.SliceOfNDistinct(rapid.IntRange(0, 65535), 2, 6, rapid.ID).Draw(t, "raws")
		values := rapid.SliceOfNDistinct(rapid.IntRange(-100, 100), len(raws), len(raws), rapid.ID).Draw(t, "values")
		slices.Sort(raws)
		slices.Sort(values)
		points := make([]model.CalibrationPoint, len(raws))
		for i := range raws {
			points[i] = model.CalibrationPoint{Raw: float64(raws[i]), Value: float64(values[i])}
		}
		given := slices.Clone(points)
		curve, err := probe.NewCurve(points)
		require.NoError(t, err)
		for _, p := range given {
			require.Equal(t, p.Value, curve.At(p.Raw))
		}
		a := rapid.Float64Range(-1e5, 1e5).Draw(t, "a")
		b := rapid.Float64Range(-1e5, 1e5).Draw(t, "b")
		if a < b {
			require.LessOrEqual(t, curve.At(a), curve.At(b)+1e-6)
		}
		require.Equal(t, given, points)
		points[0].Value = 1e9
		require.Equal(t, given[0].Value, curve.At(given[0].Raw))
	})
}
