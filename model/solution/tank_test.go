package solution

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func reagent(t require.TestingT, name string, percent float64) Reagent {
	r, err := NewReagent(name, percent)
	require.NoError(t, err)
	return r
}

// Concentrations on bottles and in laboratory tables [M].
func TestReagentStrength(t *testing.T) {
	tests := map[string]struct {
		name          string
		percent, want float64 // mol/L, or mmol/g
	}{
		"nitric 70 %, 15.8 mol/L":      {"nitric", 70, 15.8},
		"phosphoric 85 %, 14.7 mol/L":  {"phosphoric acid", 85, 14.7},
		"sulfuric 98 %, 18.4 mol/L":    {"sulfuric", 98, 18.4},
		"battery acid 35 %, 4.5 mol/L": {"sulfuric", 35, 4.5},
		"hydroxide 45 %, 11.7 mol/L":   {"potassium hydroxide", 45, 11.7},
		"citric acid powder, 5.2/g":    {"citric", 0, 5.205},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			assert.InEpsilon(t, tt.want, reagent(t, tt.name, tt.percent).Molarity, 0.015)
		})
	}
}

// University of Massachusetts extension [P]: 250 → 150 mg/L CaCO₃ in 100 US gal
// takes 23 mL of 93 % sulfuric acid by its own generous rule; 21.7 mL by a
// density of 1.835 [D].
func TestSulfuricAcidAgainstWorkedExample(t *testing.T) {
	const gallon = 3.785412
	meq := (250 - 150) / 50.04 * 100 * gallon
	ml := meq / reagent(t, "sulfuric", 93).Normality()
	assert.InEpsilon(t, 21.7, ml, 0.01)
	assert.InDelta(t, 23, ml, 1.5)
}

// North Carolina State University extension gives, for each meq/L of alkalinity
// and 1000 US gal, down to about pH 5.8: 8.1 fl oz of 75 % phosphoric, 11.0 of
// 35 % sulfuric, 6.6 of 61.4 % nitric acid [M].
func TestAcidRulesOfThumb(t *testing.T) {
	const litres, fluidOunce = 3785.412, 29.5735
	tests := map[string]struct {
		acid            string
		percent, ounces float64
	}{
		"phosphoric": {"phosphoric", 75, 8.1},
		"sulfuric":   {"sulfuric", 35, 11.0},
		"nitric":     {"nitric", 61.4, 6.6},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			// Their water: alkalinity 3 meq/L and pH 7.5 is usual.
			tank, err := FillWith(Water{EC: 0.5, PH: 7.5, Alkalinity: 3}, litres, 20)
			require.NoError(t, err)
			pH, err := tank.React(reagent(t, tt.acid, tt.percent), 3*tt.ounces*fluidOunce).PH()
			require.NoError(t, err)
			assert.InDelta(t, 5.8, pH, 0.3)
		})
	}
}

func TestReagentRefuses(t *testing.T) {
	for name, tt := range map[string]struct {
		acid    string
		percent float64
		want    string
	}{
		"hypochlorite":  {"hypochlorite", 10, "nitric acid, phosphoric acid"},
		"too strong":    {"nitric", 99, "1 to 70 %"},
		"a fraction":    {"phosphoric", 0.85, "1 to 85 %"},
		"dilute powder": {"citric", 20, "mol/L"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := NewReagent(tt.acid, tt.percent)
			assert.ErrorContains(t, err, tt.want)
		})
	}
	_, err := NewReagentMolar("nitric", 0)
	assert.ErrorContains(t, err, "mol/L")
}

// Whatever is poured, drawn and dosed, water and every dissolved thing is
// somewhere.
func TestTankConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, high float64) float64 { return rapid.Float64Range(0, high).Draw(t, name) }
		tank, err := Standing(1+draw("V", 500), draw("ec", 4), 4+draw("pH", 4), Totals{Phosphate: draw("P", 3), Carbon: draw("C", 3)}, draw("T", 40))
		require.NoError(t, err)
		water, err := FillWith(Water{EC: draw("water ec", 1), PH: 6 + draw("water pH", 2), Alkalinity: draw("alkalinity", 6)}, draw("W", 500), 15)
		require.NoError(t, err)
		stock := Stock{Strength: draw("strength", 0.3), Phosphate: draw("stock P", 0.2)}
		acid := reagent(t, "phosphoric", 10+draw("percent", 75))
		ml, acidML := draw("ml", 2000), draw("acid", 100)

		left, taken := tank.Join(water).Dose(stock, ml).React(acid, acidML).Draw(draw("drawn", 900))
		total := left.Join(taken)
		require.InDelta(t, tank.Volume+water.Volume+(ml+acidML)/1000, total.Volume, 1e-6)
		require.InDelta(t, tank.Salt+water.Salt+stock.Strength*ml+acid.Conducts*acid.Molarity*acidML, total.Salt, 1e-6)
		require.InDelta(t, tank.Alkali+water.Alkali+stock.Phosphate*ml, total.Alkali, 1e-6)
		require.InDelta(t, tank.Totals.Phosphate+stock.Phosphate*ml+acid.Molarity*acidML, total.Totals.Phosphate, 1e-6)
		require.InDelta(t, tank.Totals.Carbon+water.Totals.Carbon, total.Totals.Carbon, 1e-6)
		if left.Volume > 0 && taken.Volume > 0 {
			require.InDelta(t, left.EC(), taken.EC(), 1e-9)
		}
	})
}

// A tank gives back what was measured of it.
func TestStandingGivesItsPH(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pH := rapid.Float64Range(3.5, 8.5).Draw(t, "pH")
		tank, err := Standing(rapid.Float64Range(1, 500).Draw(t, "V"), rapid.Float64Range(0.2, 4).Draw(t, "ec"), pH,
			Totals{Phosphate: rapid.Float64Range(0, 3).Draw(t, "P"), Carbon: rapid.Float64Range(0, 3).Draw(t, "C")}, rapid.Float64Range(5, 35).Draw(t, "T"))
		require.NoError(t, err)
		got, err := tank.PH()
		require.NoError(t, err)
		require.InDelta(t, pH, got, 1e-6)
	})
}

func TestEmptyTankHasNoPH(t *testing.T) {
	_, err := Tank{Temperature: 20}.PH()
	assert.ErrorContains(t, err, "empty")
	assert.Zero(t, Tank{}.EC())
}
