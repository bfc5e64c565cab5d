package design

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/hydraulics"
)

// De Boodt & Verdonck (1972): easily available water ends at 5 kPa, 50.985 cm.
// In a flat bag the mean over its height lies between the medium's water content
// there and a bag's height above.
func TestDryLimitIsTheEndOfEasilyAvailableWater(t *testing.T) {
	bag := one(t, func(_ *model.Site, b *model.Bag) { b.Diameter = 40 })
	m := bag.Hydraulic.Store.Material()
	height := bag.Hydraulic.Store.Tube().Height()
	assert.Less(t, bag.DryLimit, m.Theta(-50.985))
	assert.Greater(t, bag.DryLimit, m.Theta(-(50.985 + height)))
	assert.InDelta(t, 50.985, bag.suctionAtLimit(), 0.01)
	assert.InDelta(t, bag.Saturated-0.10, bag.WetLimit, 1e-12)
}

func TestTheGrowersOwnLimits(t *testing.T) {
	bag := one(t, func(_ *model.Site, b *model.Bag) { b.DryLimit, b.AirLimit = 0.42, 0.15 })
	assert.Equal(t, 0.42, bag.DryLimit)
	assert.InDelta(t, 0.58, bag.WetLimit, 1e-12)
	assert.InDelta(t, (bag.Equilibrium()-0.42)*bag.Volume(), bag.EasilyAvailable(), 1e-12)
	dry := one(t, func(_ *model.Site, b *model.Bag) { b.DryLimit = 0.72 })
	assert.Zero(t, dry.EasilyAvailable(), "a bag that is dry at rest gives nothing, not less")
}

func TestTypicalValuesAreSaid(t *testing.T) {
	typical := one(t, func(s *model.Site, b *model.Bag) {
		s.Media["mix"] = model.Medium{Name: "mix", Shrink: -1, Typical: true, Parts: []model.Part{{Material: "perlite", Fraction: 0.5}, {Material: "coir", Fraction: 0.5}}}
		b.Media, b.Canopy = "mix", 0
	})
	text := strings.Join(typical.Notes, "\n")
	for _, want := range []string{"perlite: typical", "coir: typical", "mix: loses", "wedge: typical", "strawberry: leaf-covered area"} {
		assert.Contains(t, text, want)
	}
	measured := one(t, func(s *model.Site, _ *model.Bag) {
		s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 6, Conductivity: 110, Retention: &model.Retention{Residual: 0.01, Saturated: 0.95, Alpha: 0.095, N: 3.5}}
	})
	assert.Empty(t, measured.Notes, "nothing here is typical")
	assert.Equal(t, "wedge", measured.WickName)
}

// A bag names a built-in medium directly, and a wick's own conductivity counts.
func TestNamesAndFiguresOfMedia(t *testing.T) {
	bag := one(t, func(s *model.Site, b *model.Bag) {
		b.Media = "peat"
		s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 6, Material: "stone wool", Conductivity: 33}
	})
	assert.True(t, bag.Medium.Typical)
	assert.Equal(t, 33.0, bag.Wick.Material.Conductivity(0))
	measured, _, err := Material(model.Medium{Name: "m", Shrink: 0.12, Parts: []model.Part{{Material: "perlite", Fraction: 0.5}, {Material: "coir", Fraction: 0.5}}})
	require.NoError(t, err)
	share, typical := measured.(*hydraulics.Mixture).Shrink()
	assert.False(t, typical)
	assert.Equal(t, 0.12, share)
}

func TestErrorsNameTheBag(t *testing.T) {
	tests := map[string]struct {
		change func(s *model.Site)
		want   []string
	}{
		"medium": {func(s *model.Site) { s.Bags[0].Media = "sawdust" }, []string{"bag s1", "sawdust"}},
		"part": {func(s *model.Site) {
			s.Media["own"] = model.Medium{Name: "own", Shrink: -1, Parts: []model.Part{{Material: "sawdust", Fraction: 1}}}
		}, []string{"bag s1", "sawdust"}},
		"wick":    {func(s *model.Site) { s.Bags[0].Wick = "rope" }, []string{"bag s1", "rope"}},
		"felt":    {func(s *model.Site) { s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 6, Material: "rope"} }, []string{"bag s1", "wedge", "rope"}},
		"channel": {func(s *model.Site) { s.Bags[0].Channel = "nowhere" }, []string{"bag s1", "nowhere"}},
		"tube":    {func(s *model.Site) { s.Bags[0].Length = -3 }, []string{"bag s1", "length"}},
		"lift":    {func(s *model.Site) { s.Channels[0].Lift = 0 }, []string{"bag s1", "lift"}},
		"tank":    {func(s *model.Site) { s.Reservoirs[0].Shape.Kind = "sack" }, []string{"reservoir tank", "sack"}},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			site := yard()
			site.Bags = site.Bags[:1]
			c.change(site)
			_, err := Build(site)
			for _, w := range c.want {
				assert.ErrorContains(t, err, w)
			}
		})
	}
}
