package estimate

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

func TestDuplicateAndLateReadingsChangeNothing(t *testing.T) {
	plain, noisy := newScene(t, small(1, 100), 3), newScene(t, small(1, 100), 3)
	plain.live(days(1))
	var old []model.Reading
	for range int(days(1) / pace) {
		now, messages := noisy.sim.Advance()
		for _, m := range messages {
			r := noisy.reading(m)
			noisy.e.Observe(r)
			if r.Sensor.Kind() == model.KindBag {
				old = append(old, r)
			}
		}
		for _, r := range old[:max(0, len(old)-6)] {
			noisy.e.Observe(r)
		}
		bad := old[len(old)-1]
		bad.Value, bad.Verdict = 0.01, model.Jump
		noisy.e.Observe(bad)
		noisy.e.Advance(now)
	}
	assert.Equal(t, plain.e.Snapshot(after(1), nil), noisy.e.Snapshot(after(1), nil))
	assert.Zero(t, plain.e.Late())
	assert.Positive(t, noisy.e.Late())
}

// Whatever sensors there are not, what is left is finite and honest.
func TestAbsentSensors(t *testing.T) {
	tests := map[string]struct {
		strip func(s *model.Site)
		water model.Quality
		level model.Quality
	}{
		"no climate":           {func(s *model.Site) { s.Air = nil }, model.Fresh, model.Fresh},
		"no level":             {func(s *model.Site) { s.Reservoirs[0].Sensors = s.Reservoirs[0].Sensors[1:] }, model.Fresh, model.Unknown},
		"no reservoir sensors": {func(s *model.Site) { s.Reservoirs[0].Sensors = nil }, model.Fresh, model.Unknown},
		"no probes": {func(s *model.Site) {
			for i := range s.Bags {
				s.Bags[i].Moisture = nil
			}
		}, model.Unknown, model.Fresh},
		"no place": {func(s *model.Site) { s.Place = nil }, model.Fresh, model.Fresh},
		"nothing": {func(s *model.Site) {
			s.Air, s.Reservoirs[0].Sensors = nil, nil
			for i := range s.Bags {
				s.Bags[i].Moisture = nil
			}
		}, model.Unknown, model.Unknown},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			site := small(1, 100)
			test.strip(site)
			s := newScene(t, site, 8)
			s.live(days(1))
			e := s.e.Snapshot(after(1), nil)
			_, err := json.Marshal(e)
			require.NoError(t, err, "a figure is not finite")
			truth := s.sim.Truth()
			for i, b := range e.Bags {
				assert.Equal(t, test.water, b.WaterContent.Quality)
				assert.InDelta(t, truth.Bags[i].WaterContent, b.WaterContent.Value, 4*b.WaterContent.SD)
			}
			assert.Equal(t, test.level, e.Reservoirs[0].Volume.Quality)
			if test.level == model.Unknown {
				assert.Nil(t, e.Reservoirs[0].EmptyAt)
			}
		})
	}
}

// Three weeks of nothing: the model alone speaks, says so, and finds its feet
// again.
func TestWeeksOfSilence(t *testing.T) {
	long(t)
	s := newSceneAt(t, time.Hour, small(1, 100), 5)
	s.deaf = func(_ model.Subject, at time.Time) bool { return at.After(after(2)) && at.Before(after(23)) }
	s.live(days(22))
	e := s.e.Snapshot(after(22), nil)
	assert.Equal(t, model.Stale, e.Bags[0].WaterContent.Quality)
	assert.InDelta(t, s.sim.Truth().Bags[0].WaterContent, e.Bags[0].WaterContent.Value, 4*e.Bags[0].WaterContent.SD)
	s.live(days(2))
	e = s.e.Snapshot(after(24), nil)
	assert.Equal(t, model.Fresh, e.Bags[0].WaterContent.Quality)
	assert.InDelta(t, s.sim.Truth().Bags[0].WaterContent, e.Bags[0].WaterContent.Value, 0.015)
	assert.Empty(t, e.Bags[0].Cause)
}

// A restored estimator goes on exactly as the original would have, in the
// midst of a fault too.
func TestRestoredGoesOnTheSame(t *testing.T) {
	long(t)
	faults := []sim.Fault{
		{Kind: sim.ChannelDry, Subject: "channel/a", Start: after(3.3), End: after(4.8)},
		{Kind: sim.ProbeLostContact, Subject: "bag/b3/moisture", Size: 0.4, Start: after(2.3)},
		{Kind: sim.WickLostContact, Subject: "bag/b2", Size: 0.12, Start: after(5.3), End: after(7)},
		{Kind: sim.Leak, Subject: "reservoir/tank", Size: 0.1, Start: after(5.2), End: after(7.5)},
		{Kind: sim.WickClogging, Subject: "bag/b1", Size: 0.03, Start: after(6), Floor: 0.05},
		{Kind: sim.Leak, Subject: "reservoir/tank", Size: 10, Start: after(8.3), End: after(8.45)},
		{Kind: sim.WrongRefill, Subject: "reservoir/tank", Size: 2.6, Start: after(8.8)},
	}
	site := small(3, 110)
	s := newScene(t, site, 9, faults...)
	const every, followed = 12 * time.Hour, 20 * time.Hour
	type copied struct {
		*Estimator
		until time.Time
	}
	var copies []copied
	met := map[string]bool{}
	for s.sim.Now().Before(after(10)) {
		now, messages := s.sim.Advance()
		for _, m := range messages {
			s.e.Observe(s.reading(m))
			for _, o := range copies {
				o.Observe(s.reading(m))
			}
		}
		s.e.Advance(now)
		for _, o := range copies {
			o.Advance(now)
		}
		met["dry"] = met["dry"] || s.e.channels[0].Dry
		for _, r := range s.e.reservoirs {
			met["rivals of a leak"] = met["rivals of a leak"] || len(r.Breaches) > 0
			met["leak"] = met["leak"] || r.Found.Variance > 0
			met["gush"] = met["gush"] || r.gushing()
		}
		for _, b := range s.e.bags {
			met["lost probe"] = met["lost probe"] || b.Lost
			met["starved"] = met["starved"] || b.Starved
			met[string(b.Cause)] = true
		}
		if !now.Equal(now.Truncate(every)) {
			continue
		}
		kept, err := json.Marshal(s.e)
		require.NoError(t, err)
		for _, o := range copies {
			same, err := json.Marshal(o.Estimator)
			require.NoError(t, err)
			require.Equal(t, string(kept), string(same), "at %v", now)
		}
		copies = slices.DeleteFunc(copies, func(o copied) bool { return o.until.Before(now) })
		other := fresh(t, site)
		require.NoError(t, json.Unmarshal(kept, other))
		copies = append(copies, copied{other, now.Add(followed)})
	}
	for _, what := range []string{"dry", "rivals of a leak", "leak", "gush", "lost probe", "starved", string(model.CauseWickLostContact)} {
		assert.True(t, met[what], "the days held %s", what)
	}
}

func TestACheckpointOfAnotherSiteIsRefused(t *testing.T) {
	kept, err := json.Marshal(fresh(t, small(2, 100)))
	require.NoError(t, err)
	other := small(1, 100)
	for i := range other.Bags {
		other.Bags[i].ID = "x" + other.Bags[i].ID
		other.Bags[i].Channel = "x" + other.Bags[i].Channel
	}
	for i := range other.Channels {
		other.Channels[i].ID, other.Channels[i].Reservoir = "x"+other.Channels[i].ID, "drum"
	}
	other.Reservoirs[0].ID = "drum"
	require.ErrorIs(t, json.Unmarshal(kept, fresh(t, other)), ErrOtherSite)
	require.Error(t, json.Unmarshal([]byte(`{"Version":0}`), fresh(t, small(1, 100))))
	require.Error(t, json.Unmarshal([]byte(`[]`), fresh(t, small(1, 100))))
	old := strings.Replace(string(kept), `"ChannelIDs":[`, `"Was":[`, 1)
	require.NotEqual(t, string(kept), old)
	require.NoError(t, json.Unmarshal([]byte(old), fresh(t, small(2, 100))), "one that names its bags alone")
	require.ErrorIs(t, json.Unmarshal([]byte(old), fresh(t, small(1, 100))), ErrOtherSite)
}

// Of a site that was changed, what is the same goes on as it was: a bag more, one
// less and one that was laid over the other channel begin anew, the others and the
// reservoir do not.
func TestACheckpointOfAChangedSite(t *testing.T) {
	s := newScene(t, small(3, 100), 4)
	s.live(days(3))
	kept, err := json.Marshal(s.e)
	require.NoError(t, err)
	changed := small(4, 100)
	changed.Bags = slices.Delete(changed.Bags, 1, 2) // a2
	changed.Bags[1].Channel = changed.Channels[1].ID // a3
	e := fresh(t, changed)
	require.NoError(t, json.Unmarshal(kept, e))
	was := map[string]*bag{}
	for _, b := range s.e.bags {
		was[b.physics.Bag.ID] = b
	}
	var anew []string
	for i, b := range e.bags {
		id := b.physics.Bag.ID
		if b.Readings == 0 {
			anew = append(anew, id)
			continue
		}
		assert.Equal(t, was[id].Base, b.Base, id)
		k := slices.Index(s.e.reservoirs[0].bagIDs(), id)
		assert.Equal(t, s.e.reservoirs[0].Shadow[k], e.reservoirs[0].Shadow[i], id)
	}
	assert.Equal(t, []string{"a3", "a4", "b4"}, anew)
	assert.Equal(t, s.e.reservoirs[0].X, e.reservoirs[0].X)
	assert.NotPanics(t, func() { e.Advance(after(3).Add(2 * time.Hour)) })
}

func TestEqualReadingsGiveEqualBits(t *testing.T) {
	run := func() string {
		s := newScene(t, small(2, 100), 12)
		s.live(days(1))
		kept, err := json.Marshal(s.e)
		require.NoError(t, err)
		return string(kept)
	}
	assert.Equal(t, run(), run())
}
