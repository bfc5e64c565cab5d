package solution

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The table itself [P], and what bottles print: 1413 µS/cm is 1278 at 20 °C and
// 1332 at 22 °C, 12.88 mS/cm is 11.67 at 20 °C [M].
func TestStandardKCl(t *testing.T) {
	tests := map[string]struct{ label, celsius, want, tolerance float64 }{
		"0.01 mol/kg at 0":  {1.40823, 0, 0.77292, 1e-3},
		"0.01 mol/kg at 15": {1.40823, 15, 1.14145, 1e-3},
		"0.1 mol/kg at 35":  {12.8246, 35, 15.316, 1e-3},
		"bottle at 25":      {1.413, 25, 1.413, 1e-9},
		"bottle at 20":      {1.413, 20, 1.278, 2e-3},
		"bottle at 22":      {1.413, 22, 1.332, 2e-3},
		"strong at 20":      {12.88, 20, 11.67, 1e-3},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			got, err := StandardKCl(tt.label, tt.celsius)
			require.NoError(t, err)
			assert.InEpsilon(t, tt.want, got, tt.tolerance)
		})
	}
	for _, x := range [][2]float64{{1413, 25}, {1.413, 45}} {
		_, err := StandardKCl(x[0], x[1])
		assert.ErrorContains(t, err, "the tables serve")
	}
}

func TestBufferPH(t *testing.T) {
	// NIST at 20 °C: phosphate 6.881, phthalate 4.00, borax 9.225 [M].
	for nominal, want := range map[float64]float64{6.86: 6.881, 4.00: 4.00, 9.18: 9.225, 7.0: 7.02, 10.0: 10.06} {
		got, err := BufferPH(nominal, 20)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 0.01)
	}
	_, err := BufferPH(5.5, 25)
	assert.ErrorContains(t, err, "no table")
	_, err = BufferPH(7, 3)
	assert.ErrorContains(t, err, "10 to 40")
}

// 59.16 mV at 25 °C and 58.17 at 20 °C are in every textbook [M].
func TestNernstSlope(t *testing.T) {
	assert.InDelta(t, 59.16, NernstSlope(25), 0.005)
	assert.InDelta(t, 58.17, NernstSlope(20), 0.01)
}

func TestFitECProbe(t *testing.T) {
	// A cell that shows 4 % too little, in a standard at 20 °C.
	one, err := FitECProbe([]ECReading{{1.413, 20, 1.278 * 0.96}}, false)
	require.NoError(t, err)
	assert.InEpsilon(t, 1/0.96, one.CellFactor, 2e-3)
	assert.Equal(t, 0.0, one.Points[0].Raw)
	assert.Equal(t, ProbeGood, one.Verdict)
	// One that compensates by itself is held against the label.
	own, err := FitECProbe([]ECReading{{1.413, 20, 1.35}, {12.88, 20, 12.5}, {0, 20, 0.01}}, true)
	require.NoError(t, err)
	assert.InEpsilon(t, 12.88/12.5, own.CellFactor, 0.01)
	assert.Len(t, own.Residuals, 3)
	assert.Positive(t, own.Scatter)

	wrong, err := FitECProbe([]ECReading{{1.413, 25, 1.4}, {12.88, 25, 8}, {5, 25, 5}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeStrange, wrong.Verdict)

	// Within 5 % of the largest standard, and yet half of the smallest.
	weak, err := FitECProbe([]ECReading{{0, 25, 0}, {1.413, 25, 1.9}, {12.88, 25, 12.88}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeStrange, weak.Verdict)
	assert.Contains(t, weak.Evidence, "no line joins its readings")
	dead, err := FitECProbe([]ECReading{{1.413, 25, 812}, {12.88, 25, 815}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeDead, dead.Verdict)
	// Dry in the air and in 1.413 mS/cm a whole probe does not send nearly the same.
	dead, err = FitECProbe([]ECReading{{1.413, 25, 1.2}, {0, 25, 1.1}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeDead, dead.Verdict)
	// A single reading shows that it answers only where its unit is known.
	alone, err := FitECProbe([]ECReading{{1.413, 25, 0.01}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeUnproven, alone.Verdict)
	micro, err := FitECProbe([]ECReading{{1.413, 25, 1390}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeGood, micro.Verdict)
	// 4–20 mA for 0–20 mS/cm.
	loop, err := FitECProbe([]ECReading{{1.413, 25, 5.13}, {12.88, 25, 14.304}}, false)
	require.NoError(t, err)
	assert.Equal(t, ProbeGood, loop.Verdict)
	assert.Contains(t, loop.Evidence, "it sends 4 where there is nothing, which is right for a signal with a live zero")
	for v, want := range map[ProbeVerdict]bool{ProbeUnproven: true, ProbeGood: true, ProbeAgeing: true, ProbeWorn: true, ProbeDead: false, ProbeStrange: false} {
		assert.Equal(t, want, v.Serves(), v)
	}
}

func TestBuffersThatAreAlikeShowNoSlope(t *testing.T) {
	_, err := FitPHProbe([]PHReading{{7.00, 25, 7.0}, {6.86, 25, 6.9}}, false)
	assert.ErrorContains(t, err, "the buffers lie 0.13 apart, which shows no slope")
}

func TestFitPHProbe(t *testing.T) {
	tests := map[string]struct {
		readings   []PHReading
		millivolts bool
		slope      float64
		verdict    ProbeVerdict
	}{
		// An ideal electrode at 25 °C: 0 mV in pH 7, 177 mV in pH 4.01.
		"ideal":       {[]PHReading{{7.00, 25, 0}, {4.01, 25, 59.16 * 2.99}}, true, 1, ProbeGood},
		"ageing":      {[]PHReading{{7.00, 25, -8}, {4.01, 25, -8 + 0.92*59.16*2.99}}, true, 0.92, ProbeAgeing},
		"worn":        {[]PHReading{{7.00, 25, 0}, {4.01, 25, 0.8 * 59.16 * 2.99}}, true, 0.80, ProbeWorn},
		"dead":        {[]PHReading{{7.00, 25, 7.12}, {4.01, 25, 6.92}}, false, 0.067, ProbeDead},
		"far off":     {[]PHReading{{7.00, 25, 75}, {4.01, 25, 75 + 59.16*2.99}}, true, 1, ProbeWorn},
		"swapped":     {[]PHReading{{4.01, 25, 0}, {7.00, 25, 59.16 * 2.99}}, true, -1, ProbeStrange},
		"sends pH":    {[]PHReading{{7.00, 25, 7.10}, {4.01, 25, 7.10 - 0.97*2.99}}, false, 0.97, ProbeGood},
		"three":       {[]PHReading{{7.00, 20, 0}, {4.01, 20, 58.17 * 3.02}, {10.01, 20, -58.17 * 3.04}}, true, 1, ProbeGood},
		"no one line": {[]PHReading{{7.00, 25, 40}, {4.01, 25, 59.16 * 2.99}, {10.01, 25, -59.16 * 3.01}}, true, 1.017, ProbeStrange},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			f, err := FitPHProbe(tt.readings, tt.millivolts)
			require.NoError(t, err)
			assert.InDelta(t, tt.slope, f.Slope, 0.005)
			assert.Equal(t, tt.verdict, f.Verdict, f.Evidence)
			assert.Less(t, f.Points[0].Raw, f.Points[1].Raw)
			assert.False(t, f.OtherUnit)
			f, err = FitPHProbe(tt.readings, !tt.millivolts)
			require.NoError(t, err)
			assert.Equal(t, tt.verdict.Serves(), f.OtherUnit, "a sound probe of the other unit")
		})
	}
}

func TestProbeFitRefuses(t *testing.T) {
	_, err := FitECProbe(nil, false)
	assert.ErrorContains(t, err, "no standard")
	_, err = FitECProbe([]ECReading{{0, 25, 0}}, false)
	assert.ErrorContains(t, err, "no standard")
	_, err = FitECProbe([]ECReading{{1.413, 25, 5}, {12.88, 25, 1}}, false)
	assert.ErrorContains(t, err, "swapped")
	_, err = FitPHProbe([]PHReading{{7, 25, 0}}, true)
	assert.ErrorContains(t, err, "two buffers")
	_, err = FitPHProbe([]PHReading{{7, 25, 10}, {4.01, 25, 10}}, true)
	assert.ErrorContains(t, err, "it reads the same in all solutions")
	_, err = FitPHProbe([]PHReading{{7, 25, 10}, {7, 25, 12}}, true)
	assert.ErrorContains(t, err, "all solutions are the same")
}

// Whatever line a probe follows, calibrating finds it.
func TestFitECProbeFindsTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		factor := rapid.Float64Range(0.5, 2).Draw(t, "factor")
		offset := rapid.Float64Range(-0.1, 0.1).Draw(t, "offset")
		celsius := rapid.Float64Range(10, 30).Draw(t, "T")
		var readings []ECReading
		for _, label := range []float64{0.5, 1.413, 12.88} {
			truth, err := StandardKCl(label, celsius)
			require.NoError(t, err)
			readings = append(readings, ECReading{label, celsius, (truth - offset) / factor})
		}
		f, err := FitECProbe(readings, false)
		require.NoError(t, err)
		require.InEpsilon(t, factor, f.CellFactor, 1e-6)
		require.InDelta(t, offset, f.Offset, 1e-6)
	})
}
