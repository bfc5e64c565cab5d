package design

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/climate"
)

// What lamps add is what FAO-56 eq 53 makes of their net radiation, in which it is
// linear: 0.408·Δ·0.9·Rn / (Δ + γ(1 + 0.34·u₂)), with albedo 0.23 [P].
func TestLampsAddToAPeakDay(t *testing.T) {
	place := climate.Place{Latitude: 47}
	dark, err := PeakDay(&place, 0.7, climate.Lamps{})
	require.NoError(t, err)
	assert.Zero(t, dark.Lit)
	const watts, gamma, u2 = 100.0, 0.665e-3 * 101.3, 0.5
	for name, hours := range map[string]climate.Hours{
		"by day":        {From: 10 * time.Hour, To: 14 * time.Hour},
		"by night":      {From: 20 * time.Hour, To: 23 * time.Hour},
		"past midnight": {From: 22 * time.Hour, To: 2 * time.Hour},
		"all day":       {To: 24 * time.Hour},
	} {
		lit, err := PeakDay(&place, 0.7, climate.Lamps{Radiation: watts, Hours: []climate.Hours{hours}})
		require.NoError(t, err, name)
		want, ends := 0.0, hours.To.Hours()
		if hours.To <= hours.From {
			ends += 24
		}
		for clock := hours.From.Hours() + 1.0/12; clock < ends; clock += 1.0 / 6 {
			temperature := 24 + 6*math.Cos(2*math.Pi*(clock-14)/24)
			slope := 4098 * climate.SaturationVapourPressure(temperature) / math.Pow(temperature+237.3, 2)
			want += 0.408 * slope * 0.9 * 0.77 * watts * 0.0036 / 6 / (slope + gamma*(1+0.34*u2))
		}
		assert.InEpsilon(t, want, lit.Lit, 1e-3, name)
		assert.InDelta(t, lit.Lit, lit.Day-dark.Day, 1e-9, name)
	}
}

// Lamps go by the clocks of the site, the peak day by its sun.
func TestLampsOfAPeakDayFollowTheClock(t *testing.T) {
	zurich, err := time.LoadLocation("Europe/Zurich")
	require.NoError(t, err)
	lamps := climate.Lamps{Radiation: 150, Zone: zurich, Hours: []climate.Hours{{From: 22 * time.Hour, To: 23 * time.Hour}}}
	hours := func(place *climate.Place) (lit []int) {
		dark, err := PeakDay(place, 0.7, climate.Lamps{})
		require.NoError(t, err)
		peak, err := PeakDay(place, 0.7, lamps)
		require.NoError(t, err)
		for h := range peak.Hours {
			if peak.Hours[h] > dark.Hours[h]+1e-9 {
				lit = append(lit, h)
			}
		}
		return lit
	}
	assert.Equal(t, []int{20, 21}, hours(&climate.Place{Latitude: 47, Longitude: 8.5}), "summer time, 20:34 to 21:34 by the sun")
	assert.Equal(t, []int{22}, hours(nil), "who knows the place of no site knows no better than its clocks")
}

// All that rests on the peak day takes the lamps in.
func TestCheckCountsLamps(t *testing.T) {
	check := func(lamps *model.Lamps) Report {
		s := yard()
		s.Lamps = lamps
		s.Reservoirs[0].FeedsAtTimes, s.Channels[0].Holds = true, 9
		site, err := Build(s)
		require.NoError(t, err)
		r, err := site.Check()
		require.NoError(t, err)
		return r
	}
	dark := check(nil)
	lit := check(&model.Lamps{Radiation: 100, Hours: []model.Hours{{To: 24 * time.Hour}}})
	more := lit.PeakDay / dark.PeakDay
	assert.Greater(t, more, 1.3, "100 W/m² all day are 8.6 MJ/m², beside some 21 of the sun")
	assert.Less(t, more, 1.6)
	assert.InDelta(t, lit.PeakDay-dark.PeakDay, lit.PeakLit, 1e-9)
	assert.Greater(t, lit.PeakHour, dark.PeakHour)
	assert.InEpsilon(t, dark.Bags[0].Margin/more, lit.Bags[0].Margin, 1e-9)
	assert.InEpsilon(t, dark.Bags[0].Buffer/more, lit.Bags[0].Buffer, 1e-9)
	assert.InEpsilon(t, dark.Reservoirs[0].DaysAtPeak/more, lit.Reservoirs[0].DaysAtPeak, 1e-9)
	assert.Less(t, lit.Reservoirs[0].ChannelLasts, dark.Reservoirs[0].ChannelLasts)
	assert.Less(t, lit.Bags[0].Lowest, dark.Bags[0].Lowest)
}

// A winter house that lives by its lamps is sized by them.
func TestSizeCountsLamps(t *testing.T) {
	size := func(lamps climate.Lamps) Proposal {
		p, err := Size(berries(func(r *Requirement) {
			r.Diameter, r.Plants, r.Transmission, r.Month = 108, 50, 0.7, time.December
			r.Place, r.Lamps = &climate.Place{Latitude: 60}, lamps
		}))
		require.NoError(t, err)
		return p
	}
	dark, lit := size(climate.Lamps{}), size(climate.Lamps{Radiation: 100, Hours: []climate.Hours{{From: 6 * time.Hour, To: 22 * time.Hour}}})
	assert.InDelta(t, lit.Reference-dark.Reference, lit.Lit, 1e-9)
	assert.Greater(t, lit.Lit, dark.Reference, "a house that lives by its lamps")
	assert.Less(t, lit.Lit, 1.6, "5.8 MJ/m², of which 0.77 are net and nine tenths do not go into the ground")
	assert.InEpsilon(t, dark.Demand*lit.Reference/dark.Reference, lit.Demand, 1e-9)
	assert.Greater(t, lit.Reservoir, dark.Reservoir)
	assert.Equal(t, Given, lit.Origins["lamps"])
}
