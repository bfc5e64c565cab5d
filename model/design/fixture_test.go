package design

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/model"
)

// yard is a small Kestrel Yard: three strawberry bags down a sloping channel.
// Nobody measured its figures.
func yard() *model.Site {
	site := &model.Site{
		Name:              "Kestrel Yard",
		Place:             &model.Place{Latitude: 47, Longitude: 8.5, Elevation: 310},
		TimeZone:          time.UTC,
		CoverTransmission: 0.7,
		Media: map[string]model.Medium{
			"own": {Name: "own", Conductivity: 330, Retention: &model.Retention{Residual: 0.09, Saturated: 0.73, Alpha: 0.13, N: 1.53}, Shrink: -1},
		},
		Wicks:      map[string]model.WickKind{"wedge": {Name: "wedge", Section: 6, Material: "stone wool", Typical: true}},
		Crops:      map[string]model.Crop{"strawberry": {Name: "strawberry", Builtin: "strawberry"}},
		Reservoirs: []model.Reservoir{{ID: "tank", Shape: model.Shape{Kind: model.Box, Length: 800, Width: 600}, Full: 300, Empty: 50}},
		Channels:   []model.Channel{{ID: "berries", Reservoir: "tank", Lift: 70, Slope: 0.01}},
	}
	for i, id := range []string{"s1", "s2", "s3"} {
		site.Bags = append(site.Bags, model.Bag{
			ID: id, Channel: "berries", Position: 2000 * float64(i), Diameter: 130, Length: 800, Fill: 0.97,
			Media: "own", Wick: "wedge", WickCount: 3, Plants: 5, Crop: "strawberry", Canopy: 0.5,
		})
	}
	return site
}

// one is a yard with a single bag, changed by change.
func one(t *testing.T, change func(site *model.Site, bag *model.Bag)) *Bag {
	t.Helper()
	site := yard()
	site.Bags = site.Bags[:1]
	if change != nil {
		change(site, &site.Bags[0])
	}
	built, err := Build(site)
	require.NoError(t, err)
	return built.Bags[0]
}
