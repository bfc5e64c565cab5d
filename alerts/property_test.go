package alerts

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model"
)

// drawSnapshot draws a snapshot with anything wrong, good input and bad.
func drawSnapshot(t *rapid.T, now time.Time) model.Snapshot {
	s := healthy(now)
	quality := rapid.SampledFrom([]model.Quality{model.Fresh, model.Fresh, model.Stale, model.Unknown})
	for i := range s.Bags {
		b := &s.Bags[i]
		b.WaterContent.Value = rapid.SampledFrom([]float64{0.1, 0.30, 0.32, 0.45, 0.61, 0.7}).Draw(t, "water")
		b.WaterContent.Quality = quality.Draw(t, "quality")
		b.WickShare.Value = rapid.SampledFrom([]float64{0.1, 0.55, 0.95}).Draw(t, "wick")
		b.Cause = rapid.SampledFrom([]model.Cause{"", model.CauseWickLostContact, model.CauseWickClogging, model.CauseUndecided}).Draw(t, "cause")
		if hours := rapid.IntRange(0, 80).Draw(t, "dry in"); hours > 0 {
			dryIn(i, time.Duration(hours)*time.Hour)(&s)
		}
	}
	for i := range s.Channels {
		s.Channels[i].Dry = rapid.Bool().Draw(t, "channel dry")
	}
	r := &s.Reservoirs[0]
	r.Level.Value = rapid.SampledFrom([]float64{40, 55, 100, 125, 300}).Draw(t, "level")
	r.Level.Quality = quality.Draw(t, "level quality")
	r.EC.Value = rapid.SampledFrom([]float64{0.9, 1.4, 1.58, 2}).Draw(t, "ec")
	r.Unexplained.Value = rapid.SampledFrom([]float64{0, 0.8, 5}).Draw(t, "unexplained")
	r.Cause = rapid.SampledFrom([]model.Cause{"", model.CauseLeak}).Draw(t, "cause")
	for i := range s.Sensors {
		s.Sensors[i].Silent = rapid.IntRange(0, 4).Draw(t, "silent") == 0
		s.Sensors[i].Stuck = rapid.IntRange(0, 4).Draw(t, "stuck") == 0
	}
	if rapid.IntRange(0, 4).Draw(t, "broker") == 0 {
		s.Daemon.BrokerLostSince = now
	}
	if n := rapid.IntRange(0, len(s.Bags)).Draw(t, "bags"); n < 2 {
		s.Bags = s.Bags[:n]
	}
	return s
}

// A restart between any two steps changes nothing: the engine that is saved
// and restored all the time tells the same as the one that runs through.
func TestRestartsChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		straight, broken := engine(t), engine(t)
		now := noon
		for range rapid.IntRange(1, 12).Draw(t, "steps") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{1, 3, 30, 200, 900}).Draw(t, "minutes")) * time.Minute)
			s := drawSnapshot(t, now)
			want := straight.Step(now, s)
			require.Equal(t, want, broken.Step(now, s))
			require.Equal(t, straight.Remind(now), broken.Remind(now))
			require.Equal(t, straight.Escalate(now), broken.Escalate(now))
			operate(t, now, want, straight, broken)

			state, err := broken.MarshalState()
			require.NoError(t, err)
			broken = engine(t)
			require.NoError(t, broken.RestoreState(state))
			again, err := straight.MarshalState()
			require.NoError(t, err)
			require.Equal(t, string(again), string(state))
			require.Equal(t, straight.Open(), broken.Open())
		}
	})
}

func engine(t *rapid.T) *Engine {
	e, err := New(Options{
		Site: kestrel(), Reminders: map[model.Priority]time.Duration{model.PriorityUrgent: 30 * time.Minute},
		Escalations: []time.Duration{time.Hour, 20 * time.Minute},
	})
	require.NoError(t, err)
	return e
}

// operate lets a person act on both engines alike.
func operate(t *rapid.T, now time.Time, changes []model.Transition, engines ...*Engine) {
	if len(changes) == 0 {
		return
	}
	c := rapid.SampledFrom(changes).Draw(t, "change")
	act := rapid.IntRange(0, 3).Draw(t, "act")
	var results []string
	for _, e := range engines {
		var out []model.Transition
		var err error
		switch act {
		case 0:
			out, err = e.Acknowledge(now, c.Occurrence, "the grower")
		case 1:
			out, err = e.Shelve(now, string(c.Subject), now.Add(2*time.Hour))
		case 2:
			out, err = e.Unshelve(now, string(c.Subject))
		}
		results = append(results, fmt.Sprint(brief(out), err))
	}
	require.Equal(t, results[0], results[1])
}

// What is told makes sense to a person who sees only that: nothing is cleared
// that was not raised, nothing is raised twice before it clears, times do not
// run backwards, and a headline fits a lock screen.
func TestWhatIsToldMakesSense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := engine(t)
		now := noon
		open := map[string]bool{}
		for range rapid.IntRange(1, 25).Draw(t, "steps") {
			now = now.Add(time.Duration(rapid.SampledFrom([]int{1, 3, 30, 200}).Draw(t, "minutes")) * time.Minute)
			for _, c := range e.Step(now, drawSnapshot(t, now)) {
				require.False(t, c.Since.After(c.Time), "%s since after its time", c.Occurrence)
				require.NotEmpty(t, c.Message.Headline)
				require.LessOrEqual(t, len([]rune(c.Message.Headline)), 90, c.Message.Headline)
				if c.Suppressed {
					continue
				}
				switch c.Kind {
				case model.Raised:
					require.False(t, open[c.Occurrence], "%s raised twice", c.Occurrence)
					open[c.Occurrence] = true
				case model.Cleared:
					require.True(t, open[c.Occurrence], "%s cleared without being raised", c.Occurrence)
					delete(open, c.Occurrence)
				}
			}
		}
	})
}

func TestABrokenStateIsRefusedAndChangesNothing(t *testing.T) {
	r := newRun(t, nil)
	r.last(10*time.Minute, water(0, 0.2))
	for _, bad := range []string{"", "{", `{"version":2}`, `{"version":1,"records":[null]}`, `{"version":1,"last":"Tuesday"}`} {
		require.Error(t, r.e.RestoreState([]byte(bad)), bad)
		require.Equal(t, Unacknowledged, r.e.Status(BagDry, "bag/a1"))
	}
	require.NoError(t, r.e.RestoreState([]byte(`{"version":1,"records":[{"condition":"bag-cold","subject":"bag/a1"}]}`)))
	require.Empty(t, r.e.Open(), "a condition that no longer exists is dropped")
}

func TestTheSnapshotIsNotSharedOrChanged(t *testing.T) {
	e, err := New(Options{Site: kestrel()})
	require.NoError(t, err)
	s := with(noon, dryIn(0, 9*time.Hour))
	e.Step(noon, s)
	changes := e.Step(noon.Add(2*time.Hour), s)
	require.Len(t, changes, 1)
	due := *changes[0].Due
	*s.Bags[0].Dry.P50 = time.Time{}
	require.Equal(t, due, *changes[0].Due)
	require.Equal(t, due, *e.Open()[0].Due)
	*changes[0].Due = time.Time{}
	require.Equal(t, due, *e.Open()[0].Due)
}

func BenchmarkStep(b *testing.B) {
	site, s := kestrel(), healthy(noon)
	for i := range 500 {
		id := fmt.Sprintf("c%d", i)
		bag := site.Bags[0]
		bag.ID = id
		site.Bags = append(site.Bags, bag)
		estimate := s.Bags[0]
		estimate.Bag = id
		s.Bags = append(s.Bags, estimate)
	}
	e, err := New(Options{Site: site})
	require.NoError(b, err)
	for i := 0; b.Loop(); i++ {
		e.Step(noon.Add(time.Duration(i)*time.Minute), s)
	}
}
