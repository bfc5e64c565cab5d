package design

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

// The trade says that a litre takes 11 cm of a 90–100 mm tube [common
// practice]; geometry says otherwise, by hand: 1000 cm³ / (π/4·9² cm²) and so
// on [D].
func TestALitreOfTube(t *testing.T) {
	tests := map[string]struct{ diameter, want float64 }{
		"90 mm round":     {90, 157},
		"100 mm round":    {100, 127},
		"170 mm lay-flat": {2 * 170 / math.Pi, 109},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			assert.InDelta(t, c.want, PerLitre(c.diameter, 1), 0.6)
		})
	}
	promised := thumb(95, 1100, 1)
	assert.InDelta(t, 10, promised.ByThumb, 1e-9, "a litre for every 11 cm")
	assert.InDelta(t, 7.80, promised.ByThumb/promised.Excess, 0.01, "π/4·9.5²·110 cm³ = 7.797 L")
}

// By hand: π/4·(13 cm)²·80 cm·0.97 = 10 300 cm³ [D].
func TestBagGeometry(t *testing.T) {
	bag := one(t, nil)
	assert.InDelta(t, 10.30, bag.Volume(), 0.005)
	round := one(t, func(_ *model.Site, b *model.Bag) { b.Fill = 1 })
	assert.InDelta(t, 130, 10*round.Hydraulic.Store.Tube().Height(), 0.01, "a full tube stays round")
	assert.Less(t, bag.Hydraulic.Store.Tube().Height(), round.Hydraulic.Store.Tube().Height(), "a slack one lies flatter")
}

// 1 % over 4 m is 40 mm: the last bag lives another life.
func TestASlopingChannelGrowsTheLift(t *testing.T) {
	site, err := Build(yard())
	assert.NoError(t, err)
	first, last := site.Bag("s1"), site.Bag("s3")
	assert.InDelta(t, 40, 10*(last.Lift-first.Lift), 1e-9)
	assert.Less(t, last.Equilibrium(), first.Equilibrium())
	assert.Less(t, last.SupplyAtLimit(), first.SupplyAtLimit())
	assert.Equal(t, []*Bag{first, site.Bag("s2"), last}, site.OnChannel("berries"))
	assert.Equal(t, site.OnChannel("berries"), site.FedBy("tank"))
	assert.Nil(t, site.Bag("s9"))
	assert.Nil(t, site.Reservoir("drum"))
	assert.Empty(t, site.OnChannel("basil"))
}
