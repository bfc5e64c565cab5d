package solution

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// days simulates a reservoir of 150 L by hourly balances of water and salt, with
// a probe of 1.5 % noise: draw and evaporation in L/d, share as in exponentOf,
// and a probe that drifts by so much a day.
func days(n float64, draw, share, evaporation, drift float64) []Sample {
	rng := rand.New(rand.NewPCG(3, 9))
	volume, salt := 150.0, 150*1.4
	var all []Sample
	for h := 0.0; h < 24*n; h++ {
		ec := salt / volume
		all = append(all, Sample{Day: h / 24, Volume: volume, EC: ec * (1 + 0.015*rng.NormFloat64()) * math.Exp(drift*h/24)})
		salt -= draw / 24 * share * ec
		volume -= (draw + evaporation) / 24
	}
	return all
}

func TestCourseNamesTheReason(t *testing.T) {
	tests := map[string]struct {
		samples []Sample
		want    Reason
	}{
		"wicks lift it as it is":                {days(4, 14, 1, 0, 0), Steady},
		"evaporation":                           {days(5, 5, 1, 8, 0), WaterOverFeed},
		"plants drink on hot days":              {days(4, 20, 0.5, 0, 0), WaterOverFeed},
		"hungry plants":                         {days(4, 20, 1.5, 0, 0), FeedOverWater},
		"a probe drifts up, little drawn":       {days(4, 0.5, 1, 0, 0.05), ProbeDrift},
		"a probe drifts down, faster than salt": {days(3, 6, 1, 0, -0.12), ProbeDrift},
		"a probe drifts up beyond balance":      {days(4, 4, 1, 0, 0.08), ProbeDrift},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			c, err := FitCourse(tt.samples)
			require.NoError(t, err)
			got, evidence := c.Judge()
			assert.Equal(t, tt.want, got, "%s; exponent %.2f ± %.2f", evidence, c.Exponent, c.SD)
			assert.NotEmpty(t, evidence)
		})
	}
}

// exponentOf is the course of a reservoir that loses, in L/d, evaporation and draw,
// with plants that take salt at a share of its concentration: of the salt's own
// balance, dS/dV·V/S − 1.
func exponentOf(draw, share, evaporation float64) float64 {
	return share*draw/(draw+evaporation) - 1
}

// The exponent found is that of the balance: exponentOf is derived, the samples
// come from stepping water and salt.
func TestCourseFindsTheExponent(t *testing.T) {
	for name, tt := range map[string]struct{ draw, share, evaporation float64 }{
		"only water":   {0, 0, 15},
		"half as salt": {20, 0.5, 0},
		"more salt":    {15, 1.6, 2},
	} {
		t.Run(name, func(t *testing.T) {
			c, err := FitCourse(days(5, tt.draw, tt.share, tt.evaporation, 0))
			require.NoError(t, err)
			want := exponentOf(tt.draw, tt.share, tt.evaporation)
			assert.InDelta(t, want, c.Exponent, 4*c.SD)
			assert.Less(t, c.SD, 0.05)
			// What leaves is the draw with its share of salt, diluted by what evaporates.
			assert.InDelta(t, c.EC*tt.draw*tt.share/(tt.draw+tt.evaporation), c.Leaving(), 0.1)
		})
	}
}

func TestCourseRefuses(t *testing.T) {
	_, err := FitCourse(days(4, 14, 1, 0, 0)[:5])
	assert.ErrorContains(t, err, "6 are the least")
	_, err = FitCourse(days(4, 14, 1, 0, 0)[:10])
	assert.ErrorContains(t, err, "half a day")
	broken := days(4, 14, 1, 0, 0)
	broken[7].EC = 0
	_, err = FitCourse(broken)
	assert.ErrorContains(t, err, "above 0")
}

func TestJudgeRefill(t *testing.T) {
	base := Refill{VolumeBefore: 60, VolumeSD: 1, ECBefore: 1.5, ECSD: 0.015, WaterEC: 0.3, Target: 1.4, Band: 0.2}
	after := func(litres, ec float64) Refill {
		r := base
		r.VolumeAfter = r.VolumeBefore + litres
		r.ECAfter = (r.VolumeBefore*r.ECBefore + litres*ec) / r.VolumeAfter
		return r
	}
	tests := map[string]struct {
		refill Refill
		want   Reason
		poured float64
	}{
		"at the target":   {after(90, 1.35), RightRefill, 1.35},
		"plain water":     {after(90, 0.3), PlainRefill, 0.3},
		"double dose":     {after(90, 2.6), WrongRefill, 2.6},
		"half dose":       {after(90, 0.8), WrongRefill, 0.8},
		"a little weaker": {after(90, 1.15), RightRefill, 1.15}, // the reservoir stays in its band
		"a lying probe":   {Refill{VolumeBefore: 60, VolumeAfter: 90, VolumeSD: 1, ECBefore: 1.5, ECAfter: 0.5, ECSD: 0.015, WaterEC: 0.3, Target: 1.4, Band: 0.2}, ProbeDrift, -1.5},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			p, err := JudgeRefill(tt.refill)
			require.NoError(t, err)
			assert.Equal(t, tt.want, p.Reason, p.Evidence)
			assert.InDelta(t, tt.poured, p.EC, 1e-9)
			assert.Greater(t, p.ECSD, 0.0)
		})
	}
	_, err := JudgeRefill(base)
	assert.ErrorContains(t, err, "is none")
}

func TestPHCourse(t *testing.T) {
	samples := func(rate float64) []PHSample {
		rng := rand.New(rand.NewPCG(1, 2))
		var all []PHSample
		for h := 0.0; h < 72; h++ {
			all = append(all, PHSample{Day: h / 24, PH: 6 + rate*h/24 + 0.03*rng.NormFloat64()})
		}
		return all
	}
	tests := map[string]struct {
		rate float64
		want Reason
	}{
		"steady":   {0.01, Steady},
		"nitrate":  {0.15, NitrateUptake},
		"ammonium": {-0.15, AmmoniumUptake},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			c, err := FitPH(samples(tt.rate))
			require.NoError(t, err)
			got, evidence := c.Judge()
			assert.Equal(t, tt.want, got, evidence)
			assert.NotContains(t, evidence, "top-up", "nothing is known of the water")
			assert.InDelta(t, tt.rate, c.Rate, 4*c.SD)
			assert.InDelta(t, 6, c.Start, 0.02)
		})
	}
	_, err := FitPH(samples(0.1)[:3])
	assert.ErrorContains(t, err, "least")
	_, err = FitPH(samples(0.1)[:8])
	assert.ErrorContains(t, err, "half a day")
}
