package sim

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/design"
)

// under is a house with a cover at a place.
func under(place climate.Place) *design.Site {
	return &design.Site{Place: &place, Site: &model.Site{CoverTransmission: 0.7}}
}

// Mean daily radiation outside in June at 47° N is about 20 MJ/m² (common
// practice: 18–22 in the maps of middle Europe [M]), and a cool-season grass
// in a house under a 70 % cover with still air loses a few millimetres a day.
func TestJuneLooksLikeJune(t *testing.T) {
	var radiation, depth, warmest, coldest []float64
	for seed := range uint64(20) {
		w := newWeather(under(climate.Place{Latitude: 47, Longitude: 8.5, Elevation: 310}), seed, TypicalScatter())
		for day := range 30 {
			sum, mm, high, low := 0.0, 0.0, math.Inf(-1), math.Inf(1)
			for i := range 144 {
				from := start.Add(time.Duration(day*144+i) * 10 * time.Minute)
				air := w.step(from, from.Add(10*time.Minute), 0)
				sum += air.Outside * 600e-6
				mm += air.Reference / 6
				high, low = math.Max(high, air.Temperature), math.Min(low, air.Temperature)
			}
			radiation, depth = append(radiation, sum), append(depth, mm)
			warmest, coldest = append(warmest, high), append(coldest, low)
		}
	}
	assert.InDelta(t, 20, stat.Mean(radiation, nil), 3)
	assert.InDelta(t, 6, stat.StdDev(radiation, nil), 3, "fine and dull days")
	assert.InDelta(t, 3, stat.Mean(depth, nil), 1)
	assert.InDelta(t, 27, stat.Mean(warmest, nil), 4)
	assert.InDelta(t, 13, stat.Mean(coldest, nil), 4)
	assert.InDelta(t, dayMemory, stat.Correlation(radiation[1:], radiation[:len(radiation)-1], nil), 0.2, "cloudiness lasts")
}

// Anywhere and at any time the air stays air: between a cold house and a hot
// one, never brighter than a clear sky (FAO-56 eq 37), dark at night.
func TestAirIsAirAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		place := climate.Place{
			Latitude:  rapid.Float64Range(-75, 75).Draw(t, "latitude"),
			Longitude: rapid.Float64Range(-180, 180).Draw(t, "longitude"),
			Elevation: rapid.Float64Range(0, 3000).Draw(t, "elevation"),
		}
		from := start.Add(time.Duration(rapid.IntRange(0, 366*24).Draw(t, "hour")) * time.Hour)
		w := newWeather(under(place), rapid.Uint64().Draw(t, "seed"), TypicalScatter())
		for range 200 {
			to := from.Add(10 * time.Minute)
			air := w.step(from, to, 0)
			clear := climate.ClearSky(place.Elevation, climate.Extraterrestrial(place, from, to)) * 6 / megajoules
			ok := air.Temperature > -1 && air.Temperature < 60 && air.Humidity > 0.2 && air.Humidity < 1 &&
				air.Outside >= 0 && air.Outside <= clear+1e-9 && air.Inside <= air.Outside &&
				air.Reference >= 0 && air.Reference < 2
			if !ok {
				t.Fatalf("at %v: %+v under a clear sky of %v", from, air, clear)
			}
			from = to
		}
	})
}

func TestSiteWithoutAPlaceHasWeather(t *testing.T) {
	site := few("a1")
	site.Place, site.TimeZone = nil, nil
	s := begin(t, Options{Site: site})
	run(t, s, 12)
	assert.Positive(t, s.Truth().Air.Inside)
}

func TestOptionsAreRefusedAtTheDoor(t *testing.T) {
	tests := map[string]struct {
		spoil func(*Options)
		says  string
	}{
		"no site":     {func(o *Options) { o.Site = nil }, "no site"},
		"no start":    {func(o *Options) { o.Start = time.Time{} }, "no start"},
		"long step":   {func(o *Options) { o.Step = 2 * time.Hour }, "step"},
		"all lost":    {func(o *Options) { o.Loss = 1 }, "loss"},
		"overfull":    {func(o *Options) { o.Fill = 1.5 }, "fill"},
		"dry sea":     {func(o *Options) { o.OpenWater = -1 }, "open water"},
		"policy":      {func(o *Options) { o.Refill = 7 }, "policy"},
		"wild":        {func(o *Options) { o.Scatter = Scatter{Demand: 3} }, "scatter"},
		"bad channel": {func(o *Options) { o.Site.Channels[0].Reservoir = "pond" }, "pond"},
		"bad bag":     {func(o *Options) { o.Site.Bags[0].Media = "moon dust" }, "moon dust"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			o := Options{Site: few("a1"), Start: start}
			tt.spoil(&o)
			_, err := New(o)
			require.ErrorContains(t, err, tt.says)
		})
	}
}

// Two weeks of a sound site: no bag strays from rest by more than 0.03 and
// every plant gets what it wants, though no two bags are alike.
func TestSoundSiteStaysNearRest(t *testing.T) {
	s := begin(t, Options{Site: few("a1", "a2", "b1"), Seed: 9})
	rest := s.Truth()
	for s.Now().Before(at(14 * 24)) {
		s.Advance()
		for i, b := range s.Truth().Bags {
			require.InDelta(t, rest.Bags[i].WaterContent, b.WaterContent, 0.03, "%s at %v", b.ID, s.Now())
		}
	}
	seen := map[float64]bool{}
	for _, b := range s.Truth().Bags {
		assert.InEpsilon(t, b.Wanted, b.Uptake, 0.01, b.ID)
		assert.Greater(t, b.EC, 1.8, "no drain: salt builds up")
		seen[b.DemandFactor] = true
	}
	assert.Len(t, seen, 3)
}

func TestLampsLightTheHouse(t *testing.T) {
	dark, lit := few("a1"), few("a1")
	lit.Lamps = &model.Lamps{Radiation: 120, Hours: []model.Hours{{From: 21 * time.Hour, To: 23 * time.Hour}}}
	one, other := begin(t, Options{Seed: 4, Site: dark}), begin(t, Options{Seed: 4, Site: lit})
	for range 24 * 6 {
		now, _ := one.Advance()
		other.Advance()
		a, b := one.Truth().Air, other.Truth().Air
		burn := now.After(at(21)) && !now.After(at(23))
		assert.Equal(t, a.Outside, b.Outside)
		if burn {
			assert.InDelta(t, 120, b.Inside-a.Inside, 1e-9, now)
			assert.Greater(t, b.Reference, a.Reference+0.05, "mm/h")
		} else {
			assert.Equal(t, a.Inside, b.Inside, now)
		}
	}
	assert.Greater(t, bagOf(other, "a1").Wanted, bagOf(one, "a1").Wanted)
}
