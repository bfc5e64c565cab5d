package probe_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/probe"
	"wickd/model"
)

// dated feeds one sensor's readings, each with the time that it carries and that of its
// arrival, and gives what Health made of the last.
func dated(h *probe.Health, sensor model.Subject, own, arrived time.Time) (model.Reading, model.SensorHealth) {
	r := h.Observe(good(sensor, own), arrived)
	h.Tick(arrived)
	return r, h.Snapshot(arrived)[0]
}

// A clock that was set to a local time west of Greenwich dates every reading hours
// back. From the sixth on it is known, and the readings are of their arrival; they are
// of their own time again once it is set right.
func TestAClockThatIsBehind(t *testing.T) {
	all := moistureSensors(1)
	h := newHealth(t, all...)
	const zone = 5 * time.Hour
	now := noon
	for i := range 40 {
		now = now.Add(tenMinutes + time.Duration(i%3)*time.Second)
		r, s := dated(h, all[0].ID, now.Add(-zone), now)
		if i < 5 {
			require.Zero(t, s.Behind, "%d", i)
			require.Equal(t, now.Add(-zone), r.Time)
			continue
		}
		require.InDelta(t, zone.Hours(), s.Behind.Hours(), 0.01, "%d", i)
		require.Equal(t, now, r.Time)
		require.Equal(t, now, s.LastGood)
	}
	assert.NotZero(t, h.Snapshot(now)[0].Expected, "its pace is learnt all the same")

	kept, err := json.Marshal(h.State())
	require.NoError(t, err)
	var state probe.State
	require.NoError(t, json.Unmarshal(kept, &state))
	again := newHealth(t, all...)
	again.Restore(state)
	now = now.Add(tenMinutes)
	_, s := dated(again, all[0].ID, now.Add(-zone), now)
	assert.NotZero(t, s.Behind)
	now = now.Add(tenMinutes)
	r, s := dated(again, all[0].ID, now, now)
	assert.Zero(t, s.Behind)
	assert.Equal(t, now, r.Time)
}

// What comes late for another reason is of its own time: a gateway that hands over what
// it kept, at once or by and by, the mean of an hour that is dated at its beginning, and
// a reading that is sent again and again.
func TestWhatComesLateIsNotAClockThatIsBehind(t *testing.T) {
	type message struct{ own, arrived time.Duration } // since noon
	batch := func(every, apart time.Duration) (list []message) {
		for day := 6 * time.Hour; day <= 48*time.Hour; day += 6 * time.Hour {
			for own, k := day-6*time.Hour, 0; own < day; own, k = own+every, k+1 {
				list = append(list, message{own, day + time.Duration(k)*apart})
			}
		}
		return list
	}
	hourly, again := []message{}, []message{}
	for i := range 48 {
		hourly = append(hourly, message{time.Duration(i) * time.Hour, time.Duration(i+1) * time.Hour})
		again = append(again, message{0, 6*time.Hour + time.Duration(i)*time.Second})
	}
	for name, sent := range map[string][]message{
		"a batch at once":        batch(tenMinutes, 20*time.Millisecond),
		"a batch by and by":      batch(tenMinutes, 30*time.Second),
		"the mean of the hour":   hourly,
		"one that is sent again": again,
	} {
		t.Run(name, func(t *testing.T) {
			all := moistureSensors(1)
			h := newHealth(t, all...)
			for _, m := range sent {
				r, s := dated(h, all[0].ID, noon.Add(m.own), noon.Add(m.arrived))
				require.Zero(t, s.Behind)
				require.Equal(t, noon.Add(m.own), r.Time)
			}
		})
	}
}
