package probe_test

import (
	"encoding/json"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest/payload"
	"wickd/ingest/probe"
	"wickd/model"
)

func format(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

func TestNewHealthRefuses(t *testing.T) {
	ph := model.Sensor{ID: tankPH, Quantity: model.PH}
	slow := ph
	slow.ExpectEvery = -time.Minute
	steep := model.Sensor{ID: tankEC, Quantity: model.EC, CompensateTo25: true, TemperatureCoefficient: 2}
	for want, all := range map[string][]model.Sensor{"twice": {ph, ph}, "negative": {slow}, "2 %/K": {steep}} {
		_, err := probe.NewHealth(probe.HealthOptions{Sensors: all})
		assert.ErrorContains(t, err, want)
	}
}

// Nothing usable three times over a quarter of an hour is implausible; a good
// reading ends it.
func TestHealthImplausible(t *testing.T) {
	h := newHealth(t, sensors()...)
	reading := func(at time.Time, v model.Verdict) model.Reading {
		return model.Reading{Sensor: tankTemp, Time: at, Value: -127, Verdict: v}
	}
	got := func() model.SensorHealth { return h.Snapshot(noon)[1] }
	h.Observe(reading(noon, model.ErrorValue), noon)
	h.Observe(reading(noon.Add(time.Minute), model.ErrorValue), noon.Add(time.Minute))
	h.Observe(reading(noon.Add(2*time.Minute), model.ErrorValue), noon.Add(2*time.Minute))
	assert.False(t, got().Implausible, "a burst")
	h.Refuse(tankTemp, payload.Unavailable, noon.Add(15*time.Minute))
	assert.True(t, got().Implausible)
	assert.Equal(t, noon, got().Since)
	assert.Equal(t, "the last 4 messages in a row brought nothing usable, the last one: unavailable", got().Evidence)
	assert.Equal(t, map[model.Verdict]uint64{model.ErrorValue: 3, "unavailable": 1}, got().Refused)
	assert.True(t, got().LastGood.IsZero())
	h.Observe(model.Reading{Sensor: tankTemp, Time: noon.Add(20 * time.Minute), Value: 19, Verdict: model.Good}, noon.Add(20*time.Minute))
	assert.False(t, got().Implausible)
	assert.Equal(t, 19.0, got().Value)
}

// A snapshot is in the order given and shares nothing with the tracker.
func TestSnapshotIsACopy(t *testing.T) {
	h := newHealth(t, sensors()...)
	h.Refuse(tankPH, payload.NaN, noon)
	first := h.Snapshot(noon)
	for i, sensor := range sensors() {
		assert.Equal(t, sensor.ID, first[i].Sensor)
	}
	first[2].Refused["nan"] = 99
	state := h.State()
	state.Sensors[2].Refused["nan"] = 99
	assert.EqualValues(t, 1, h.Snapshot(noon)[2].Refused["nan"])
}

// A sensor that the site file dropped is forgotten; a new one gets the time of
// an unheard sensor from now on.
func TestRestoreAfterAChangeOfSensors(t *testing.T) {
	all := moistureSensors(3)
	h := newHealth(t, all[:2]...)
	later := noon.Add(5 * time.Hour)
	for at := noon; !at.After(later); at = at.Add(tenMinutes) {
		h.Observe(good(all[0].ID, at), at)
		h.Observe(good(all[1].ID, at), at)
		h.Tick(at)
	}
	changed := newHealth(t, all[1:]...)
	changed.Restore(h.State())
	changed.Tick(later.Add(29 * time.Minute))
	got := changed.Snapshot(later)
	require.Len(t, got, 2)
	assert.Equal(t, later, got[0].LastGood)
	assert.False(t, got[1].Silent)
	changed.Tick(later.Add(31 * time.Minute))
	assert.True(t, changed.Snapshot(later)[1].Silent)
}

// event is one thing that happens to a Health.
type event struct {
	kind    int
	sensor  model.Subject
	value   float64
	verdict model.Verdict
	at      time.Time
	lasts   time.Duration
}

func (e event) apply(h *probe.Health) {
	switch e.kind {
	case 0:
		h.Tick(e.at)
	case 1:
		h.Pause(e.at.Add(-e.lasts), e.at)
	case 2:
		h.Refuse(e.sensor, payload.NaN, e.at)
	default:
		r := model.Reading{Sensor: e.sensor, Time: e.at.Add(-e.lasts), Value: e.value, Verdict: e.verdict, Reconstructed: e.lasts > time.Hour}
		h.Observe(r, e.at)
	}
}

func drawEvents(t *rapid.T) []event {
	verdicts := []model.Verdict{model.Good, model.Good, model.Good, model.Retained, model.OutOfRange, model.ErrorValue, model.Jump}
	var events []event
	at := noon
	for range rapid.IntRange(1, 150).Draw(t, "events") {
		at = at.Add(time.Duration(rapid.IntRange(0, 1200).Draw(t, "seconds")) * time.Second)
		events = append(events, event{
			kind:    rapid.IntRange(0, 9).Draw(t, "kind"),
			sensor:  rapid.SampledFrom(sensors()).Draw(t, "sensor").ID,
			value:   float64(rapid.IntRange(0, 3).Draw(t, "value")) / 10,
			verdict: rapid.SampledFrom(verdicts).Draw(t, "verdict"),
			at:      at,
			lasts:   time.Duration(max(0, rapid.IntRange(-7200, 7200).Draw(t, "lasts"))) * time.Second,
		})
	}
	return events
}

// A restart from a checkpoint at any point changes nothing.
func TestHealthRestores(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := drawEvents(t)
		stop := rapid.IntRange(0, len(events)).Draw(t, "stop")
		h, err := probe.NewHealth(probe.HealthOptions{Sensors: sensors()})
		require.NoError(t, err)
		resumed, err := probe.NewHealth(probe.HealthOptions{Sensors: sensors()})
		require.NoError(t, err)
		for i, e := range events {
			if i == stop {
				checkpoint, err := json.Marshal(h.State())
				require.NoError(t, err)
				var state probe.State
				require.NoError(t, json.Unmarshal(checkpoint, &state))
				resumed.Restore(state)
			}
			e.apply(h)
			if i >= stop {
				e.apply(resumed)
				require.Equal(t, h.Snapshot(e.at), resumed.Snapshot(e.at), "event %d", i)
			}
		}
		if stop < len(events) {
			require.Equal(t, h.State(), resumed.State())
		}
	})
}

// Whatever happens, times on the listening clock stay in order and a sensor
// that was heard a moment ago is not silent.
func TestHealthInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, err := probe.NewHealth(probe.HealthOptions{Sensors: sensors()})
		require.NoError(t, err)
		for _, e := range drawEvents(t) {
			e.apply(h)
			state := h.State()
			require.GreaterOrEqual(t, state.Clock, time.Duration(0))
			for i, s := range state.Sensors {
				require.LessOrEqual(t, s.Silence.HeardAt, state.Clock)
				require.False(t, s.Silence.Silent && s.LastMessage.Equal(e.at) && e.kind > 1, "sensor %d", i)
				require.GreaterOrEqual(t, s.Silence.Missed, 0.0)
				require.GreaterOrEqual(t, s.Run.Length, 0)
			}
		}
	})
}

func BenchmarkHealthObserve(b *testing.B) {
	h := newHealth(b, sensors()...)
	at := noon
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		at = at.Add(tenMinutes)
		h.Observe(model.Reading{Sensor: bagWater, Time: at, Value: 0.5 + float64(i%7)/1000, Verdict: model.Good}, at)
	}
}

func BenchmarkHealthTickOfTenThousand(b *testing.B) {
	h := newHealth(b, moistureSensors(10000)...)
	at := noon
	b.ReportAllocs()
	for b.Loop() {
		at = at.Add(time.Minute)
		h.Tick(at)
	}
}
