package design

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/climate"
)

func peakOf(t *testing.T) Peak {
	t.Helper()
	peak, err := PeakDay(nil, 0.7, climate.Lamps{})
	require.NoError(t, err)
	return peak
}

func reportOf(t *testing.T, b *Bag) BagReport {
	t.Helper()
	peak := peakOf(t)
	return b.Report(peak, b.RunPeak(peak))
}

func kindsOf(r BagReport) []AdviceKind {
	var kinds []AdviceKind
	for _, a := range r.Advice {
		kinds = append(kinds, a.Kind)
	}
	return kinds
}

func TestCheckOfASite(t *testing.T) {
	site, err := Build(yard())
	require.NoError(t, err)
	r, err := site.Check()
	require.NoError(t, err)
	require.Len(t, r.Bags, 3)
	require.Len(t, r.Reservoirs, 1)
	tank := r.Reservoirs[0]
	assert.InDelta(t, 120, tank.Usable, 1e-9, "8 dm × 6 dm × 2.5 dm")
	assert.Equal(t, 3, tank.Bags)
	assert.InDelta(t, 3*r.Bags[0].PeakDemand, tank.PeakDemand, 1e-9)
	assert.InDelta(t, 120/tank.PeakDemand, tank.DaysAtPeak, 1e-9)
	assert.Equal(t, []float64{70, 90, 110}, []float64{r.Bags[0].Lift, r.Bags[1].Lift, r.Bags[2].Lift})
	assert.True(t, r.PlaceGiven)
	require.Len(t, r.Media, 1, "one medium in all bags")
	assert.InDelta(t, 0.73, r.Media[0].Porosity, 1e-12)
	for _, b := range r.Bags {
		assert.InDelta(t, b.Supply/b.PeakDemand, b.Margin, 1e-9)
		assert.InDelta(t, 24*b.EasilyAvailable/b.PeakDemand, b.Buffer, 1e-9)
		assert.Less(t, b.MarginHour, b.Margin, "an hour at noon asks for more than a twenty-fourth of the day")
	}
}

func TestHowLongChannelsLast(t *testing.T) {
	lasts := func(atTimes bool, holds ...float64) (first ReservoirReport, peak Peak, drinks float64) {
		s := yard()
		s.Reservoirs[0].FeedsAtTimes = atTimes
		other := s.Channels[0]
		other.ID = "b"
		s.Channels = append(s.Channels, other)
		for i := range s.Channels {
			s.Channels[i].Holds = holds[i]
		}
		s.Bags[0].Channel = "b"
		site, err := Build(s)
		require.NoError(t, err)
		r, err := site.Check()
		require.NoError(t, err)
		peak, err = site.Peak()
		require.NoError(t, err)
		return r.Reservoirs[0], peak, r.Bags[0].PeakDemand
	}
	first, peak, drinks := lasts(true, 6, 6)
	assert.InDelta(t, peak.Soonest(3/drinks), first.ChannelLasts, 1e-9, "two bags drink from the first")
	assert.Equal(t, yard().Channels[0].ID, first.FirstDry)
	first, _, _ = lasts(true, 6, 2)
	assert.InDelta(t, peak.Soonest(2/drinks), first.ChannelLasts, 1e-9, "one does from the other")
	assert.Equal(t, "b", first.FirstDry)
	assert.InDelta(t, 2, first.FirstHolds, 1e-9)
	first, _, _ = lasts(false, 6, 2)
	assert.Zero(t, first.ChannelLasts)
	assert.Empty(t, first.FirstDry)
}

// By hand: the hours 10 to 14 ask for 1, 2, 3 and 2 mm of 8. A quarter is 2 mm, soonest
// drunk in two thirds of the hour of 3; a half is 4 mm, in that hour and half of one
// beside it; what is asked for in the four hours takes them.
func TestSoonest(t *testing.T) {
	var p Peak
	copy(p.Hours[10:], []float64{1, 2, 3, 2})
	for worth, hours := range map[float64]float64{0: 0, 0.25: 2.0 / 3, 0.5: 1.5, 0.875: 3, 0.9375: 3.5, 1: 24, 1.25: 24 + 2.0/3, 3: 72} {
		assert.InDelta(t, hours/24, p.Soonest(worth), 1e-9, "%g days' worth", worth)
	}
	p.Hours[3] = -1 // dew
	assert.InDelta(t, 1.5/24, p.Soonest(0.5), 1e-9)
	assert.Equal(t, math.Inf(1), Peak{}.Soonest(0.5))

	night := Peak{} // lamps across midnight
	night.Hours[23], night.Hours[0] = 2, 2
	assert.InDelta(t, 1.5/24, night.Soonest(0.75), 1e-9)
}

func TestASoundBagNeedsNoAdvice(t *testing.T) {
	r := reportOf(t, one(t, nil))
	assert.Empty(t, r.Advice)
	assert.Greater(t, r.Met, 0.999)
	assert.Zero(t, r.DryAfter)
}

// weak has wicks that lift about half of what a peak day asks for.
func weak(t *testing.T) *Bag {
	return one(t, func(s *model.Site, b *model.Bag) {
		s.Channels[0].Lift = 120
		s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 1, Material: "wool felt"}
		b.WickCount = 3
	})
}

// What the advice says would mend a bag is done to it, and it is mended.
func TestAdviceMendsTheBag(t *testing.T) {
	bag := weak(t)
	before := reportOf(t, bag)
	require.Equal(t, []AdviceKind{AdviceShort}, kindsOf(before))
	assert.Greater(t, before.DryAfter, 0.0, "from rest it dries")
	assert.Less(t, before.Met, 1.0)
	wanted := before.PeakDemand * ample
	text := before.Advice[0].Text

	section := bag.SectionFor(wanted)
	count := int(math.Ceil(section))
	assert.Contains(t, text, "use "+strconv.Itoa(count)+" wicks instead of 3")
	lift, ok := bag.LiftFor(wanted)
	require.True(t, ok)
	assert.Contains(t, text, "lower the lift from 120 to "+strconv.Itoa(int(10*lift))+" mm")

	mends := map[string]func(s *model.Site, b *model.Bag){
		"count": func(_ *model.Site, b *model.Bag) { b.WickCount = count },
		"section": func(s *model.Site, _ *model.Bag) {
			s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: roundUp(section/3, sectionStep), Material: "wool felt"}
		},
		"lift": func(s *model.Site, _ *model.Bag) { s.Channels[0].Lift = 10 * lift },
	}
	for name, mend := range mends {
		t.Run(name, func(t *testing.T) {
			mended := one(t, func(s *model.Site, b *model.Bag) {
				s.Channels[0].Lift = 120
				s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 1, Material: "wool felt"}
				b.WickCount = 3
				mend(s, b)
			})
			assert.GreaterOrEqual(t, mended.SupplyAtLimit(), 0.999*wanted)
		})
	}
}

// The level may fall to where supply meets the demand, and rise to where air
// meets its limit: bags built there show it.
func TestLevelTolerance(t *testing.T) {
	wet := func(s *model.Site, b *model.Bag) { b.AirLimit = 0.16 }
	r := reportOf(t, one(t, wet))
	lowered := one(t, func(s *model.Site, b *model.Bag) { wet(s, b); s.Channels[0].Lift += r.MayFall })
	assert.InEpsilon(t, r.PeakDemand, lowered.SupplyAtLimit(), 0.01)
	raised := one(t, func(s *model.Site, b *model.Bag) { wet(s, b); s.Channels[0].Lift -= r.MayRise })
	assert.InDelta(t, 0.16, raised.Saturated-raised.Equilibrium(), 1e-3)
}

func TestAdviceOnWater(t *testing.T) {
	tests := map[string]struct {
		change func(s *model.Site, b *model.Bag)
		kinds  []AdviceKind
		says   string
	}{
		"too wet":      {func(s *model.Site, b *model.Bag) { s.Channels[0].Lift, b.AirLimit = 10, 0.25 }, []AdviceKind{AdviceTooWet}, "raise the bag by"},
		"dry at rest":  {func(_ *model.Site, b *model.Bag) { b.DryLimit = 0.6 }, []AdviceKind{AdviceDryAtRest}, "dry even at rest"},
		"never so wet": {func(_ *model.Site, b *model.Bag) { b.DryLimit = 0.72 }, []AdviceKind{AdviceDryAtRest}, "lower the dry limit"},
		"only just": {func(s *model.Site, b *model.Bag) {
			s.Channels[0].Lift, b.WickCount = 70, 3
			s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 0.7, Material: "wool felt"}
		}, []AdviceKind{AdviceTight}, "leave nothing for age"},
		"tight at noon": {func(s *model.Site, b *model.Bag) {
			s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 0.9, Material: "wool felt"}
		}, []AdviceKind{AdviceHour}, "the bag's own water"},
		"far too far": {func(s *model.Site, b *model.Bag) {
			s.Channels[0].Lift, b.AirLimit = 350, 0.30
			s.Wicks["wedge"] = model.WickKind{Name: "wedge", Section: 1, Material: "stone wool"}
		}, []AdviceKind{AdviceShort}, "no number of wicks"},
		"deaf to drought": {func(_ *model.Site, b *model.Bag) { b.Moisture = &model.Sensor{Min: 0.5, Max: 1} }, []AdviceKind{AdviceDeafProbe}, "lower min"},
		"deaf to water":   {func(_ *model.Site, b *model.Bag) { b.Moisture = &model.Sensor{Max: 0.4} }, []AdviceKind{AdviceDeafProbe}, "raise max"},
		"nobody drinks":   {func(s *model.Site, _ *model.Bag) { s.Crops["strawberry"] = model.Crop{Name: "x", Coefficient: 1e-12} }, nil, ""},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			r := one(t, c.change).Report(peakOf(t), PeakRun{Met: 1, Lowest: 1})
			require.Equal(t, c.kinds, kindsOf(r), "%+v", r)
			if len(r.Advice) > 0 {
				assert.Contains(t, r.Advice[0].Text, c.says)
			}
		})
	}
}

// Where the medium passes on enough in a steady flow and yet does not follow at
// noon, the figures that are compared are those that differ.
func TestAdviceNeverContradictsItsFigures(t *testing.T) {
	bag := one(t, nil)
	r := bag.Report(peakOf(t), PeakRun{Met: 0.9, Lowest: 1})
	require.Greater(t, r.Conveyed, r.PeakDemand)
	require.Equal(t, []AdviceKind{AdviceMediumHolds}, kindsOf(r))
	assert.Contains(t, r.Advice[0].Text, "the plants get 90 % of what they ask for")
	assert.NotContains(t, r.Advice[0].Text, "passes only")
}

// A solution that is too strong for the crop is seen before it is mixed.
func TestAFeedThatIsTooSalty(t *testing.T) {
	bag := one(t, nil)
	assert.Empty(t, bag.adviseFeed(bag.ECLimit-0.1))
	assert.Empty(t, bag.adviseFeed(0), "no target")
	advice := bag.adviseFeed(9)
	require.Len(t, advice, 1)
	assert.Equal(t, AdviceTooSalty, advice[0].Kind)
	assert.Contains(t, advice[0].Text, "to have 9 mS/cm")
}

// What the wicks lift less what the plants take is what the bag gains.
func TestPeakRunConservesWater(t *testing.T) {
	for name, bag := range map[string]*Bag{"sound": one(t, nil), "weak": weak(t)} {
		run := bag.RunPeak(peakOf(t))
		gained := 0.0
		for h := range run.Lifted {
			gained += run.Lifted[h] - run.Taken[h]
			assert.LessOrEqual(t, run.Taken[h], run.Demand[h]+1e-9, "%s at %d h", name, h)
		}
		assert.InDelta(t, (run.WaterContent[24]-run.WaterContent[0])*bag.Volume(), gained, 1e-6, name)
		assert.InDelta(t, run.WaterContent[0], run.WaterContent[24], runSettled*1.01, "%s: one day is like the next", name)
		for _, c := range run.WaterContent {
			assert.GreaterOrEqual(t, c, run.Lowest-1e-12, name)
		}
	}
}

// A coarse medium passes too little to the roots although the wicks lift
// plenty: the wicks' margin alone would not show it.
func TestAMediumThatHoldsBack(t *testing.T) {
	bag := one(t, func(s *model.Site, b *model.Bag) { coarse(s, 2); b.Canopy = 1.5 })
	r := bag.Report(peakOf(t), PeakRun{Met: 1, Lowest: 1})
	require.Greater(t, r.Margin, ample)
	require.Equal(t, []AdviceKind{AdviceMediumHolds}, kindsOf(r))
	assert.Contains(t, r.Advice[0].Text, "finer medium")
}

func coarse(s *model.Site, conductivity float64) {
	s.Media["own"] = model.Medium{Name: "own", Conductivity: conductivity, Shrink: -1, Retention: &model.Retention{Residual: 0.09, Saturated: 0.73, Alpha: 0.3, N: 2.2}}
}

// Wick and medium in series. A medium that conducts without loss leaves the
// hydrostatic profile, so the base stands a bag's height below the limit at its
// top: what the wick lifts there is known. A medium a tenth as conducting as one
// that already holds back passes about a tenth.
func TestWickAndMediumInSeries(t *testing.T) {
	ideal := one(t, func(s *model.Site, _ *model.Bag) { coarse(s, 9e5) })
	top := ideal.Hydraulic.Feddes.Dry1 - ideal.Hydraulic.Store.Tube().Height()
	lossless := 24 * ideal.Hydraulic.Supply.Flow(top) / 1000
	assert.InEpsilon(t, lossless, ideal.Conveyed(), 0.02)
	tight := one(t, func(s *model.Site, _ *model.Bag) { coarse(s, 0.2) })
	tighter := one(t, func(s *model.Site, _ *model.Bag) { coarse(s, 0.02) })
	assert.Less(t, tight.Conveyed(), 0.1*lossless)
	assert.InEpsilon(t, tight.Conveyed()/10, tighter.Conveyed(), 0.15)
	far := one(t, func(s *model.Site, _ *model.Bag) {
		s.Crops["strawberry"] = model.Crop{Name: "x", Coefficient: 1, DryLimit: 12}
	})
	assert.Zero(t, far.Conveyed(), "a crop that is dry at the top even at rest")
}
