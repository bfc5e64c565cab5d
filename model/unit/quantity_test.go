package unit_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/unit"
)

func quantities() []model.Quantity {
	return []model.Quantity{model.Moisture, model.Level, model.EC, model.PH, model.Temperature, model.Humidity, model.Radiation}
}

// One payload in each way of writing the same thing gives one reading.
func TestToCanonical(t *testing.T) {
	tests := map[string]struct {
		quantity model.Quantity
		payload  map[string]float64 // by unit
		want     float64
	}{
		"moisture":    {model.Moisture, map[string]float64{"%": 35, "/": 0.35, "1": 0.35, "m3/m3": 0.35, "m³/m³": 0.35}, 0.35},
		"humidity":    {model.Humidity, map[string]float64{"%RH": 62, "%": 62, "/": 0.62}, 0.62},
		"level":       {model.Level, map[string]float64{"mm": 215, "cm": 21.5, "m": 0.215}, 215},
		"EC":          {model.EC, map[string]float64{"uS/cm": 1413, "mS/cm": 1.413, "dS/m": 1.413, "S/m": 0.1413}, 1.413},
		"pH":          {model.PH, map[string]float64{"pH": 5.8, "[pH]": 5.8}, 5.8},
		"temperature": {model.Temperature, map[string]float64{"Cel": 20, "°C": 20, "K": 293.15, "degF": 68}, 20},
		"radiation":   {model.Radiation, map[string]float64{"W/m2": 430, "W/m²": 430, "kW/m2": 0.43}, 430},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			for u, x := range tt.payload {
				scale, offset, err := unit.ToCanonical(tt.quantity, u)
				require.NoError(t, err, u)
				assert.InDelta(t, tt.want, x*scale+offset, 1e-9, u)
			}
		})
	}
}

func TestToCanonicalRefuses(t *testing.T) {
	tests := map[string]struct {
		quantity model.Quantity
		unit     string
		want     string
	}{
		"light in lux":     {model.Radiation, "lx", "not short-wave radiation"},
		"photons":          {model.Radiation, "µmol/m²/s", "not short-wave radiation"},
		"other dimension":  {model.Level, "L", "is a unit of volume, not of length"},
		"unknown quantity": {"colour", "nm", "is not a quantity that wickd measures"},
		"volt of a probe":  {model.PH, "mV", "calibrate the probe"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			scale, offset, err := unit.ToCanonical(tt.quantity, tt.unit)
			require.ErrorContains(t, err, tt.want)
			assert.Zero(t, scale)
			assert.Zero(t, offset)
		})
	}
}

// The bounds let through what is measured in real houses and stop the values
// by which sensors say that they failed.
func TestPlausible(t *testing.T) {
	tests := map[model.Quantity]struct{ good, bad []float64 }{
		// −127 °C: a one-wire thermometer that does not answer, as its data
		// sheet's users know it [M]; 85 °C: its power-on value.
		model.Temperature: {[]float64{-25, 0, 21, 45, 60}, []float64{-127, 85}},
		// Hoagland's solution has about 2 mS/cm, sea water 50 [M].
		model.EC:       {[]float64{0, 0.3, 1.4, 4, 10}, []float64{-1, 50, 1400}},
		model.PH:       {[]float64{3.5, 5.8, 9}, []float64{-1, 14.7}},
		model.Moisture: {[]float64{0, 0.35, 0.95}, []float64{-0.1, 35, 1.2}},
		model.Humidity: {[]float64{0.1, 1}, []float64{62, -0.1}},
		model.Level:    {[]float64{0, 375}, []float64{-50, 65535}},
		// The solar constant is 1361 W/m² (Kopp & Lean 2011) [M].
		model.Radiation: {[]float64{-5, 0, 1000, 1361}, []float64{-100, 4095}},
	}
	for _, q := range quantities() {
		lowest, highest := unit.Plausible(q)
		require.Less(t, lowest, highest, q)
		for _, x := range tests[q].good {
			assert.True(t, x >= lowest && x <= highest, "%s %g", q, x)
		}
		for _, x := range tests[q].bad {
			assert.False(t, x >= lowest && x <= highest, "%s %g", q, x)
		}
		assert.NotNil(t, unit.Of(q))
	}
	lowest, highest := unit.Plausible("colour")
	assert.Zero(t, lowest)
	assert.Zero(t, highest)
	assert.Nil(t, unit.Of("colour"))
}
