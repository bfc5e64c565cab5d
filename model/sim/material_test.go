package sim

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"wickd/model"
	"wickd/model/hydraulics"
)

// A scattered material must stay one: capacity is the slope of the content,
// and scaling van Genuchten's parameters is the same as scaling the heads.
func TestSimilarMedia(t *testing.T) {
	v := hydraulics.VanGenuchten{ResidualTheta: 0.09, SaturatedTheta: 0.74, Alpha: 0.12, N: 1.52, Ks: 320}
	f := factors{content: 1.03, head: 0.9, conductivity: 1.2}
	wrapped, parameters := similar{of: v, factors: f}, f.of(v)
	assert.IsType(t, v, parameters)
	for _, h := range []float64{0, -0.5, -7, -20, -100, -5000} {
		assert.InDelta(t, parameters.Theta(h), wrapped.Theta(h), 1e-12)
		assert.InDelta(t, parameters.Capacity(h), wrapped.Capacity(h), 1e-12)
		assert.InEpsilon(t, parameters.Conductivity(h), wrapped.Conductivity(h), 1e-9)
		if h < 0 {
			d := 1e-4 * h
			slope := (wrapped.Theta(h+d) - wrapped.Theta(h-d)) / (2 * d)
			assert.InEpsilon(t, slope, wrapped.Capacity(h), 1e-4)
		}
	}
	assert.LessOrEqual(t, factors{content: 5, head: 1, conductivity: 1}.of(v).Saturated(), fullest+1e-12)
}

func TestMixtureFromPartsRuns(t *testing.T) {
	site := few("a1")
	site.Media["mix"] = model.Medium{Name: "mix", Shrink: 0.08, Parts: []model.Part{
		{Material: "perlite", Fraction: 0.5}, {Material: "coir", Fraction: 0.3}, {Material: "peat", Fraction: 0.2},
	}}
	s := begin(t, Options{Site: site, Seed: 1, Faults: []Fault{{Kind: WickLostContact, Subject: "bag/a1", Start: at(6), Size: 0.05}}})
	water, _ := balance(s.Truth())
	run(t, s, 48)
	left, _ := balance(s.Truth())
	assert.InEpsilon(t, water, left, 1e-6)
}

// The truth scatters by as much as Scatter says: 144 bags give each standard
// deviation within four of its standard errors, sd/√288.
func TestScatterIsAsStated(t *testing.T) {
	var demand, wick []float64
	for seed := range uint64(12) {
		s, err := New(Options{Site: DemoSite(), Seed: seed, Start: start, Scatter: Scatter{Demand: 0.15, Wick: 0.10}})
		require.NoError(t, err)
		for _, b := range s.Truth().Bags {
			demand = append(demand, math.Log(b.DemandFactor))
			wick = append(wick, math.Log(b.WickHealth))
		}
	}
	assert.InDelta(t, 0.15, stat.StdDev(demand, nil), 4*0.15/math.Sqrt(288))
	assert.InDelta(t, 0.10, stat.StdDev(wick, nil), 4*0.10/math.Sqrt(288))
	assert.InDelta(t, 0, stat.Correlation(demand, wick, nil), 4/math.Sqrt(144))
}
