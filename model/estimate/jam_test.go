package estimate

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// jamAt has the float of a scene jam after some days, where it goes on trembling.
func jamAt(s *scene, at float64) (free func()) {
	var held, n float64
	freed := false
	s.skew = func(r model.Reading) float64 {
		if r.Sensor != "reservoir/tank/level" || r.Time.Before(after(at)) || freed {
			return 0
		}
		if held == 0 {
			held = r.Value
		}
		n++
		return held + math.Sin(2.4*n) - r.Value
	}
	return func() { freed = true }
}

// A bag more in the site file, while a level stands, is none of what stood.
func TestLevelBagAddedWhileALevelStands(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 5)
	jamAt(s, 4)
	s.live(days(5))
	raw, err := json.Marshal(s.e)
	require.NoError(t, err)
	require.NotNil(t, s.e.reservoirs[0].Stand.Known)
	s.e = fresh(t, small(4, 70)) // the site file has two more bags
	require.NoError(t, json.Unmarshal(raw, s.e))
	s.live(days(3))
}

// What the alert asks for ends it: a float valve that the site file states.
func TestLevelFloatValveStatedAfterwards(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 5)
	jamAt(s, 4)
	s.live(days(7))
	require.True(t, s.e.reservoirs[0].Stand.Jammed)
	raw, err := json.Marshal(s.e)
	require.NoError(t, err)
	site := small(3, 70)
	site.Reservoirs[0].FloatValve = true
	s.e = fresh(t, site)
	require.NoError(t, json.Unmarshal(raw, s.e))
	s.live(days(2))
	health := []model.SensorHealth{{Sensor: "reservoir/tank/level"}}
	now := s.e.Snapshot(s.sim.Now(), health)
	assert.False(t, now.Sensors[0].Implausible, now.Sensors[0].Evidence)
}

// A restart while a level stands changes nothing.
func TestLevelRestart(t *testing.T) {
	long(t)
	a := newScene(t, small(3, 70), 5)
	jamAt(a, 4)
	a.live(days(5))
	raw, err := json.Marshal(a.e)
	require.NoError(t, err)
	b := fresh(t, small(3, 70))
	require.NoError(t, json.Unmarshal(raw, b))
	for end := a.sim.Now().Add(days(2)); a.sim.Now().Before(end); {
		now, messages := a.sim.Advance()
		for _, m := range messages {
			r := a.reading(m)
			r.Value += a.skew(r)
			a.e.Observe(r)
			b.Observe(r)
		}
		a.e.Advance(now)
		b.Advance(now)
	}
	x, _ := json.Marshal(a.e)
	y, _ := json.Marshal(b)
	require.True(t, a.e.reservoirs[0].Stand.Jammed)
	assert.JSONEq(t, string(x), string(y))
}

// What else a level that stands may be told by is what its site file has not stated.
func TestLevelStandsSaysWhatElseItMayBe(t *testing.T) {
	const unfilled, unstated = "channels that nobody has filled since", "that the site file does not state"
	for _, test := range []struct {
		site      *model.Site
		says, not string
	}{
		{atTimes(12), unfilled, unstated},
		{small(3, 70), unstated, unfilled},
	} {
		e := fresh(t, test.site)
		r := e.reservoirs[0]
		r.begin(after(0))
		r.Stand = stand{Since: after(0), Level: 231, Jammed: true}
		health := e.Snapshot(after(1), []model.SensorHealth{{Sensor: "reservoir/tank/level"}}).Sensors[0]
		require.True(t, health.Implausible)
		assert.Equal(t, after(0), health.Since)
		assert.Contains(t, health.Evidence, "it has stood at 231 mm")
		assert.Contains(t, health.Evidence, "a float that jams, ")
		assert.Contains(t, health.Evidence, test.says)
		assert.NotContains(t, health.Evidence, test.not)
	}
}

// One reading that cannot be frees no float that jams.
func TestLevelGlitchWhileJammed(t *testing.T) {
	long(t)
	s := newScene(t, small(3, 70), 5)
	jamAt(s, 4)
	skew := s.skew
	done := false
	s.skew = func(r model.Reading) float64 {
		v := skew(r)
		if r.Sensor == "reservoir/tank/level" && !done && r.Time.After(after(7)) {
			done = true
			return v - 60
		}
		return v
	}
	s.live(days(7))
	r := s.e.reservoirs[0]
	require.True(t, r.Stand.Jammed)
	was := r.Refilled
	s.live(10 * time.Minute)
	s.live(time.Hour)
	assert.True(t, r.Stand.Jammed)
	assert.Equal(t, was, r.Refilled)
}

// A float that jams when the tank is filled up loses nothing of what was poured in.
func TestLevelJamsAtARefill(t *testing.T) {
	long(t)
	site := small(3, 70)
	s := newScene(t, site, 5)
	var err error
	s.sim, err = sim.New(sim.Options{Site: site, Seed: 5, Start: begin, Step: pace, Fill: 0.6, Refill: sim.RefillNever})
	require.NoError(t, err)
	// Somebody fills it up by 72 L, and the float jams at the top.
	var held, n float64
	r := s.e.reservoirs[0]
	s.skew = func(m model.Reading) float64 {
		if m.Sensor != "reservoir/tank/level" || m.Time.Before(after(4)) {
			return 0
		}
		if held == 0 {
			held = m.Value + 150
		}
		n++
		return held + math.Sin(2.4*n) - m.Value
	}
	s.live(days(4))
	before := r.X[jVolume]
	s.live(time.Hour)
	filled := r.X[jVolume]
	require.Greater(t, filled, before+20)
	s.live(days(1.4))
	s.live(days(1.6))
	require.True(t, r.Stand.Jammed)
	assert.InDelta(t, filled, r.X[jVolume], 25, "L, of which it drank some")
	assert.False(t, r.exhausted())
}

// A float valve goes on filling when the level sensor falls silent.
func TestLevelFloatValveUnheard(t *testing.T) {
	long(t)
	site := small(3, 70)
	site.Reservoirs[0].FloatValve = true
	s := newScene(t, site, 3)
	s.live(days(2))
	r := s.e.reservoirs[0]
	require.Nil(t, s.e.Snapshot(s.sim.Now(), nil).Reservoirs[0].EmptyAt)
	s.deaf = func(id model.Subject, at time.Time) bool { return id == "reservoir/tank/level" }
	for i := range 40 {
		s.live(days(1))
		snap := s.e.Snapshot(s.sim.Now(), nil)
		if snap.Reservoirs[0].EmptyAt != nil {
			t.Fatalf("day %d: %.0f L, empty at %v, exhausted %v; truth %.0f L", i, r.X[jVolume], snap.Reservoirs[0].EmptyAt.P50, r.exhausted(), s.sim.Truth().Reservoirs[0].Volume)
		}
	}
}

// A reading that is sent twice is no second one, whether it was taken or passed over.
func TestLevelSieveTwice(t *testing.T) {
	var taken int
	p := &sieve{}
	var last time.Time
	take := p.before(func(at time.Time, _ float64) bool {
		if !at.After(last) {
			return true // as every sink does
		}
		taken, last = taken+1, at
		return false
	}, 1)
	for i := range 60 {
		at := begin.Add(time.Duration(i) * 10 * time.Second)
		take(at, 1)
		take(at, 1) // sent twice
	}
	assert.LessOrEqual(t, taken, 7, "in ten minutes")
}

// Nobody hears for three days, and somebody fills it up to where it was meanwhile.
func TestLevelRefilledToTheMarkUnheard(t *testing.T) {
	long(t)
	site := small(3, 70)
	s := newScene(t, site, 5)
	s.live(days(4))
	r := s.e.reservoirs[0]
	mark := r.physics.Level(r.X[jVolume])
	var at float64
	quiet := true
	s.deaf = func(model.Subject, time.Time) bool { return quiet }
	s.live(days(3.5))
	quiet = false
	s.skew = func(m model.Reading) float64 {
		if m.Sensor != "reservoir/tank/level" {
			return 0
		}
		if at == 0 {
			at = mark - m.Value // filled up by that
		}
		return at
	}
	s.each = func(e model.Snapshot, _ sim.Truth) { require.False(t, r.Stand.Jammed, "%v", e.Time) }
	s.live(days(0.5))
}

// A probe of the same channel tells, also where the bag's own tells nothing any more.
func TestLevelAnotherProbeTells(t *testing.T) {
	s := newScene(t, small(2, 70), 1)
	s.live(days(1))
	b := s.e.bags[0]
	b.Cause, b.Lost = model.CauseWickLostContact, true // and its own probe tells nothing now
	var out model.BagEstimate
	b.explain(&out)
	assert.Contains(t, out.Evidence, "while the other bags on the channel are fed")
}

// A level that stands because the crop was taken out is believed: the probes tell that
// from a float that jams.
func TestLevelGoneIsBelieved(t *testing.T) {
	long(t)
	for seed := range uint64(3) {
		s := newScene(t, small(3, 70), 5+seed, sim.Fault{Kind: sim.DemandChange, Start: after(5), Size: 0.001})
		s.each = func(e model.Snapshot, _ sim.Truth) { require.False(t, s.e.reservoirs[0].Stand.Jammed, "%v", e.Time) }
		s.live(days(16))
		assert.Less(t, s.e.Snapshot(s.sim.Now(), nil).Bags[0].UptakePerDay.Value, 0.1)
	}
	for seed := range uint64(3) {
		s := newScene(t, small(3, 70), 5+seed)
		jamAt(s, 5)
		s.live(days(9))
		assert.True(t, s.e.reservoirs[0].Stand.Jammed)
	}
}

// A house does not come to drink less by a level that stands for a day: its bags would
// look as though they were not fed.
func TestLevelThatStandsTeachesNothing(t *testing.T) {
	long(t)
	s := newScene(t, small(6, 100), 5)
	jamAt(s, 5.3)
	s.live(days(5.3))
	r := s.e.reservoirs[0]
	before := r.common()
	s.live(days(0.6))
	require.False(t, r.Stand.Jammed)
	assert.InEpsilon(t, before, r.common(), 0.35)
	assert.Greater(t, s.sim.Now().Sub(r.Stand.Since), 11*time.Hour)
}

// Probes that are not believed, or fell silent before, say nothing of plants that are gone.
func TestLevelThatStandsWhereNoProbeTells(t *testing.T) {
	s := newScene(t, small(2, 70), 5)
	s.live(days(2.5))
	silent := s.sim.Now()
	s.deaf = func(id model.Subject, _ time.Time) bool { return strings.HasSuffix(string(id), "/moisture") }
	s.live(days(2))
	require.NotEmpty(t, s.e.bags[0].Dips)
	assert.False(t, s.e.reservoirs[0].deserted(silent.Add(36*time.Hour)))
}

// Seedlings under a site file that states the canopy they will have draw next to nothing:
// no float has jammed. Under plants that were set long ago one may well have.
func TestLevelOverSeedlings(t *testing.T) {
	long(t)
	t.Parallel()
	jams := func(seed uint64, planted time.Time) (jammed bool) {
		site := small(3, 70)
		for i := range site.Bags {
			site.Bags[i].Planted = planted
		}
		stated := *site
		stated.Bags = slices.Clone(site.Bags)
		for i := range site.Bags {
			site.Bags[i].Canopy /= 20
		}
		s := newScene(t, site, seed)
		s.e = fresh(t, &stated)
		s.each = func(model.Snapshot, sim.Truth) { jammed = jammed || s.e.reservoirs[0].Stand.Jammed }
		s.live(days(4))
		return jammed
	}
	grown := 0
	for _, seed := range []uint64{1, 2, 3} {
		assert.False(t, jams(seed, begin), "seed %d", seed)
		if jams(seed, begin.AddDate(0, 0, -60)) {
			grown++
		}
	}
	assert.Positive(t, grown)
}
