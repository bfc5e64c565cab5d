package solution

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestRiseByTopUps(t *testing.T) {
	tests := map[string]struct {
		of   TopUps
		want float64
		band float64
	}{
		// Water of 2 meq/L under 1260 µatm at 25 °C, no ions: pH = pK₁ + pK_H +
		// log 0.002 − log 0.00126 = 6.352 + 1.468 − 2.699 + 2.900 = 8.02 [D].
		"tap water that airs": {TopUps{PH: 7.5, Temperature: 25, Before: 1, Water: Water{PH: 7.5, Alkalinity: 2}}, 8.02 - 7.5, 0.02},
		// 1 mmol/L of phosphate at pH 6.2, no ions, 0.30 meq/L of alkalinity comes in.
		// With pK₂ 7.198 its charge goes from 1.091 to 1.293, and bicarbonate under
		// 1260 µatm (pK 1.468 and 6.352) from 0.030 to 0.127: 6.82 by hand [D].
		"float valve": {TopUps{PH: 6.2, Temperature: 25, Phosphate: 1, Since: 0.1, Water: Water{PH: 7.5, Alkalinity: 3}}, 0.62, 0.02},
		"rain":        {TopUps{PH: 6, EC: 1.5, Temperature: 20, Before: 0.3, Since: 1, Water: Water{}}, 0, 1e-6},
		"nothing":     {TopUps{PH: 6, EC: 1.5, Temperature: 20, Water: Water{EC: 0.5, Alkalinity: 4}}, 0, 1e-6},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			by, sd, err := tt.of.Rise()
			require.NoError(t, err)
			assert.InDelta(t, tt.want, by, tt.band)
			assert.GreaterOrEqual(t, sd, 0.0)
			assert.Less(t, sd, 0.5)
		})
	}
	_, _, err := TopUps{PH: 0, EC: 1, Temperature: 20}.Rise()
	assert.ErrorContains(t, err, "pH 3 to 9.5")
	_, _, err = TopUps{PH: 6, EC: 1, Temperature: 80}.Rise()
	assert.ErrorContains(t, err, "constants hold")
}

// What a plan foretells for tomorrow and what a course makes of the same top-up
// are one chemistry: a tank that was filled up with hard water and not corrected.
func TestRiseAgreesWithTheTank(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		water := Water{EC: 0.4, PH: 7.5, Alkalinity: rapid.Float64Range(0.5, 5).Draw(t, "alkalinity")}
		share := rapid.Float64Range(0.05, 0.5).Draw(t, "share")
		phosphate := rapid.Float64Range(0.3, 1.5).Draw(t, "phosphate")
		pH := rapid.Float64Range(5, 6.5).Draw(t, "pH")
		resting, err := restingCarbon(1.5, pH, standingCO2, 20)
		require.NoError(t, err)
		standing, err := Standing(100*(1-share), 1.5, pH, Totals{Phosphate: phosphate, Carbon: resting}, 20)
		require.NoError(t, err)
		poured, err := FillWith(water, 100*share, 20)
		require.NoError(t, err)
		// The feed in the top-up, as acid phosphate.
		poured = poured.Dose(Stock{Strength: 1.1, Phosphate: phosphate}, 100*share)
		mixed := standing.Join(poured)
		before, err := mixed.PH()
		require.NoError(t, err)
		after, err := mixed.AiredPH(standingCO2)
		require.NoError(t, err)
		by, _, err := TopUps{PH: before, EC: mixed.EC(), Temperature: 20, Phosphate: phosphate, Before: share, Water: water}.Rise()
		require.NoError(t, err)
		require.InDelta(t, after-before, by, 0.12)
	})
}

func TestPHCourseWithKnownWater(t *testing.T) {
	course := PHCourse{Rate: 0.15, SD: 0.01, Days: 3, Start: 6}
	solutionOf := func(alkalinity, before, since float64) TopUps {
		return TopUps{EC: 1.5, Temperature: 20, Before: before, Since: since, Water: Water{EC: 0.4, Alkalinity: alkalinity}}
	}
	tests := map[string]struct {
		course PHCourse
		water  TopUps
		want   Reason
		says   []string
	}{
		"float valve on hard water": {course, solutionOf(3, 0, 0.04), HardWater, []string{"top-up water brings 0.04 meq/L of alkalinity a day", "% of it; neutralise it"}},
		"float valve on soft water": {course, solutionOf(0.2, 0, 0.12), NitrateUptake, []string{"brings 0.01 meq/L", "by itself makes +0.04 ± 0.01 a day, 27 % of it", "nitrate leave bicarbonate"}},
		"a refill that airs":        {course, solutionOf(4, 0.2, 0), HardWater, []string{"the last top-up brought 0.80 meq/L of alkalinity, whose carbon dioxide leaves"}},
		"rain":                      {course, solutionOf(0, 0.2, 0), NitrateUptake, []string{"the top-up water brought no alkalinity"}},
		"held down":                 {course, solutionOf(5, 0, 0.6), HardWater, []string{"more than it rose"}},
		"falls":                     {PHCourse{Rate: -0.15, SD: 0.01, Days: 3, Start: 6}, solutionOf(3, 0, 0.3), AmmoniumUptake, []string{"make acid"}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			c, err := tt.course.Explain(tt.water)
			require.NoError(t, err)
			got, evidence := c.Judge()
			assert.Equal(t, tt.want, got, evidence)
			for _, says := range tt.says {
				assert.Contains(t, evidence, says)
			}
		})
	}
}
