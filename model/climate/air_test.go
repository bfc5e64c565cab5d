package climate_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"wickd/model/climate"
)

// Tolerances: a printed figure is good to half its last digit; a figure
// computed from printed inputs at full precision to its own last digit.
const (
	threeDecimals = 0.0006
	twoDecimals   = 0.006
	oneDecimal    = 0.06
)

func TestSaturationVapourPressureOfAnnex2(t *testing.T) {
	// [P] FAO-56 annex 2, table 2.3, kPa.
	for temperature, want := range map[float64]float64{
		1: 0.657, 10: 1.228, 20: 2.338, 25: 3.168, 30: 4.243, 40: 7.376,
	} {
		assert.InDelta(t, want, climate.SaturationVapourPressure(temperature), threeDecimals, "%v °C", temperature)
	}
	// [D] FAO-56 example 3.
	assert.InDelta(t, 3.07465, climate.SaturationVapourPressure(24.5), 1e-5)
	assert.InDelta(t, 1.70535, climate.SaturationVapourPressure(15), 1e-5)
	// [P] FAO-56 example 3.
	assert.InDelta(t, 2.39, climate.MeanSaturation(24.5, 15), twoDecimals)
}

func TestSaturationVapourPressureAgainstSteamTables(t *testing.T) {
	// [M] Saturation pressure of water in kPa as steam tables have it: an
	// origin other than FAO-56's fit, hence half a percent.
	for temperature, want := range map[float64]float64{
		0.01: 0.6117, 10: 1.2282, 20: 2.3393, 30: 4.2470, 40: 7.3849, 50: 12.352,
	} {
		assert.InEpsilon(t, want, climate.SaturationVapourPressure(temperature), 0.005, "%v °C", temperature)
	}
}

func TestPressureOfAnnex2(t *testing.T) {
	// [P] FAO-56 annex 2, table 2.1, kPa.
	for elevation, want := range map[float64]float64{
		0: 101.3, 500: 95.5, 1000: 90.0, 2000: 79.8, 4000: 62.1,
	} {
		assert.InDelta(t, want, climate.Pressure(elevation), oneDecimal, "%v m", elevation)
	}
	// [D] FAO-56 example 2, printed 81.8 kPa and 0.054 kPa/°C.
	assert.InDelta(t, 81.7558, climate.Pressure(1800), 1e-4)
	assert.InDelta(t, 0.054368, climate.PsychrometricConstant(climate.Pressure(1800)), 1e-6)
}

func TestWindProfile(t *testing.T) {
	// [P] FAO-56 annex 2, table 2.9, and example 14 [D] 2.39344 m/s.
	for height, want := range map[float64]float64{1: 1.178, 2: 1, 3: 0.921, 10: 0.748} {
		assert.InDelta(t, want, climate.WindAt2m(1, height), threeDecimals, "%v m", height)
	}
	assert.InDelta(t, 2.39344, climate.WindAt2m(3.2, 10), 1e-5)
	assert.True(t, math.IsNaN(climate.WindAt2m(3, 0.05)))
}

func TestVapourPressureFromInstruments(t *testing.T) {
	// [M] FAO-56 example 4: bulbs 25.6 and 19.5 °C at 1200 m, aspirated: 1.91 kPa.
	ea := climate.VapourPressureFromWetBulb(25.6, 19.5, climate.Pressure(1200), 0.000662)
	assert.InDelta(t, 1.91, ea, 0.02)
	// [M] FAO-56 example 5: 25/18 °C, 54/82 %: 1.70 kPa; from the mean 68 %: 1.78 kPa.
	assert.InDelta(t, 1.70, climate.VapourPressureFromHumidity(25, 18, 0.82, 0.54), 0.02)
	assert.InDelta(t, 1.78, climate.VapourPressureFromMeanHumidity(25, 18, 0.68), 0.02)
}

func TestDewPointUndoesSaturation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temperature := rapid.Float64Range(-30, 50).Draw(t, "temperature")
		got := climate.DewPoint(climate.SaturationVapourPressure(temperature))
		assert.InDelta(t, temperature, got, 1e-9)
	})
}

func TestSlopeIsTheDerivative(t *testing.T) {
	// Central difference, an estimate that knows nothing of eq 13. The equation
	// rounds 17.27·237.3 = 4098.17 to 4098.
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(-20, 50).Draw(t, "temperature")
		const step = 1e-3
		want := (climate.SaturationVapourPressure(at+step) - climate.SaturationVapourPressure(at-step)) / (2 * step)
		assert.InEpsilon(t, want, climate.SaturationSlope(at), 1e-4)
	})
}
