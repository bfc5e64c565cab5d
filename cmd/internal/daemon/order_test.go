package daemon_test

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/model"
	"wickd/model/design"
	"wickd/model/sim"
)

// levels tells a core of levels, each with the time at which it was taken.
type levels struct {
	t    *testing.T
	core *daemon.Core
	seq  int64
}

func newLevels(t *testing.T) *levels {
	t.Helper()
	site := sim.DemoSite()
	physics, err := design.Build(site)
	require.NoError(t, err)
	core, err := daemon.NewCore(daemon.CoreOptions{Site: site, Design: physics, Observer: silentObserver{}})
	require.NoError(t, err)
	return &levels{t: t, core: core}
}

func (l *levels) tell(arrived, taken time.Time) {
	l.seq++
	l.core.Apply(ingest.Event{At: arrived, Record: &ingest.Record{
		Seq: l.seq, Message: ingest.Message{Arrived: arrived},
		Readings: []model.Reading{{Sensor: model.ReservoirSubject("tank").Sensor(model.Level), Time: taken, Value: 350 - 0.001*float64(l.seq), Verdict: model.Good}},
	}})
}

// restart saves the core and goes on with another.
func (l *levels) restart() {
	kept, err := l.core.Save()
	require.NoError(l.t, err)
	l.core = newLevels(l.t).core
	require.NoError(l.t, l.core.Load(kept))
}

// used is how many levels the model has used, and whether any came too late.
func (l *levels) used() (n int, late uint64) {
	kept, err := l.core.Save()
	require.NoError(l.t, err)
	var state struct {
		Estimator struct {
			Late       uint64
			Reservoirs []struct{ Readings int }
		}
	}
	require.NoError(l.t, json.Unmarshal(kept, &state))
	return state.Estimator.Reservoirs[0].Readings, state.Estimator.Late
}

// What a gateway kept while it was away is used whatever the order in which it hands it
// over, with what it measures now before, behind or in the midst of it.
func TestWhatWasKeptIsTakenInItsOrder(t *testing.T) {
	t.Parallel()
	const away = 36 // levels
	for name, arrange := range map[string]func(taken []time.Time) []time.Time{
		"oldest first": func(taken []time.Time) []time.Time { return taken },
		"newest first": func(taken []time.Time) []time.Time { slices.Reverse(taken); return taken },
		"the present first": func(taken []time.Time) []time.Time {
			return slices.Insert(taken[:away], 0, taken[away])
		},
		"the present in the midst": func(taken []time.Time) []time.Time {
			return slices.Insert(taken[:away], away/2, taken[away])
		},
	} {
		for _, apart := range []time.Duration{20 * time.Millisecond, 5 * time.Second} {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				l := newLevels(t)
				now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
				for range away {
					now = now.Add(10 * time.Minute)
					l.tell(now.Add(time.Second), now)
				}
				var taken []time.Time
				for range away + 1 {
					now = now.Add(10 * time.Minute)
					taken = append(taken, now)
				}
				for i, own := range arrange(taken) {
					now = now.Add(apart)
					l.tell(now.Add(time.Second), own)
					if i == away/3 {
						l.restart()
					}
				}
				now = now.Add(5 * time.Minute)
				l.tell(now.Add(time.Second), now)
				n, late := l.used()
				assert.Equal(t, 2*away+2, n)
				assert.Zero(t, late)
			})
		}
	}
}

// The end of a recording waits for nothing, and a sensor that sends without times of
// its own never does.
func TestWhatWaitsAtTheEndIsUsed(t *testing.T) {
	t.Parallel()
	l := newLevels(t)
	noon := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	l.tell(noon.Add(time.Second), noon)
	l.tell(noon.Add(time.Hour+time.Second), noon.Add(time.Hour))
	l.core.Finish(noon.Add(time.Hour + 2*time.Second))
	n, _ := l.used()
	assert.Equal(t, 2, n)

	l = newLevels(t)
	l.tell(noon, noon)
	l.tell(noon.Add(time.Hour), noon.Add(time.Hour))
	n, _ = l.used()
	assert.Equal(t, 2, n, "it is taken at once")
}
