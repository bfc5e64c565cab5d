package design

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model/hydraulics"
)

// conducting is a material of which only the conductivity is asked, by suction.
type conducting func(s float64) float64

func (c conducting) Theta(float64) float64          { return 0.5 }
func (c conducting) Capacity(float64) float64       { return 0 }
func (c conducting) Conductivity(h float64) float64 { return c(math.Max(0, -h)) }
func (c conducting) Saturated() float64             { return 0.9 }
func (c conducting) Residual() float64              { return 0 }

var _ hydraulics.Material = conducting(nil)

// Gardner (1958) and Gardner & Fireman: what an ideal soil lifts at most over a
// height. Exponential K: Ks/(exp(αL)−1); K = a/(s²+b) [both D]. The loam of
// Carsel & Parrish (1988), 50 cm: 0.402670 cm/d [D].
func TestGreatestRise(t *testing.T) {
	exponential := func(ks, alpha float64) hydraulics.Material {
		return conducting(func(s float64) float64 { return ks * math.Exp(-alpha*s) })
	}
	power := conducting(func(s float64) float64 { return 400 / (s*s + 400) })
	loam := hydraulics.VanGenuchten{ResidualTheta: 0.078, SaturatedTheta: 0.43, Alpha: 0.036, N: 1.56, Ks: 24.96 / 24}
	tests := map[string]struct {
		material hydraulics.Material
		lift, q  float64
	}{
		"exponential, coarse":     {exponential(1, 0.05), 20, 0.581977},
		"exponential, conducting": {exponential(10, 0.1), 30, 0.523957},
		"exponential, short":      {exponential(1, 0.1), 15, 0.287217},
		"power with b":            {power, 20, 1.148454},
		"power with b, far":       {power, 50, 0.302985},
		"loam":                    {loam, 50, 0.402670 / 24},
	}
	const dry = 1e5 // cm, as good as infinite here
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			assert.InEpsilon(t, c.lift, rise(c.material, c.q, dry), 0.001)
			assert.InEpsilon(t, c.q, flux(c.material, c.lift, dry), 0.005)
		})
	}
}

// The same integral by another road: the tabulated supply of package hydraulics.
func TestRiseAgreesWithTheTabulatedSupply(t *testing.T) {
	for _, name := range []string{"stone wool", "wool felt"} {
		m, ok := hydraulics.Typical(name)
		require.True(t, ok)
		const lift = 9.0
		s, err := hydraulics.NewSupply(hydraulics.Wick{Material: m.Material, Section: 1, Count: 1, Lift: lift})
		require.NoError(t, err)
		for _, suction := range []float64{12, 51, 200} {
			assert.InEpsilon(t, s.Flux(suction), flux(m.Material, lift, suction), 1e-4, "%s at %g cm", name, suction)
			assert.InEpsilon(t, lift, rise(m.Material, s.Flux(suction), suction), 1e-4, "%s at %g cm", name, suction)
		}
	}
}

func TestRiseAtItsEnds(t *testing.T) {
	m, _ := hydraulics.Typical("stone wool")
	assert.InDelta(t, 51, rise(m.Material, 0, 51), 1e-6, "still water stands as high as the suction")
	assert.Zero(t, rise(m.Material, 1, 0))
	assert.Zero(t, flux(m.Material, 51, 51), "at equilibrium nothing flows")
	assert.Zero(t, flux(m.Material, 60, 51))
}

func TestSupplyOverTheBagsOwnLift(t *testing.T) {
	bag := one(t, nil)
	assert.InEpsilon(t, bag.SupplyAtLimit(), bag.SupplyOver(bag.Lift), 1e-3)
	assert.InEpsilon(t, bag.Lift, bag.FarthestLift(bag.SupplyAtLimit()), 1e-3)
	assert.InEpsilon(t, bag.Wick.Section*float64(bag.Wick.Count), bag.SectionFor(bag.SupplyAtLimit()), 1e-3)
}
