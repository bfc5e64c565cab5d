package climate_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model/climate"
)

func TestKcAdjustmentOfTaipei(t *testing.T) {
	// FAO-56 eq 62: maize of 2 m, 1.3 m/s, minimum humidity 75 %: 1.20 becomes
	// 1.07 [P], 1.06895 [D].
	assert.InDelta(t, 1.06895, climate.AdjustKc(1.20, 1.3, 0.75, 2), 1e-5)
	assert.Equal(t, 1.15, climate.AdjustKc(1.15, 2, 0.45, 0.6), "the standard climate changes nothing")
	assert.Equal(t, climate.AdjustKc(1, 1, 0.8, 0.1), climate.AdjustKc(1, 0.2, 0.99, 0.01), "cut to the equation's range")
}

func TestStrawberryOfFAO56(t *testing.T) {
	c, ok := climate.Lookup("Strawberry")
	require.True(t, ok)
	// [P] FAO-56 table 12.
	assert.Equal(t, climate.Coefficients{Initial: 0.40, Mid: 0.85, End: 0.75}, c.Kc)
	assert.Equal(t, 0.2, c.Height)
	// [P] Taylor & Ashcroft 1972, reprinted: 200 cm at high demand, 300 at low.
	assert.Equal(t, 200.0, c.Dry.Dry1High)
	assert.Equal(t, 300.0, c.Dry.Dry1Low)
	// [P] FAO-56 table 23, ranges.
	assert.GreaterOrEqual(t, c.Salinity.Threshold, 1.0)
	assert.LessOrEqual(t, c.Salinity.Threshold, 1.5)
	assert.GreaterOrEqual(t, c.Salinity.Slope, 11.0)
	assert.LessOrEqual(t, c.Salinity.Slope, 33.0)
	// FAO-56 table 11 has no strawberry.
	assert.Contains(t, c.Sources["Stages"], "common practice")
}

func TestEveryFigureHasASource(t *testing.T) {
	wanted := []string{
		"Kc", "Stages", "Height", "Dry1High", "Dry1Low", "Dry2", "Salinity", "ECLimit", "LitresADay",
	}
	// A field added to Crop must be sourced too.
	assert.Equal(t, 9, reflect.TypeFor[climate.Crop]().NumField())
	for _, c := range climate.Crops() {
		t.Run(c.Name, func(t *testing.T) {
			assert.Len(t, c.Sources, len(wanted))
			for _, field := range wanted {
				assert.NotEmpty(t, c.Sources[field], field)
			}
			assert.Less(t, c.Kc.Initial, c.Kc.Mid)
			assert.LessOrEqual(t, c.Kc.End, c.Kc.Mid)
			assert.LessOrEqual(t, c.Dry.Dry1High, c.Dry.Dry1Low)
			assert.Less(t, c.Dry.Dry1Low, c.Dry.Dry2)
			assert.Greater(t, c.Stages.Total(), 60.0)
			assert.Greater(t, c.ECLimit, c.Salinity.Threshold)
			found, ok := climate.Lookup(c.Name)
			assert.True(t, ok)
			assert.Equal(t, c, found)
		})
	}
}

func TestLookup(t *testing.T) {
	for _, name := range []string{
		"strawberry", "sweet pepper", "sweet-pepper", "Sweet_Pepper", " tomato ", "lettuce", "basil", "herbs", "cucumber",
	} {
		_, ok := climate.Lookup(name)
		assert.True(t, ok, name)
	}
	_, ok := climate.Lookup("maize")
	assert.False(t, ok)
	climate.Crops()[0].Sources["Kc"] = "spoilt"
	assert.NotEqual(t, "spoilt", climate.Crops()[0].Sources["Kc"])
}

func TestKcByStage(t *testing.T) {
	// [P] FAO-56 figure 34's shape on table 12's strawberry; days by hand.
	c := climate.Crop{
		Kc:     climate.Coefficients{Initial: 0.40, Mid: 0.85, End: 0.75},
		Stages: climate.Stages{Initial: 20, Development: 30, Mid: 80, Late: 20},
	}
	planted := instant(2025, time.April, 10, 0, 0)
	for day, want := range map[int]float64{
		-5: 0.40, 0: 0.40, 20: 0.40, 35: 0.625, 50: 0.85, 100: 0.85, 130: 0.85, 140: 0.80, 150: 0.75, 400: 0.75,
	} {
		got := c.KcAt(planted, planted.AddDate(0, 0, day))
		assert.InDelta(t, want, got, 1e-9, "day %d", day)
	}
}

func TestKcStaysBetweenItsStages(t *testing.T) {
	planted := instant(2025, time.April, 10, 0, 0)
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(climate.Crops()).Draw(t, "crop")
		hours := rapid.IntRange(-1000, 10000).Draw(t, "hours")
		at := planted.Add(time.Duration(hours) * time.Hour)
		kc, next := c.KcAt(planted, at), c.KcAt(planted, at.Add(time.Hour))
		assert.GreaterOrEqual(t, kc, c.Kc.Initial)
		assert.LessOrEqual(t, kc, c.Kc.Mid)
		assert.InDelta(t, kc, next, 0.003, "no jumps")
	})
	bare := climate.Crop{Kc: climate.Coefficients{Initial: 0.5, Mid: 1, End: 0.8}}
	assert.Equal(t, 0.8, bare.KcAt(planted, planted.AddDate(0, 0, 1)), "no stages: at its end at once")
}

func TestDryStress(t *testing.T) {
	strawberry, _ := climate.Lookup("strawberry")
	dry := strawberry.Dry
	// [P] Taylor & Ashcroft 1972: the fall starts at 200 cm under high demand,
	// 300 cm under low; halfway between at 3 mm/d.
	for demand, want := range map[float64]float64{0: 300, 1: 300, 3: 250, 5: 200, 12: 200} {
		assert.InDelta(t, want, dry.Limit(demand), 1e-9, "%v mm/d", demand)
	}
	assert.Equal(t, 1.0, dry.Stress(200, 5))
	assert.Less(t, dry.Stress(250, 5), 1.0)
	assert.Equal(t, 1.0, dry.Stress(250, 1))
	assert.Zero(t, dry.Stress(dry.Dry2, 1))
	assert.InDelta(t, 0.5, dry.Stress((200+dry.Dry2)/2, 5), 1e-12)
	for _, wet := range []float64{25, 10, 1, 0, -5} {
		assert.Equal(t, 1.0, dry.Stress(wet, 5), "no wet limit over a water table")
	}
}

func TestStressIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(climate.Crops()).Draw(t, "crop")
		suction := rapid.Float64Range(-50, 20000).Draw(t, "suction")
		demand := rapid.Float64Range(0, 15).Draw(t, "demand")
		more := rapid.Float64Range(0, 2000).Draw(t, "more")
		here := c.Dry.Stress(suction, demand)
		assert.True(t, here >= 0 && here <= 1)
		assert.LessOrEqual(t, c.Dry.Stress(suction+more, demand), here)
		assert.LessOrEqual(t, c.Dry.Stress(suction, demand+more/500), here)

		salt := rapid.Float64Range(0, 30).Draw(t, "salt")
		assert.LessOrEqual(t, c.Salinity.Stress(salt+more/100), c.Salinity.Stress(salt))
	})
}

func TestSalinityAfterMaasAndHoffman(t *testing.T) {
	// [M] Maas & Hoffman 1977, as FAO Irrigation and Drainage Paper 29 tabulates
	// them: dS/m at which yield falls to 90, 75, 50 and 0 %; rounded there.
	tests := map[string][4]float64{
		"strawberry":   {1.3, 1.8, 2.5, 4},
		"sweet pepper": {2.2, 3.3, 5.1, 8.6},
		"tomato":       {3.5, 5.0, 7.6, 13},
		"cucumber":     {3.3, 4.4, 6.3, 10},
		"lettuce":      {2.1, 3.2, 5.1, 9.0},
	}
	for name, at := range tests {
		c, _ := climate.Lookup(name)
		for i, yield := range []float64{0.90, 0.75, 0.50, 0} {
			assert.InDelta(t, yield, c.Salinity.Stress(at[i]), 0.06, fmt.Sprint(name, " at ", at[i]))
		}
		assert.Equal(t, 1.0, c.Salinity.Stress(0))
	}
}

func TestSaturationExtractDilutes(t *testing.T) {
	assert.InDelta(t, 1.5, climate.SaturationExtract(3, 0.4, 0.8), 1e-12)
	assert.Equal(t, 3.0, climate.SaturationExtract(3, 0.9, 0.8), "never concentrates")
}
