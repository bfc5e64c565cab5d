package daemon_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/capture"
	"wickd/model"
	"wickd/model/design"
	"wickd/model/sim"
)

func newCore(t testing.TB, c *config.Config, o daemon.Observer) *daemon.Core {
	physics, err := design.Build(c.Site)
	require.NoError(t, err)
	return coreOf(t, c, physics, o)
}

func coreOf(t testing.TB, c *config.Config, physics *design.Site, o daemon.Observer) *daemon.Core {
	core, err := daemon.NewCore(daemon.CoreOptions{
		Site: c.Site, Design: physics, Horizon: c.Alerts.Horizon, Overrides: daemon.Overrides(c.Alerts), Observer: o,
	})
	require.NoError(t, err)
	return core
}

// eventsOf is what a replay of a capture tells the core.
func eventsOf(t testing.TB, c *config.Config, recording []byte) []ingest.Event {
	in, err := capture.NewReader("recording", bytes.NewReader(recording))
	require.NoError(t, err)
	decoder, err := daemon.NewDecoder(c.Site)
	require.NoError(t, err)
	next := func() (ingest.Record, bool, error) {
		r, err := in.Next()
		if errors.Is(err, io.EOF) {
			return ingest.Record{}, false, nil
		}
		return r, err == nil, err
	}
	var all []ingest.Event
	sink := ingest.SinkFunc(func(_ context.Context, b ingest.Batch) error {
		all = append(all, b.Events...)
		return nil
	})
	require.NoError(t, ingest.Replay(context.Background(), next, decoder, sink))
	return all
}

// replay gives the records that a replay writes.
func replay(t testing.TB, c *config.Config, recording []byte) string {
	var out bytes.Buffer
	recorder := daemon.NewRecorder(&out)
	feed(newCore(t, c, recorder), eventsOf(t, c, recording))
	require.NoError(t, recorder.Err())
	return out.String()
}

// feed takes a core through all of a recording.
func feed(core *daemon.Core, events []ingest.Event) {
	for _, e := range events {
		core.Apply(e)
	}
	core.Finish(events[len(events)-1].At)
}

// eventful is most of a day of the bench with something of everything.
func eventful(t testing.TB, c *config.Config) []byte {
	at := func(hours float64) time.Time { return start.Add(time.Duration(hours * float64(time.Hour))) }
	return recording(t, c, 3, 18*time.Hour,
		sim.Fault{Kind: sim.WickLostContact, Subject: model.BagSubject("p2"), Start: at(5), Size: 0.1},
		sim.Fault{Kind: sim.ProbeSilent, Subject: model.BagSubject("p3").Sensor(model.Moisture), Start: at(6), End: at(12)},
		sim.Fault{Kind: sim.ProbeStuck, Subject: model.ReservoirSubject("tank").Sensor(model.EC), Start: at(2), End: at(14)},
		sim.Fault{Kind: sim.ProbeError, Subject: model.ReservoirSubject("tank").Sensor(model.Temperature), Start: at(9), End: at(11)},
		sim.Fault{Kind: sim.WrongRefill, Subject: model.ReservoirSubject("tank"), Start: at(13), Size: 2.9},
	)
}

func TestReplayGivesTheSameBytes(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded)
	day := eventful(t, c)
	want := replay(t, c, day)
	assert.Contains(t, want, `"condition":"sensor-silent","subject":"bag/p3/moisture","transition":"raised"`)
	assert.Equal(t, 18*4, strings.Count(want, `"record":"bag"`)+strings.Count(want, `"record":"reservoir"`), "three bags and a tank, every hour up to the last")
	t.Run("again, of a site that was read again", func(t *testing.T) {
		t.Parallel()
		assert.Equal(t, want, replay(t, bench(t, embedded), day))
	})
	t.Run("with the alerts decided apart", func(t *testing.T) {
		t.Parallel()
		var out bytes.Buffer
		recorder := daemon.NewRecorder(&out)
		core := newCore(t, c, recorder)
		join := core.Apart()
		feed(core, eventsOf(t, c, day))
		join()
		require.NoError(t, recorder.Err())
		assert.Equal(t, want, out.String())
		_, err := core.Save()
		assert.NoError(t, err)
	})
	// Wherever the core is saved and another continues from that, what it finds
	// is the same to the last bit.
	t.Run("saved and loaded at random", func(t *testing.T) {
		t.Parallel()
		random := rand.New(rand.NewPCG(1, 2))
		var out bytes.Buffer
		recorder := daemon.NewRecorder(&out)
		physics, err := design.Build(c.Site)
		require.NoError(t, err)
		next := func() *daemon.Core { return coreOf(t, c, physics, recorder) }
		core := next()
		events := eventsOf(t, c, day)
		for _, e := range events {
			if random.IntN(40) == 0 {
				core = saveAndLoad(t, core, next)
			}
			core.Apply(e)
		}
		core.Finish(events[len(events)-1].At)
		assert.Equal(t, want, out.String())
	})
}

// saveAndLoad gives another core in the state of the first, by way of another
// still: what was loaded must be saved whole at once.
func saveAndLoad(t *testing.T, core *daemon.Core, next func() *daemon.Core) *daemon.Core {
	saved, err := core.Save()
	require.NoError(t, err)
	for range 2 {
		core = next()
		require.NoError(t, core.Load(saved))
		again, err := core.Save()
		require.NoError(t, err)
		require.Equal(t, string(saved), string(again))
		saved = again
	}
	return core
}

func TestLoadRefuses(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded)
	saved, err := newCore(t, c, daemon.NewRecorder(io.Discard)).Save()
	require.NoError(t, err)
	other := bench(t, embedded)
	other.Site.Bags[0].ID, other.Site.Bags[0].Channel = "x1", "x"
	other.Site.Bags = other.Site.Bags[:1]
	other.Site.Channels[0].ID, other.Site.Channels[0].Reservoir, other.Site.Reservoirs[0].ID = "x", "drum", "drum"
	tests := map[string]struct {
		site  *config.Config
		saved string
		want  string
	}{
		"another version": {c, strings.Replace(string(saved), `"Version":1`, `"Version":99`, 1), "version 99"},
		"damaged":         {c, string(saved[:len(saved)/2]), "restore the state"},
		"another site":    {other, string(saved), "the model begins anew"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			assert.ErrorContains(t, newCore(t, tt.site, daemon.NewRecorder(io.Discard)).Load([]byte(tt.saved)), tt.want)
		})
	}
}

// BenchmarkReplay is a fortnight of twelve bags, decoded and taken in with the
// alerts decided apart, as the command does.
func BenchmarkReplay(b *testing.B) {
	file := strings.Replace(benchFile, "[p1, p2, p3]", "[p1, p2, p3, p4, p5, p6, p7, p8, p9, p10, p11, p12]", 1)
	c, err := config.Parse(b.TempDir()+"/site.yaml", []byte(file+"\n"+embedded))
	require.NoError(b, err)
	fortnight := recording(b, c, 3, 14*24*time.Hour)
	for b.Loop() {
		recorder := daemon.NewRecorder(io.Discard)
		core := newCore(b, c, recorder)
		join := core.Apart()
		feed(core, eventsOf(b, c, fortnight))
		join()
		require.NoError(b, recorder.Err())
	}
}
