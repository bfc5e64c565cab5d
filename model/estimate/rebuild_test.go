package estimate

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// Dimensions that are put right in the site file of a house that runs are no refill, no
// leak and nobody's fault: litres are worked out anew from the level, and a bag keeps its
// share of water.
func TestDimensionsThatArePutRight(t *testing.T) {
	long(t)
	bags := func(change func(b *model.Bag)) func(s *model.Site) {
		return func(s *model.Site) {
			for i := range s.Bags {
				change(&s.Bags[i])
			}
		}
	}
	tank := func(by float64) func(s *model.Site) {
		return func(s *model.Site) {
			shape := &s.Reservoirs[0].Shape
			shape.Length, shape.Width, shape.Diameter = by*shape.Length, by*shape.Width, by*shape.Diameter
		}
	}
	for name, change := range map[string]func(s *model.Site){
		"larger tank":  tank(1.2),
		"smaller tank": tank(0.85),
		"longer bags":  bags(func(b *model.Bag) { b.Length *= 1.3 }),
		"shorter bags": bags(func(b *model.Bag) { b.Length *= 0.75 }),
		"thinner bags": bags(func(b *model.Bag) { b.Diameter *= 0.85 }),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newScene(t, small(3, 70), 5)
			s.live(days(4))
			raw, err := json.Marshal(s.e)
			require.NoError(t, err)
			before := s.e.Snapshot(s.sim.Now(), nil)
			refilled := s.e.reservoirs[0].Refilled

			site := small(3, 70)
			change(site)
			s.e = fresh(t, site)
			require.NoError(t, json.Unmarshal(raw, s.e))
			s.live(days(3))

			r, now := s.e.reservoirs[0], s.e.Snapshot(s.sim.Now(), nil)
			assert.Equal(t, refilled, r.Refilled, "no refill")
			assert.Nil(t, now.Reservoirs[0].Poured)
			assert.Empty(t, now.Reservoirs[0].Cause)
			assert.InEpsilon(t, r.physics.Volume(r.Stand.Now), r.X[jVolume], 0.02)
			assert.Zero(t, s.e.Resets())
			for i, b := range now.Bags {
				assert.Empty(t, b.Cause, b.Bag)
				assert.InDelta(t, before.Bags[i].WaterContent.Value, b.WaterContent.Value, 0.05, b.Bag)
			}
		})
	}
}

// A probe that was not believed is none that is taken at its word for new dimensions.
func TestDimensionsUnderALostProbe(t *testing.T) {
	s := newScene(t, small(3, 70), 5)
	probe := s.e.bags[1].physics.Bag.Moisture.ID
	s.skew = func(r model.Reading) float64 {
		if r.Sensor == probe && r.Time.After(after(3)) {
			return -0.3
		}
		return 0
	}
	s.live(days(3.2))
	require.True(t, s.e.bags[1].Lost)
	raw, err := json.Marshal(s.e)
	require.NoError(t, err)
	site := small(3, 70)
	for i := range site.Bags {
		site.Bags[i].Length *= 1.1
	}
	s.e = fresh(t, site)
	require.NoError(t, json.Unmarshal(raw, s.e))
	s.live(2 * time.Hour)
	b := s.e.bags[1]
	assert.True(t, b.Lost)
	assert.InDelta(t, s.sim.Truth().Bags[1].WaterContent, b.Roll.X[iStorage]/b.volume(), 0.03)
}

// Nor is a bag that turns out larger one that was filled up with weaker solution.
func TestDimensionsKeepTheSaltsStrength(t *testing.T) {
	s := newScene(t, small(3, 70), 5)
	s.live(days(3))
	for _, b := range s.e.bags {
		b.Salt.Zone.Salt *= 2.5
	}
	before, _ := s.e.bags[0].Salt.Zone.EC()
	raw, err := json.Marshal(s.e)
	require.NoError(t, err)
	site := small(3, 70)
	for i := range site.Bags {
		site.Bags[i].Length *= 1.3
	}
	s.e = fresh(t, site)
	require.NoError(t, json.Unmarshal(raw, s.e))
	s.live(2 * time.Hour)
	after, _ := s.e.bags[0].Salt.Zone.EC()
	assert.InEpsilon(t, before, after, 0.03)
}

// A float that has jammed is not believed for dimensions that are put right.
func TestDimensionsUnderAFloatThatJammed(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 5)
	s.live(days(3))
	r := s.e.reservoirs[0]
	at := r.physics.Level(r.X[jVolume])
	s.skew = func(m model.Reading) float64 {
		if m.Sensor == "reservoir/tank/level" {
			return at - m.Value + 0.3*float64(m.Time.Minute()%20)/20
		}
		return 0
	}
	s.live(days(4))
	require.True(t, r.Stand.Jammed)
	raw, err := json.Marshal(s.e)
	require.NoError(t, err)
	full := r.X[jVolume] / r.physics.Full()
	for name, change := range map[string]func(s *model.Site){
		"bags": func(s *model.Site) { s.Bags[0].Length *= 1.1 },
		"tank": func(s *model.Site) {
			shape := &s.Reservoirs[0].Shape
			shape.Length, shape.Width, shape.Diameter = 1.1*shape.Length, 1.1*shape.Width, 1.1*shape.Diameter
		},
	} {
		site := small(3, 70)
		change(site)
		s.e = fresh(t, site)
		require.NoError(t, json.Unmarshal(raw, s.e))
		s.live(10 * time.Minute)
		r := s.e.reservoirs[0]
		assert.True(t, r.Stand.Jammed, name)
		assert.Zero(t, r.Refilled, name)
		assert.InEpsilon(t, full, r.X[jVolume]/r.physics.Full(), 0.01, name)
	}
}
