package solution

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func at(t require.TestingT, celsius, ionic float64) Equilibrium {
	e, err := NewEquilibrium(celsius, ionic)
	require.NoError(t, err)
	return e
}

func TestCarbonicConstants(t *testing.T) {
	tests := map[string]struct {
		celsius, pk1, pk2 float64 // pk2 0: not given
	}{
		// Plummer & Busenberg 1982 [P] at 25 °C; [D] at 10 and 20 °C.
		"25 °C": {25, 6.352, 10.329},
		"20 °C": {20, 6.3819, 0},
		"10 °C": {10, 6.4633, 0},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			k1, k2 := carbonic(tt.celsius)
			assert.InDelta(t, tt.pk1, -math.Log10(k1), 5e-4)
			if tt.pk2 > 0 {
				assert.InDelta(t, tt.pk2, -math.Log10(k2), 5e-4)
			}
		})
	}
	// pKH 1.468 at 25 °C, the same paper [M]; pKw 13.995 at 25 °C, 14.535 at
	// 10 °C (handbooks [M]).
	assert.InDelta(t, 1.468, -math.Log10(henry(25)), 2e-3)
	assert.InDelta(t, 13.995, -math.Log10(waterProduct(25)), 5e-3)
	assert.InDelta(t, 14.535, -math.Log10(waterProduct(10)), 5e-3)
}

// 100 mg/L CaCO₃ (1.9984 meq/L), closed, from pH 7.5 to 5.8 takes 1.5318 meq/L of
// strong acid at 25 °C [D].
func TestClosedSystem(t *testing.T) {
	e := at(t, 25, 0)
	assert.InDelta(t, 1.5318, e.AcidDemand(7.5, 5.8, 1.9984, false), 1e-3)
	// Once carbon dioxide has gone hardly any bicarbonate is left at pH 5.8, so
	// nearly all of the alkalinity has to be neutralised.
	assert.InDelta(t, 1.9984, e.AcidDemand(7.5, 5.8, 1.9984, true), 0.01)
}

// Water at rest with air has pH 5.6 to 5.65 (clean rain; textbooks [M]).
func TestCleanRain(t *testing.T) {
	assert.InDelta(t, 5.62, at(t, 25, 0).OpenPH(0, Totals{}, OutdoorCO2), 0.05)
}

// Reference buffers of NIST at 25 °C: equimolal phosphate 0.025 + 0.025 has pH
// 6.865, KH₂ citrate 0.05 pH 3.776 [M]. Davies' equation is good to 0.05 there.
func TestReferenceBuffers(t *testing.T) {
	phosphate := at(t, 25, 0.1)
	assert.InDelta(t, 6.865, phosphate.PH(75, Totals{Phosphate: 50}), 0.05)
	citrate := at(t, 25, 0.052)
	assert.InDelta(t, 3.776, citrate.PH(50, Totals{Citrate: 50}), 0.05)
}

// Davies' coefficient: 0.1 mol/L at 25 °C gives 0.78 for charge 1 (textbooks [M]).
func TestDavies(t *testing.T) {
	assert.InDelta(t, 0.78, daviesGamma(25, 0.1), 0.01)
	assert.Equal(t, 1.0, daviesGamma(25, 0))
}

func TestEquilibriumRefuses(t *testing.T) {
	for name, x := range map[string][2]float64{"frozen": {-1, 0}, "hot": {60, 0}, "concentrate": {20, 1}, "not a number": {math.NaN(), 0}} {
		t.Run(name, func(t *testing.T) {
			_, err := NewEquilibrium(x[0], x[1])
			assert.ErrorContains(t, err, "hold")
		})
	}
}

// More alkali, higher pH; the pH found gives the alkali back; opening a solution
// that holds more carbon than the air gives raises its pH.
func TestPHProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := at(t, rapid.Float64Range(0, 50).Draw(t, "T"), rapid.Float64Range(0, 0.1).Draw(t, "I"))
		totals := Totals{
			Carbon:    rapid.Float64Range(0, 10).Draw(t, "carbon"),
			Phosphate: rapid.Float64Range(0, 5).Draw(t, "phosphate"),
			Citrate:   rapid.Float64Range(0, 2).Draw(t, "citrate"),
		}
		a := rapid.Float64Range(-1, 12).Draw(t, "alkali")
		pH := e.PH(a, totals)
		require.InDelta(t, a, e.Alkali(pH, totals), 1e-6)
		require.GreaterOrEqual(t, e.PH(a+0.1, totals), pH)
		open := e.OpenPH(a, totals, OutdoorCO2)
		if totals.Carbon > e.OpenCarbon(open, OutdoorCO2) {
			require.GreaterOrEqual(t, open, pH-1e-9)
		}
	})
}
