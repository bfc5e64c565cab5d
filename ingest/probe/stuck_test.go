package probe_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/probe"
	"wickd/model"
)

// feed lets a signal send every interval from from to end and counts how often
// it was called stuck.
func feed(h *probe.Health, id model.Subject, s *signal, interval time.Duration, from, end time.Time) (flags int) {
	stuck := false
	for i, at := 0, from; at.Before(end); i, at = i+1, at.Add(interval) {
		h.Observe(model.Reading{Sensor: id, Time: at, Value: s.at(at, interval), Verdict: model.Good}, at)
		// It takes two readings to come loose, so no flag is missed.
		if i%2 == 0 {
			continue
		}
		now := h.Snapshot(at)[0].Stuck
		if now && !stuck {
			flags++
		}
		stuck = now
	}
	return flags
}

// freeze sends one value over and over and says after how long the sensor was
// called stuck; 0: not within a limit.
func freeze(h *probe.Health, id model.Subject, value float64, interval time.Duration, from time.Time, limit time.Duration) time.Duration {
	for at := from; at.Sub(from) <= limit; at = at.Add(interval) {
		h.Observe(model.Reading{Sensor: id, Time: at, Value: value, Verdict: model.Good}, at)
		if h.Snapshot(at)[0].Stuck {
			return at.Sub(from)
		}
	}
	return 0
}

// A live sensor of any make is not called stuck: 13 makes, 90 days at
// 10 min and a week at 1 min each, fixed seed. The design allows one false
// alarm per sensor-year, thus three here.
func TestStuckFalseAlarms(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 4))
	all := signals(rng)
	for _, name := range slices.Sorted(maps.Keys(all)) {
		sensor := model.Sensor{ID: "air/x", Quantity: all[name].quantity}
		slow := feed(newHealth(t, sensor), sensor.ID, all[name], tenMinutes, noon, noon.AddDate(0, 0, 90))
		assert.Zero(t, slow, name)
		fast := feed(newHealth(t, sensor), sensor.ID, all[name], time.Minute, noon, noon.AddDate(0, 0, 7))
		assert.Zero(t, fast, "%s, every minute", name)
	}
}

// A sensor that freezes after five days is found: a fine one as soon as the
// least time of its quantity is over, a coarse one within 24 h. A level that
// rests every night by itself takes longer.
func TestStuckIsFound(t *testing.T) {
	within := map[string]time.Duration{
		"moisture, 0.1 %":      4 * time.Hour,
		"moisture, quiet":      12 * time.Hour,
		"moisture, 1 %":        24 * time.Hour,
		"level, 1 mm":          8 * time.Hour,
		"EC, 0.01 mS/cm":       7 * time.Hour,
		"pH, 0.01":             7 * time.Hour,
		"temperature, 1/16 °C": 14 * time.Hour,
		"humidity, wet nights": 14 * time.Hour,
		"radiation":            7 * time.Hour,
		"level, rests":         36 * time.Hour,
	}
	all := signals(rand.New(rand.NewPCG(5, 6)))
	for _, name := range slices.Sorted(maps.Keys(within)) {
		s := all[name]
		sensor := model.Sensor{ID: "air/x", Quantity: s.quantity}
		h := newHealth(t, sensor)
		end := noon.AddDate(0, 0, 5)
		feed(h, sensor.ID, s, tenMinutes, noon, end)
		value := s.at(end, tenMinutes)
		if s.quantity == model.Humidity {
			value = 0.62
		}
		found := freeze(h, sensor.ID, value, tenMinutes, end, 48*time.Hour)
		require.NotZero(t, found, name)
		assert.LessOrEqual(t, found, within[name], name)
		got := h.Snapshot(end)[0]
		assert.Equal(t, model.CauseProbeStuck, got.Cause)
		assert.WithinDuration(t, end, got.StuckSince, time.Hour)
	}
}

// A level in steps of 5 mm, with 1 mm of noise, over a tank that falls by day
// as much as its plants drink and rests by night: how long it shows one value
// depends on where between two steps the night finds it. A hundred sensors of
// ten days each.
func TestACoarseLevelRests(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 8))
	flags := 0
	for range 100 {
		sensor := model.Sensor{ID: "reservoir/tank/level", Quantity: model.Level}
		h := newHealth(t, sensor)
		level, stuck, thirst := 300+10*rng.Float64(), false, 1.0
		for at := noon; at.Before(noon.AddDate(0, 0, 10)); at = at.Add(tenMinutes) {
			if at.Hour() == 6 && at.Minute() == 0 {
				thirst = 0.3 + 1.2*rng.Float64()
			}
			level -= thirst * 15 / 24 / 6 * max(0, math.Sin(math.Pi*(float64(at.Hour())-6)/12)) * math.Pi
			value := 5 * math.Round((level+rng.NormFloat64())/5)
			h.Observe(model.Reading{Sensor: sensor.ID, Time: at, Value: value, Verdict: model.Good}, at)
			if now := h.Snapshot(at)[0].Stuck; now != stuck {
				stuck = now
				if now {
					flags++
				}
			}
		}
	}
	t.Logf("%d times called stuck in 1000 sensor-days", flags)
	assert.LessOrEqual(t, flags, 3)
}

func TestStuckCannotBeJudged(t *testing.T) {
	s := signals(rand.New(rand.NewPCG(5, 6)))["moisture, 5 %"]
	s.resolution = 0.25
	sensor := model.Sensor{ID: "air/x", Quantity: model.Moisture}
	h := newHealth(t, sensor)
	end := noon.AddDate(0, 6, 0)
	assert.Zero(t, feed(h, sensor.ID, s, tenMinutes, noon, end))
	got := h.Snapshot(end)[0]
	assert.Empty(t, got.Cause)
	assert.Contains(t, got.Evidence, "cannot be judged")
}

// No sun and saturated air are rest, not a fault, for however long.
func TestStuckNeverAtRest(t *testing.T) {
	for quantity, value := range map[model.Quantity]float64{model.Radiation: 0, model.Humidity: 1} {
		for name, s := range map[string]string{"radiation": "radiation", "humidity": "humidity, wet nights"} {
			if string(quantity) != name {
				continue
			}
			signal := signals(rand.New(rand.NewPCG(5, 6)))[s]
			sensor := model.Sensor{ID: "air/x", Quantity: quantity}
			h := newHealth(t, sensor)
			end := noon.AddDate(0, 0, 5)
			feed(h, sensor.ID, signal, tenMinutes, noon, end)
			assert.Zero(t, freeze(h, sensor.ID, value, tenMinutes, end, 10*24*time.Hour), quantity)
		}
	}
}

// One different value does not free a stuck sensor; the second does.
func TestStuckComesLoose(t *testing.T) {
	s := signals(rand.New(rand.NewPCG(5, 6)))["moisture, 0.1 %"]
	sensor := model.Sensor{ID: "air/x", Quantity: model.Moisture}
	h := newHealth(t, sensor)
	at := noon.AddDate(0, 0, 5)
	feed(h, sensor.ID, s, tenMinutes, noon, at)
	require.NotZero(t, freeze(h, sensor.ID, 0.4, tenMinutes, at, 24*time.Hour))
	at = at.Add(24 * time.Hour)
	for i, step := range []struct {
		value float64
		stuck bool
	}{{0.4, true}, {0.41, true}, {0.4, true}, {0.41, true}, {0.42, false}, {0.43, false}} {
		at = at.Add(tenMinutes)
		h.Observe(model.Reading{Sensor: sensor.ID, Time: at, Value: step.value, Verdict: model.Good}, at)
		assert.Equal(t, step.stuck, h.Snapshot(at)[0].Stuck, "step %d", i)
	}
}

// The electrode is frozen, but the thermometer goes on and with it the value
// compensated to 25 °C.
func TestStuckBehindTheCompensation(t *testing.T) {
	decoder := newDecoder(t, probe.Options{Sensors: sensors()})
	h := newHealth(t, sensors()...)
	rng := rand.New(rand.NewPCG(8, 9))
	all := signals(rng)
	ec, temperature := all["EC, 0.01 mS/cm"], all["temperature, 1/16 °C"]
	values := map[float64]bool{}
	frozen := noon.AddDate(0, 0, 5)
	for at := noon; at.Before(frozen.Add(12 * time.Hour)); at = at.Add(tenMinutes) {
		x := ec.at(at, tenMinutes)
		if !at.Before(frozen) {
			x = 1.23
		}
		for _, m := range []struct {
			id    model.Subject
			value float64
		}{{tankTemp, temperature.at(at, tenMinutes)}, {tankEC, x}} {
			for _, r := range decoder.Decode(message(m.id, format(m.value), at)).Readings {
				h.Observe(r, at)
				if m.id == tankEC && !at.Before(frozen) {
					values[r.Value] = true
				}
			}
		}
	}
	require.Greater(t, len(values), 5, "the compensated value moves")
	got := h.Snapshot(frozen.Add(12 * time.Hour))[0]
	assert.True(t, got.Stuck)
	assert.WithinDuration(t, frozen, got.StuckSince, tenMinutes)
}
