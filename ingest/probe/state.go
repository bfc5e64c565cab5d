package probe

import (
	"maps"
	"slices"
	"time"

	"wickd/model"
)

// State is everything that a Health knows, as plain data for a checkpoint. Its
// JSON brings it back exactly.
type State struct {
	Start time.Time     `json:"start"` // of listening; zero: not begun
	Clock time.Duration `json:"clock"` // reading of the listening clock at Now
	Now   time.Time     `json:"now"`   // of the last event
	Pause Pause         `json:"pause"`
	// Outages of several sensors, by number from 1 on; those that are over among them.
	Outages []outage `json:"outages,omitempty"`

	Sensors []SensorState `json:"sensors"`
}

// Pause is the last stretch in which nothing could be heard.
type Pause struct {
	From  time.Time     `json:"from"`
	To    time.Time     `json:"to"`
	Total time.Duration `json:"total"` // of all pauses so far
}

// SensorState is what a Health knows of one sensor. Times of Silence are on the
// listening clock.
type SensorState struct {
	Sensor      model.Subject `json:"sensor"`
	LastMessage time.Time     `json:"last_message"` // zero: never heard
	LastGood    time.Time     `json:"last_good"`
	Value       float64       `json:"value"` // the last good one

	Silence Silence `json:"silence"`
	Run     Run     `json:"run"`
	Useless Useless `json:"useless"`
	Lag     Lag     `json:"lag,omitzero"`

	Refused map[model.Verdict]uint64 `json:"refused,omitempty"`
}

// Useless counts messages in a row that brought nothing usable.
type Useless struct {
	Count int           `json:"count"`
	Since time.Time     `json:"since"`
	Last  time.Time     `json:"last"`
	Why   model.Verdict `json:"why,omitempty"`
}

// State copies everything that h knows.
func (h *Health) State() State {
	s := h.state
	s.Outages = slices.Clone(s.Outages)
	s.Sensors = make([]SensorState, len(h.state.Sensors))
	for i, sensor := range h.state.Sensors {
		s.Sensors[i] = sensor.clone()
	}
	return s
}

// Restore continues from a State. Sensors that are no longer watched are
// dropped; those that are new start afresh.
func (h *Health) Restore(s State) {
	known := map[model.Subject]SensorState{}
	for _, sensor := range s.Sensors {
		known[sensor.Sensor] = sensor
	}
	s.Sensors = make([]SensorState, len(h.watched))
	for i, w := range h.watched {
		s.Sensors[i] = SensorState{Sensor: w.sensor.ID}
		s.Sensors[i].Silence.HeardAt = s.Clock // a new sensor gets its time to report
		if old, ok := known[w.sensor.ID]; ok {
			s.Sensors[i] = old.clone()
		}
	}
	s.Outages = slices.Clone(s.Outages)
	h.state = s
}

// clone shares no memory with s.
func (s SensorState) clone() SensorState {
	s.Refused = maps.Clone(s.Refused)
	s.Silence.Intervals = slices.Clone(s.Silence.Intervals)
	if s.Run.Other != nil {
		other := *s.Run.Other
		s.Run.Other = &other
	}
	return s
}

func (s *SensorState) refuse(why model.Verdict) {
	if s.Refused == nil {
		s.Refused = map[model.Verdict]uint64{}
	}
	s.Refused[why]++
}
