package twin

import (
	"encoding/json"
	"fmt"
	"time"

	"wickd/alerts"
	"wickd/cmd/internal/daemon"
	"wickd/model"
	"wickd/model/design"
	"wickd/model/sim"
)

// witness keeps what the core says beside what is true.
type witness struct {
	site    *model.Site
	physics *design.Site
	at      time.Time // when the faults begin
	faults  []sim.Fault
	loss    float64 // share of messages that never arrive

	truth       []sim.Truth // after every step
	hours       []model.Snapshot
	raised      []model.Transition
	over        map[string]time.Time   // when alerts ended, by occurrence
	unheard     map[int]bool           // of raised: a sensor of which nothing had come, for messages get lost
	heard       map[string][]time.Time // when the messages of a topic arrived
	every       time.Duration          // between messages of one sensor
	limits      map[string]float64     // water content below which a bag is dry
	consistency consistency
}

var _ daemon.Observer = (*witness)(nil)

// Changed implements daemon.Observer.
func (w *witness) Changed(transitions []model.Transition) {
	for _, t := range transitions {
		if t.Kind == model.Cleared {
			w.over[t.Occurrence] = t.Time
		}
		if t.Kind == model.Raised && !t.Suppressed {
			if t.Condition == alerts.SensorSilent && t.Time.Sub(w.lastOf(t.Subject, t.Time)) >= inARow*w.every {
				w.unheard[len(w.raised)] = true
			}
			w.raised = append(w.raised, t)
		}
	}
}

// inARow is how many messages must be lost to call a sensor silent.
const inARow = 3

// lastOf is when the last message of a sensor before now arrived.
func (w *witness) lastOf(sensor model.Subject, now time.Time) (last time.Time) {
	for _, s := range w.site.AllSensors() {
		if s.ID != sensor {
			continue
		}
		for _, t := range w.heard[s.Topic] {
			if t.Before(now) {
				last = t
			}
		}
	}
	return last
}

// Reminded implements daemon.Observer: an alert told again is not another one.
func (w *witness) Reminded([]model.Transition) {}

// Hour implements daemon.Observer. Of the sensors nothing is asked here.
func (w *witness) Hour(s model.Snapshot) {
	s.Sensors = nil
	w.hours = append(w.hours, s)
}

// truthAt is the truth at the end of the step that ends at or before t.
func (w *witness) truthAt(t time.Time) (sim.Truth, bool) {
	k, ok := w.stepAt(t)
	if !ok {
		return sim.Truth{}, false
	}
	return w.truth[k], true
}

// stepAt is the index of that step.
func (w *witness) stepAt(t time.Time) (int, bool) {
	low, high := 0, len(w.truth)
	for low < high {
		if mid := (low + high) / 2; w.truth[mid].Time.After(t) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return low - 1, low > 0
}

// consistency is what the filters say of their own innovations.
type consistency struct {
	Sum    float64 // of normalised innovations squared
	Count  int
	Resets int
}

// consistencyOf reads it from the core's state.
func consistencyOf(core *daemon.Core) (consistency, error) {
	data, err := core.Save()
	if err != nil {
		return consistency{}, fmt.Errorf("read the core's state: %w", err)
	}
	var state struct {
		Estimator struct {
			Bags []struct {
				Squares float64
				Fused   int
			}
		}
	}
	if err := json.Unmarshal(data, &state); err != nil {
		return consistency{}, fmt.Errorf("read the core's state: %w", err)
	}
	c := consistency{Resets: core.Resets()}
	for _, b := range state.Estimator.Bags {
		c.Sum += b.Squares
		c.Count += b.Fused
	}
	return c, nil
}
