package probe_test

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/payload"
	"wickd/ingest/probe"
	"wickd/model"
)

const tenMinutes = 10 * time.Minute

func newHealth(t testing.TB, all ...model.Sensor) *probe.Health {
	t.Helper()
	h, err := probe.NewHealth(probe.HealthOptions{Sensors: all})
	require.NoError(t, err)
	return h
}

func moistureSensors(n int) []model.Sensor {
	var all []model.Sensor
	for i := range n {
		all = append(all, model.Sensor{ID: model.BagSubject("b" + strconv.Itoa(i)).Sensor(model.Moisture), Quantity: model.Moisture})
	}
	return all
}

func good(sensor model.Subject, at time.Time) model.Reading {
	return model.Reading{Sensor: sensor, Time: at, Value: 0.5, Verdict: model.Good}
}

// site lets sensors send every interval (±jitter of it) and loses some.
type site struct {
	sensors        []model.Sensor
	interval       time.Duration
	jitter, losses float64
	rng            *rand.Rand
}

// run feeds h to end with a Tick a minute and counts how often a sensor turned
// silent. It returns the time of each sensor's last message.
func (s site) run(h *probe.Health, from, end time.Time) (flags int, last []time.Time) {
	next := make([]time.Time, len(s.sensors))
	last = make([]time.Time, len(s.sensors))
	silent := make([]bool, len(s.sensors))
	for i := range next {
		next[i] = from.Add(time.Duration(s.rng.Float64() * float64(s.interval)))
	}
	for now := from; !now.After(end); now = now.Add(time.Minute) {
		for i, sensor := range s.sensors {
			for ; !next[i].After(now); next[i] = next[i].Add(s.step()) {
				if s.rng.Float64() >= s.losses {
					h.Observe(good(sensor.ID, next[i]), next[i])
					last[i] = next[i]
					silent[i] = false
				}
			}
		}
		h.Tick(now)
		// Nobody is flagged within two intervals, so there is nothing to look at.
		if now.Sub(slices.MinFunc(last, time.Time.Compare)) < 2*s.interval {
			continue
		}
		for i, health := range h.Snapshot(now) {
			if health.Silent && !silent[i] {
				flags++
			}
			silent[i] = health.Silent
		}
	}
	return flags, last
}

func (s site) step() time.Duration {
	return time.Duration(float64(s.interval) * (1 + s.jitter*(2*s.rng.Float64()-1)))
}

// detect ticks on without messages until every sensor is silent and gives the
// longest time from a last message to its flag.
func detect(t *testing.T, h *probe.Health, last []time.Time, from time.Time) time.Duration {
	t.Helper()
	var longest time.Duration
	found := map[int]bool{}
	for now := from; len(found) < len(last); now = now.Add(time.Minute) {
		require.Less(t, now.Sub(from), 24*time.Hour, "never found")
		h.Tick(now)
		for i, health := range h.Snapshot(now) {
			if health.Silent && !found[i] {
				found[i] = true
				longest = max(longest, now.Sub(last[i]))
			}
		}
	}
	return longest
}

// 14 days of 20 sensors that send every 10 min: no sensor is called silent that
// only lost messages, and a dead one is found within the design's number of
// intervals (bounds: the design table in silence.go plus a minute of the tick).
func TestSilenceUnderLoss(t *testing.T) {
	tests := map[string]struct {
		jitter, losses float64
		within         time.Duration
	}{
		"no loss":                   {0, 0, 30 * time.Minute},
		"no loss, 10 % jitter":      {0.1, 0, 32 * time.Minute},
		"1 % lost":                  {0, 0.01, 42 * time.Minute}, // most within 32, see below
		"3 % lost":                  {0, 0.03, 52 * time.Minute},
		"5 % lost":                  {0, 0.05, 62 * time.Minute},
		"5 % lost, sends each 10 s": {0, 0.05, 7 * time.Minute},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := site{sensors: moistureSensors(20), interval: tenMinutes, jitter: tt.jitter, losses: tt.losses, rng: rand.New(rand.NewPCG(7, 11))}
			days := 14
			if name == "5 % lost, sends each 10 s" {
				s.interval, days = 10*time.Second, 1
			}
			h := newHealth(t, s.sensors...)
			end := noon.AddDate(0, 0, days)
			flags, last := s.run(h, noon, end)
			assert.Zero(t, flags, "false flags")
			assert.LessOrEqual(t, detect(t, h, last, end), tt.within)
		})
	}
}

// At 1 % loss nearly all sensors are found right after the third message is
// missing.
func TestSilenceAtOnePercentIsFoundAtTheThird(t *testing.T) {
	s := site{sensors: moistureSensors(50), interval: tenMinutes, losses: 0.01, rng: rand.New(rand.NewPCG(3, 5))}
	h := newHealth(t, s.sensors...)
	end := noon.AddDate(0, 0, 7)
	_, last := s.run(h, noon, end)
	found := 0
	for now := end; now.Before(end.Add(33 * time.Minute)); now = now.Add(time.Minute) {
		h.Tick(now)
		for i, health := range h.Snapshot(now) {
			if health.Silent && now.Sub(last[i]) < 32*time.Minute {
				found |= 1 << i
			}
		}
	}
	count := 0
	for ; found > 0; found &= found - 1 {
		count++
	}
	assert.GreaterOrEqual(t, count, 40, "of 50")
}

// A sensor that sends on change has gaps as they come; its nights are not
// silence.
func TestSilenceOfSensorsThatSendOnChange(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	all := moistureSensors(1)
	h := newHealth(t, all...)
	at, now := noon, noon
	end := noon.AddDate(0, 0, 28)
	silentTicks := 0
	for at.Before(end) {
		mean := 6 * time.Minute
		if hour := at.Hour(); hour >= 20 || hour < 6 {
			mean = 40 * time.Minute
		}
		at = at.Add(time.Duration(rng.ExpFloat64() * float64(mean)))
		for ; now.Before(at); now = now.Add(time.Minute) {
			h.Tick(now)
			// The first night is news.
			if h.Snapshot(now)[0].Silent && now.After(noon.AddDate(0, 0, 2)) {
				silentTicks++
			}
		}
		h.Observe(good(all[0].ID, at), at)
	}
	assert.Zero(t, silentTicks)
	assert.LessOrEqual(t, detect(t, h, []time.Time{at}, now), 24*time.Hour)
}

// Sensors that send every measurement three or four times, a minute apart, of which
// some are lost, are neither called silent while they live nor missed when they die.
func TestSilenceOfSensorsThatSendInBursts(t *testing.T) {
	for _, copies := range []int{3, 4} {
		rng := rand.New(rand.NewPCG(uint64(copies), 5))
		all := moistureSensors(5)
		h := newHealth(t, all...)
		start := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
		now, flags := start, 0
		last := make([]time.Time, len(all))
		for range 20 * 24 * 60 {
			for i, sensor := range all {
				if int(now.Sub(start).Minutes())%10 < copies && rng.Float64() >= 0.01 {
					h.Observe(good(sensor.ID, now), now)
					last[i] = now
				}
			}
			h.Tick(now)
			for _, s := range h.Snapshot(now) {
				if s.Silent {
					flags++
				}
			}
			now = now.Add(time.Minute)
		}
		assert.Zero(t, flags, "%d copies", copies)
		assert.LessOrEqual(t, detect(t, h, last, now), 35*time.Minute, "%d copies", copies)
	}
}

// A sensor that sends each reading twice keeps the rhythm of its readings.
func TestSilenceOfASensorThatSendsTwice(t *testing.T) {
	sensor := moistureSensors(1)[0]
	h := newHealth(t, sensor)
	start := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	now := start
	for i := range 60 {
		at := start.Add(time.Duration(i) * tenMinutes)
		for ; now.Before(at); now = now.Add(time.Minute) {
			h.Tick(now)
			require.False(t, h.Snapshot(now)[0].Silent, "%s", now)
		}
		h.Observe(good(sensor.ID, at), at)
		h.Observe(good(sensor.ID, at.Add(time.Second)), at.Add(time.Second))
	}
	assert.InDelta(t, tenMinutes.Minutes(), h.Snapshot(now)[0].Expected.Minutes(), 20, "minutes, not seconds")
	h.Tick(now.Add(40 * time.Minute))
	assert.True(t, h.Snapshot(now.Add(40 * time.Minute))[0].Silent)
}

func TestSilenceWithAConfiguredInterval(t *testing.T) {
	sensor := moistureSensors(1)
	sensor[0].ExpectEvery = time.Hour
	h := newHealth(t, sensor...)
	h.Observe(good(sensor[0].ID, noon), noon)
	h.Tick(noon.Add(179 * time.Minute))
	assert.False(t, h.Snapshot(noon.Add(179 * time.Minute))[0].Silent)
	h.Tick(noon.Add(184 * time.Minute))
	got := h.Snapshot(noon.Add(184 * time.Minute))[0]
	assert.True(t, got.Silent)
	assert.Equal(t, time.Hour, got.Expected)
	assert.Equal(t, model.CauseProbeSilent, got.Cause)
	assert.Equal(t, "nothing has come from it for 3 h 4 min; it sends every 1 h", got.Evidence)
}

func TestSilenceOfSensorsNeverHeard(t *testing.T) {
	all := moistureSensors(2)
	all[1].ExpectEvery = time.Hour
	h := newHealth(t, all...)
	flagged := func(after time.Duration) [2]bool {
		h.Tick(noon.Add(after))
		s := h.Snapshot(noon.Add(after))
		return [2]bool{s[0].Silent, s[1].Silent}
	}
	assert.Equal(t, [2]bool{}, flagged(0))
	assert.Equal(t, [2]bool{}, flagged(30*time.Minute))
	assert.Equal(t, [2]bool{true, false}, flagged(31*time.Minute))
	assert.Equal(t, [2]bool{true, true}, flagged(184*time.Minute))
	assert.Equal(t, "nothing has come from it in the 3 h 4 min since listening began", h.Snapshot(noon.Add(184 * time.Minute))[0].Evidence)
	h.Observe(good(all[0].ID, noon.Add(4*time.Hour)), noon.Add(4*time.Hour))
	assert.Equal(t, [2]bool{false, true}, flagged(4*time.Hour))
}

// What is heard but not used is no silence; a retained message is no sign of
// life.
func TestSilenceCountsWhatIsHeard(t *testing.T) {
	all := moistureSensors(2)
	h := newHealth(t, all...)
	for at := noon; at.Before(noon.Add(6 * time.Hour)); at = at.Add(tenMinutes) {
		h.Refuse(all[0].ID, payload.NaN, at)
		retained := good(all[1].ID, at)
		retained.Verdict = model.Retained
		h.Observe(retained, at)
		h.Tick(at)
	}
	now := noon.Add(6 * time.Hour)
	got := h.Snapshot(now)
	assert.False(t, got[0].Silent)
	assert.Equal(t, map[model.Verdict]uint64{"nan": 36}, got[0].Refused)
	assert.True(t, got[1].Silent)
	assert.True(t, got[1].LastMessage.IsZero())
	assert.Equal(t, map[model.Verdict]uint64{model.Retained: 36}, got[1].Refused)
}
