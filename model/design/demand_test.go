package design

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model"
	"wickd/model/climate"
)

// FAO-56 eq 58: 0.5 m² of full-grown strawberries (Kc,mid 0.85, table 12 [P])
// on a day of 4 mm drink 0.5·0.85·4 = 1.7 L [D].
func TestDemandOfABag(t *testing.T) {
	bag := one(t, nil)
	assert.InDelta(t, 1.7, bag.peakDemand(4), 1e-9)
	planted := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	grown := one(t, func(_ *model.Site, b *model.Bag) { b.Planted = planted })
	assert.InDelta(t, 1.7, grown.peakDemand(4), 1e-9, "a full-grown crop, whatever the day of planting")
	assert.InDelta(t, 0.8, grown.Demand(planted, 4)/1000, 1e-9, "Kc,ini 0.40 [P] on the first day")
	own := one(t, func(s *model.Site, _ *model.Bag) {
		s.Crops["strawberry"] = model.Crop{Name: "strawberry", Builtin: "strawberry", Coefficient: 1}
	})
	assert.InDelta(t, 2.0, own.peakDemand(4), 1e-9)
	measured := one(t, func(s *model.Site, _ *model.Bag) {
		s.Crops["strawberry"] = model.Crop{Name: "strawberry", LitresPerPlant: 0.3, DryLimit: 150, ECLimit: 1.8}
	})
	assert.InDelta(t, 1.5, measured.peakDemand(BrightDay), 1e-9, "five plants, as measured")
	assert.Equal(t, 150.0, measured.Hydraulic.Feddes.Dry1)
	assert.Equal(t, 1.8, measured.ECLimit)
}

func TestDemandScales(t *testing.T) {
	bag := *one(t, nil)
	rapid.Check(t, func(t *rapid.T) {
		b := bag
		mm := rapid.Float64Range(0.01, 12).Draw(t, "mm")
		times := rapid.Float64Range(0.1, 10).Draw(t, "times")
		before := b.peakDemand(mm)
		require.InEpsilon(t, times*before, b.peakDemand(times*mm), 1e-9, "depth")
		b.Canopy *= times
		require.InEpsilon(t, times*before, b.peakDemand(mm), 1e-9, "canopy")
	})
}

// Where no canopy is given, a full-grown plant drinks its crop's usual litres on
// a bright day: strawberry 0.1–0.5 L a day by season [M].
func TestAssumedCanopyDrinksTheUsualLitres(t *testing.T) {
	for _, c := range climate.Crops() {
		area := AssumedCanopy(c)
		assert.InDelta(t, c.LitresADay, area*c.Kc.Mid*BrightDay, 1e-9, c.Name)
		assert.Greater(t, area, 0.03, "%s: a hand's breadth of leaves", c.Name)
		assert.Less(t, area, 1.0, "%s: nobody plants one to the square metre", c.Name)
	}
	assert.Equal(t, CanopyPerPlant, AssumedCanopy(climate.Crop{}))
}

// FAO-56 table 2: warm days of about 30 °C in humid temperate places 4–7 mm
// [M]; Uccle on a half-clouded 6 July 3.88 mm [P, example 18], so a clear one
// lies above.
func TestPeakDayIsPlausible(t *testing.T) {
	uccle := climate.Place{Latitude: 50.8, Longitude: 4.35, Elevation: 100}
	open, err := PeakDay(&uccle, 1, climate.Lamps{})
	require.NoError(t, err)
	assert.Greater(t, open.Day, 3.88)
	assert.Less(t, open.Day, 7.0)
	covered, err := PeakDay(&uccle, 0.7, climate.Lamps{})
	require.NoError(t, err)
	assert.Greater(t, covered.Day, 0.6*open.Day)
	assert.Less(t, covered.Day, 0.85*open.Day, "less sun, less demand")
	assert.InDelta(t, BrightDay, covered.Day, 0.5, "the bright day that litres per plant are meant for")

	sum, most := 0.0, 0
	for h, mm := range covered.Hours {
		assert.GreaterOrEqual(t, mm, 0.0)
		sum += mm
		if mm > covered.Hours[most] {
			most = h
		}
	}
	assert.InDelta(t, covered.Day, sum, 1e-9)
	assert.Contains(t, []int{11, 12, 13}, most, "hottest about noon by the sun")
	assert.InDelta(t, covered.Hours[most], covered.MaxHour(), 0)
	assert.Zero(t, covered.Hours[0], "no demand at midnight")
}

// The hourly sum against the daily equation (FAO-56 eq 6) with the same day's
// figures: the paper itself expects the two to agree within about a tenth.
func TestPeakDayAgreesWithTheDailyEquation(t *testing.T) {
	p := climate.Place{Latitude: 47, Elevation: 310}
	peak, err := PeakDay(&p, 1, climate.Lamps{})
	require.NoError(t, err)
	const j = 172
	ra := climate.ExtraterrestrialDaily(p.Latitude, j)
	rs := climate.ClearSky(p.Elevation, ra)
	ea := climate.SaturationVapourPressure(17)
	daily := climate.Daily(climate.DayTerms{
		Temperature: 24, Wind: climate.WindFloor, Saturation: climate.MeanSaturation(30, 18), Vapour: ea,
		Net: climate.NetShortwave(rs) - climate.NetLongwaveDaily(30, 18, ea, 1), Pressure: climate.Pressure(p.Elevation),
	})
	assert.InEpsilon(t, daily, peak.Day, 0.12)
}

func TestSeasonsAndHemispheres(t *testing.T) {
	north, south := climate.Place{Latitude: 47}, climate.Place{Latitude: -47}
	june, err := ClearDay(&north, 0.7, climate.Lamps{}, time.June)
	require.NoError(t, err)
	peak, err := PeakDay(&north, 0.7, climate.Lamps{})
	require.NoError(t, err)
	assert.InEpsilon(t, peak.Day, june.Day, 0.03, "the middle of June is as good as midsummer")
	december, err := ClearDay(&north, 0.7, climate.Lamps{}, time.December)
	require.NoError(t, err)
	assert.Less(t, december.Day, 0.25*june.Day)
	assert.Less(t, december.Air.Highest, june.Air.Highest)
	there, err := ClearDay(&south, 0.7, climate.Lamps{}, time.December)
	require.NoError(t, err)
	assert.InEpsilon(t, june.Day, there.Day, 0.08, "the sun is nearer in January: a little more")
	polar, err := ClearDay(&climate.Place{Latitude: 80}, 0.7, climate.Lamps{}, time.December)
	require.NoError(t, err)
	assert.Less(t, polar.Day, 0.2, "next to nothing in the polar night")
	_, err = PeakDay(&climate.Place{Latitude: 95}, 1, climate.Lamps{})
	assert.ErrorContains(t, err, "latitude")
}
