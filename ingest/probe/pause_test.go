package probe_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/ingest/probe"
	"wickd/model"
)

// steady gives a health that heard a sensor every 10 min for a day, and the
// time of the last message.
func steady(t *testing.T) (*probe.Health, model.Subject, time.Time) {
	all := moistureSensors(1)
	h := newHealth(t, all...)
	at := noon
	for ; at.Before(noon.AddDate(0, 0, 1)); at = at.Add(tenMinutes) {
		h.Observe(good(all[0].ID, at), at)
		h.Tick(at)
	}
	return h, all[0].ID, at.Add(-tenMinutes)
}

// silentAfter ticks every minute from from and says when the sensor is silent.
func silentAfter(h *probe.Health, from time.Time) time.Duration {
	for now := from; ; now = now.Add(time.Minute) {
		h.Tick(now)
		if h.Snapshot(now)[0].Silent {
			return now.Sub(from)
		}
	}
}

// Nobody is silent for having spoken while nobody listened; but the dead are
// found in listened time. The 10 min before the pause are forgiven, so 3
// intervals count from its end.
func TestPauseIsNotSilence(t *testing.T) {
	whole := func(h *probe.Health, from, to time.Time) { h.Pause(from, to) }
	minutely := func(h *probe.Health, from, to time.Time) {
		for now := from.Add(time.Minute); !now.After(to); now = now.Add(time.Minute) {
			h.Pause(now.Add(-time.Minute), now)
			h.Tick(now)
		}
	}
	tests := map[string]struct {
		pause func(h *probe.Health, from, to time.Time)
		lasts time.Duration
		want  time.Duration
	}{
		"a night, told afterwards":   {whole, 10 * time.Hour, 30 * time.Minute},
		"a night, told by minutes":   {minutely, 10 * time.Hour, 30 * time.Minute},
		"a blink":                    {whole, time.Second, 21 * time.Minute},
		"half an interval":           {whole, 5 * time.Minute, 26 * time.Minute},
		"half an interval, minutely": {minutely, 5 * time.Minute, 26 * time.Minute},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			h, _, last := steady(t)
			from := last.Add(tenMinutes)
			h.Tick(from)
			tt.pause(h, from, from.Add(tt.lasts))
			// Last heard 10 min before the pause: limit 3.05 intervals.
			assert.InDelta(t, tt.want.Minutes(), silentAfter(h, from.Add(tt.lasts)).Minutes(), 1.1)
		})
	}
}

// Overlapping reports of one pause count once.
func TestPauseOverlaps(t *testing.T) {
	h, _, last := steady(t)
	from, to := last.Add(tenMinutes), last.Add(3*time.Hour)
	h.Pause(from, to.Add(-time.Hour))
	h.Pause(from.Add(time.Hour), to)
	h.Pause(from, to)
	h.Pause(to, from)
	assert.Equal(t, to.Sub(from), h.State().Pause.Total)
	assert.InDelta(t, 30, silentAfter(h, to).Minutes(), 1.1)
}

// The queue that a broker hands over after an outage says nothing about the
// rhythm, whether its readings carry times or were laid out.
func TestBacklogTeachesNoRhythm(t *testing.T) {
	for name, laidOut := range map[string]bool{"times of its own": false, "laid out": true} {
		t.Run(name, func(t *testing.T) {
			h, id, last := steady(t)
			back := last.Add(5 * time.Hour)
			h.Pause(last, back)
			before := h.State().Sensors[0].Silence
			for i := range 29 {
				r := good(id, last.Add(time.Duration(i+1)*tenMinutes))
				r.Reconstructed = laidOut
				if laidOut || back.Sub(r.Time) > tenMinutes {
					h.Observe(r, back.Add(time.Duration(i)*2*time.Second))
				}
			}
			after := h.State().Sensors[0].Silence
			assert.Equal(t, before.Intervals, after.Intervals)
			assert.Equal(t, tenMinutes, after.Expected)
		})
	}
}
