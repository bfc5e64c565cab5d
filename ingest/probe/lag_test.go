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

// A clock that is behind is known at any pace and however it cuts its times, with
// several readings in a message, and where the delivery takes its time; the readings are
// then dated to some minutes.
func TestAClockThatIsBehindAtAnyPace(t *testing.T) {
	const zone = 5 * time.Hour
	cut := func(to time.Duration) func(time.Time, int) time.Time {
		return func(now time.Time, _ int) time.Time { return now.Add(-zone).Truncate(to) }
	}
	for name, c := range map[string]struct {
		every time.Duration
		own   func(now time.Time, i int) time.Time
		off   time.Duration // by how much a reading may be dated wrong
	}{
		"every 10 s":                        {10 * time.Second, cut(time.Second), 0},
		"every minute, cut to five minutes": {time.Minute, cut(5 * time.Minute), 10 * time.Minute},
		"delivered by and by":               {tenMinutes, func(now time.Time, i int) time.Time { return now.Add(-zone - time.Duration(i%2)*90*time.Second) }, 90 * time.Second},
		"two in a burst":                    {tenMinutes, nil, 0},
		"by the hour":                       {time.Hour, cut(time.Minute), 0},
	} {
		t.Run(name, func(t *testing.T) {
			all := moistureSensors(1)
			h := newHealth(t, all...)
			now := noon
			for i := 0; now.Before(noon.Add(24 * time.Hour)); i++ {
				now = now.Add(c.every)
				var r model.Reading
				var s model.SensorHealth
				if c.own == nil {
					early, _ := dated(h, all[0].ID, now.Add(-zone-5*time.Minute), now)
					if r, s = dated(h, all[0].ID, now.Add(-zone), now); s.Behind > 0 {
						require.Equal(t, 5*time.Minute, r.Time.Sub(early.Time))
					}
				} else {
					r, s = dated(h, all[0].ID, c.own(now, i), now)
				}
				if now.Sub(noon) > max(time.Hour+c.every, 7*c.every) {
					require.InDelta(t, zone.Minutes(), s.Behind.Minutes(), 5, "%v", now)
					require.LessOrEqual(t, now.Sub(r.Time), c.off)
					require.False(t, r.Time.After(now))
				}
			}
		})
	}
}

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
		require.Equal(t, zone, s.Behind, "%d", i)
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
		"a batch at once":           batch(tenMinutes, 20*time.Millisecond),
		"a batch by and by":         batch(tenMinutes, 30*time.Second),
		"a batch at twice the pace": batch(tenMinutes, 5*time.Minute),
		"the mean of the hour":      hourly,
		"one that is sent again":    again,
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
