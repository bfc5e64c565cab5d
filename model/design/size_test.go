package design

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model"
)

func berries(change func(r *Requirement)) Requirement {
	r := Requirement{Crop: model.Crop{Name: "strawberry", Builtin: "strawberry"}, Spill: -1}
	if change != nil {
		change(&r)
	}
	return r
}

// Common practice: five strawberries to a metre of the tube sold as 170 mm, each
// with about 2 L.
func TestSizeFromATube(t *testing.T) {
	p, err := Size(berries(func(r *Requirement) { r.Diameter, r.Plants, r.Transmission, r.Fill = 340/math.Pi, 50, 0.7, 1 }))
	require.NoError(t, err)
	assert.Equal(t, 5, p.PerBag)
	assert.Equal(t, 10, p.Bags)
	assert.InDelta(t, 170, p.LayFlat, 1e-9)
	assert.InDelta(t, 9.2, p.Report.Volume, 0.05)
	assert.Equal(t, Given, p.Origins["diameter"])
	assert.Equal(t, Practice, p.Origins["length"])
	assert.Equal(t, WorkedOut, p.Origins["bags"])

	assert.GreaterOrEqual(t, p.Report.Supply, 0.999*p.Margin*p.Report.PeakDemand, "the wicks lift what is wanted")
	assert.Greater(t, p.Report.AirSpace, MinAirSpace)
	assert.Empty(t, p.Report.Advice)
	assert.InDelta(t, 50*p.PerPlant, p.Demand, 1e-9)
	assert.GreaterOrEqual(t, p.Reservoir, 7*p.Demand)
	assert.NotEmpty(t, p.Report.Notes)

	bought := p.Media
	assert.InDelta(t, 10*p.Report.Volume, bought.Filled, 1e-6)
	assert.InDelta(t, bought.Filled, bought.Bought*(1-bought.Shrink)*(1-bought.Spill), 1e-9, "what is bought, mixed and not spilt, fills the bags")
	sum := 0.0
	for _, part := range bought.Parts {
		sum += part.Litres
	}
	assert.GreaterOrEqual(t, sum, bought.Bought)
	assert.Less(t, sum, bought.Bought+3)
	assertLifts(t, p)
}

// More lift never lifts more, nor leaves the bag wetter.
func assertLifts(t *testing.T, p Proposal) {
	t.Helper()
	require.NotEmpty(t, p.Lifts)
	for i, row := range p.Lifts {
		assert.InDelta(t, row.Supply/p.Report.PeakDemand, row.Margin, 1e-9)
		assert.InDelta(t, row.Supply/float64(p.Wicks), row.PerWick, 1e-9)
		if i > 0 {
			assert.Less(t, row.Supply, p.Lifts[i-1].Supply)
			assert.Less(t, row.Rest, p.Lifts[i-1].Rest)
		}
	}
	assert.Equal(t, "cannot keep up", p.Lifts[len(p.Lifts)-1].Verdict)
}

// Every figure is found again when it is the one that is left out.
func TestWhatIfOnTheTube(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		diameter := rapid.Float64Range(60, 300).Draw(t, "diameter")
		length := rapid.Float64Range(300, 3000).Draw(t, "length")
		fill := rapid.Float64Range(0.6, 1).Draw(t, "fill")
		perBag := rapid.IntRange(1, 12).Draw(t, "plants per bag")
		volume := fill * math.Pi / 4 * diameter * diameter * length / 1e6
		if room := volume / float64(perBag); room < 0.05 || room > 200 {
			t.Skip("a root room that size refuses")
		}
		base := berries(func(r *Requirement) { r.Fill, r.PerBag = fill, perBag })
		for name, leave := range map[string]func(r *Requirement){
			"volume":   func(r *Requirement) { r.Diameter, r.Length = diameter, length },
			"length":   func(r *Requirement) { r.Diameter, r.Volume = diameter, volume },
			"diameter": func(r *Requirement) { r.Length, r.Volume = length, volume },
			"by room":  func(r *Requirement) { r.Length, r.RootRoom = length, volume/float64(perBag) },
			"all":      func(r *Requirement) { r.Diameter, r.Length, r.Volume = diameter, length, volume },
		} {
			r := base
			leave(&r)
			z, err := settle(r)
			require.NoError(t, err, name)
			require.InEpsilon(t, diameter, z.Diameter, 1e-9, name)
			require.InEpsilon(t, length, z.Length, 1e-9, name)
			require.InEpsilon(t, volume, z.Volume, 1e-9, name)
			require.InEpsilon(t, volume/float64(perBag), z.RootRoom, 1e-9, name)
		}
	})
}

func TestWhatIfOnPlantsAndBags(t *testing.T) {
	tests := map[string]struct {
		change               func(r *Requirement)
		perBag, bags, plants int
	}{
		"plants":          {func(r *Requirement) { r.Plants = 12 }, 5, 3, 12},
		"bags":            {func(r *Requirement) { r.Bags = 3 }, 5, 3, 15},
		"plants and bags": {func(r *Requirement) { r.Plants, r.Bags = 12, 4 }, 3, 4, 12},
		"per bag":         {func(r *Requirement) { r.PerBag, r.Plants = 4, 9 }, 4, 3, 9},
		"neither":         {nil, 5, 1, 5},
		"fewer than fit":  {func(r *Requirement) { r.Plants = 2 }, 2, 1, 2},
		"root room":       {func(r *Requirement) { r.RootRoom, r.Plants = 3, 6 }, 3, 2, 6},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			r := berries(c.change)
			r.Diameter, r.Length, r.Fill = 108.2, 1000, 1
			z, err := settle(r)
			require.NoError(t, err)
			assert.Equal(t, []int{c.perBag, c.bags, c.plants}, []int{z.PerBag, z.Bags, z.Plants})
		})
	}
}

// Wicks that are given have their lift worked out; a lift that is given has its
// wicks worked out; the reservoir has its plants.
func TestWhatIfOnWicksAndWater(t *testing.T) {
	p, err := Size(berries(func(r *Requirement) {
		r.Diameter, r.WickCount, r.Wick = 108, 2, model.WickKind{Name: "felt", Material: "wool felt", Section: 1.5}
		r.Reservoir, r.Days, r.Transmission, r.Month = 100, 10, 0.7, time.May
	}))
	require.NoError(t, err)
	assert.Equal(t, WorkedOut, p.Origins["lift"])
	assert.GreaterOrEqual(t, p.Report.Supply, 0.999*ample*p.Report.PeakDemand)
	assert.LessOrEqual(t, p.Demand*p.Days, 100.0, "so many plants that 100 L last 10 days")
	assert.Greater(t, (p.Demand+5*p.PerPlant)*p.Days, 100.0, "and not a bag less")
	assert.GreaterOrEqual(t, p.Lasts, 10.0)

	far, err := Size(berries(func(r *Requirement) {
		r.Diameter, r.Lift, r.Wick.Section, r.Plants, r.Reservoir = 108, 110, 2, 20, 60
		r.Medium = model.Medium{Name: "coir", BuiltIn: "coir", Typical: true, Shrink: -1}
	}))
	require.NoError(t, err)
	assert.Equal(t, 110.0, far.Lift)
	assert.GreaterOrEqual(t, far.Report.Supply, 0.999*ample*far.Report.PeakDemand)
	assert.Less(t, far.Report.Supply*float64(far.Wicks-1)/float64(far.Wicks), ample*far.Report.PeakDemand, "one wick less would not do")
	assert.InDelta(t, 60/far.Demand, far.Days, 1e-9, "how long a given reservoir lasts")
	assert.Equal(t, []Buy{{"coir", math.Ceil(far.Media.Filled / 0.95)}}, far.Media.Parts)
}

func TestRequirementsThatCannotBe(t *testing.T) {
	tests := map[string]struct {
		change func(r *Requirement)
		what   string
	}{
		"no crop":            {func(r *Requirement) { r.Crop = model.Crop{}; r.Diameter = 100 }, "crop"},
		"unknown crop":       {func(r *Requirement) { r.Crop = model.Crop{Name: "moss"}; r.Diameter = 100 }, "crop"},
		"no tube":            {nil, "tube"},
		"volume contradicts": {func(r *Requirement) { r.Diameter, r.Length, r.Volume = 108, 1000, 12 }, "volume"},
		"root room too":      {func(r *Requirement) { r.Diameter, r.Length, r.PerBag, r.RootRoom = 108, 1000, 5, 3 }, "root room"},
		"too few bags":       {func(r *Requirement) { r.Diameter, r.PerBag, r.Bags, r.Plants = 108, 4, 2, 9 }, "bags"},
		"a bag 9 m wide":     {func(r *Requirement) { r.Diameter = 9000 }, "diameter"},
		"lift over the sky":  {func(r *Requirement) { r.Diameter, r.Lift = 108, 800 }, "lift"},
		"spills all":         {func(r *Requirement) { r.Diameter, r.Spill = 108, 0.9 }, "spill"},
		"nothing to lift": {func(r *Requirement) {
			r.Diameter, r.Lift = 108, 500
			r.WickCount = 2
			r.Wick = model.WickKind{Name: "w", Material: "composted bark"}
		}, "wicks"},
		"thin wicks": {func(r *Requirement) {
			r.Diameter, r.WickCount, r.Wick = 108, 1, model.WickKind{Name: "w", Material: "perlite", Section: 0.1}
		}, "lift"},
		"unknown wick":   {func(r *Requirement) { r.Diameter, r.Wick = 108, model.WickKind{Name: "rope", Material: "rope"} }, "wick"},
		"unknown medium": {func(r *Requirement) { r.Diameter, r.Medium = 108, model.Medium{Name: "gravel", BuiltIn: "gravel"} }, "medium"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := Size(berries(c.change))
			var refused *RequirementError
			require.True(t, errors.As(err, &refused), "%v", err)
			assert.Equal(t, c.what, refused.What, err)
			assert.NotEmpty(t, refused.Hint)
		})
	}
}

// About 2 L of root room for a strawberry [common practice]; bigger plants are
// given more, and every built-in crop has a figure.
func TestRootRoom(t *testing.T) {
	for _, name := range []string{"strawberry", "sweet pepper", "tomato", "cucumber", "lettuce", "basil", "herbs"} {
		room, known := RootRoom(cropFigures(model.Crop{}, name))
		assert.True(t, known, name)
		assert.Greater(t, room, 0.0, name)
	}
	room, _ := RootRoom(cropFigures(model.Crop{}, "strawberry"))
	assert.Equal(t, 2.0, room)
	_, known := RootRoom(cropFigures(model.Crop{}, "moss"))
	assert.False(t, known)
}
