package solution

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Equivalent conductivities at 25 °C, S·cm²/eq, from the CRC Handbook's table of
// electrolytes, read from memory [M]: EC = Λ·c.
func TestConductivityOfSingleSalts(t *testing.T) {
	salt := func(cation, anion Ion, zc, za float64) func(eq float64) Composition {
		return func(eq float64) Composition {
			var c Composition
			c[cation], c[anion] = 1000*eq/zc, 1000*eq/za
			return c
		}
	}
	tests := map[string]struct {
		of     func(float64) Composition
		lambda map[float64]float64 // by eq/L
	}{
		"KCl":   {salt(Potassium, Chloride, 1, 1), map[float64]float64{0.001: 146.88, 0.01: 141.20, 0.05: 133.30, 0.1: 128.90}},
		"NaCl":  {salt(Sodium, Chloride, 1, 1), map[float64]float64{0.001: 123.68, 0.01: 118.45, 0.05: 111.01, 0.1: 106.69}},
		"KNO3":  {salt(Potassium, Nitrate, 1, 1), map[float64]float64{0.001: 141.77, 0.01: 132.75, 0.05: 126.25}},
		"CaCl2": {salt(Calcium, Chloride, 2, 1), map[float64]float64{0.001: 130.30, 0.01: 120.30, 0.05: 108.42}},
		"MgCl2": {salt(Magnesium, Chloride, 2, 1), map[float64]float64{0.001: 124.15, 0.01: 114.49, 0.05: 103.03}},
		// MgSO₄ 0.01 eq/L: 84.5 (Dunsmore & James 1951), a pair-forming salt.
		"MgSO4": {salt(Magnesium, Sulfate, 2, 2), map[float64]float64{0.01: 84.5}},
	}
	const simple, paired = 0.035, 0.06
	for name, tt := range tests {
		for eq, lambda := range tt.lambda {
			t.Run(fmt.Sprint(name, " ", eq), func(t *testing.T) {
				tolerance := simple
				if name == "MgSO4" {
					tolerance = paired
				}
				assert.InEpsilon(t, lambda*eq, tt.of(eq).Conductivity(), tolerance)
			})
		}
	}
}

// The bottle values of KCl, 0.01 and 0.1 mol/L: 1.413 and 12.88 mS/cm [P].
func TestConductivityOfStandards(t *testing.T) {
	for mmol, want := range map[float64]float64{10: 1.413, 100: 12.88} {
		var c Composition
		c[Potassium], c[Chloride] = mmol, mmol
		assert.InEpsilon(t, want, c.Conductivity(), 0.01)
	}
}

// Full-strength Hoagland solution has an EC of 2.0 to 2.2 mS/cm (laboratories'
// reports [M]); the sum of its cations says 1.9.
func TestConductivityOfHoagland(t *testing.T) {
	c := hoagland()
	assert.InDelta(t, 2.1, c.Conductivity(), 0.15)
	assert.InDelta(t, 1.9, c.RoughEC(), 1e-9)
	assert.InDelta(t, c.Cations(), c.Anions(), 1e-9)
}

// More salt conducts more, but each addition less than the one before; the order
// of magnitude is that of the rule of cations.
func TestConductivityProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c Composition
		for _, s := range Salts() {
			c = c.Plus(s.Ions, rapid.Float64Range(0, 4).Draw(t, s.Name))
		}
		if c.Cations() < 0.1 || c.Cations() > 60 {
			t.Skip()
		}
		ec := c.Conductivity()
		stronger := c.Times(1.2).Conductivity()
		require.Greater(t, stronger, ec)
		require.Less(t, stronger, 1.2*ec)
		require.InEpsilon(t, c.RoughEC(), ec, 0.45)
	})
}
