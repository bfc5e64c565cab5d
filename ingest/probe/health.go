package probe

import (
	"errors"
	"fmt"
	"time"

	"wickd/ingest/payload"
	"wickd/model"
)

// HealthOptions of a Health.
type HealthOptions struct {
	Sensors []model.Sensor // in the order of every Snapshot, each ID once
}

// Health watches sensors. See the package's documentation.
//
// The events (Observe, Refuse, Tick, Pause) come in the order of their times.
// Listening begins with the first of them.
type Health struct {
	watched []watched
	index   map[model.Subject]int
	state   State // Sensors in the order of watched
}

// watched is what of a sensor's settings its health depends on.
type watched struct {
	sensor       model.Sensor
	compensation *Compensation
	temperature  int // index of the thermometer of the same thing; -1: none
}

// NewHealth checks the options and builds a Health that has heard nothing.
func NewHealth(o HealthOptions) (*Health, error) {
	h := &Health{index: map[model.Subject]int{}}
	for i, sensor := range o.Sensors {
		if _, ok := h.index[sensor.ID]; ok {
			return nil, fmt.Errorf("set up sensor health: sensor %s is there twice", sensor.ID)
		}
		if sensor.ExpectEvery < 0 {
			return nil, fmt.Errorf("set up sensor health: sensor %s: %w", sensor.ID, errors.New("expect_every is negative"))
		}
		compensation, err := compensationOf(sensor)
		if err != nil {
			return nil, fmt.Errorf("set up sensor health: sensor %s: %w", sensor.ID, err)
		}
		h.index[sensor.ID] = i
		h.watched = append(h.watched, watched{sensor: sensor, compensation: compensation, temperature: -1})
	}
	for i := range h.watched {
		if t, ok := h.index[h.watched[i].sensor.ID.Owner().Sensor(model.Temperature)]; ok {
			h.watched[i].temperature = t
		}
	}
	h.Restore(State{})
	return h, nil
}

// Observe takes a reading that arrived, and gives it back as it is to be used: one of
// a sensor whose clock is known to be behind is dated by as much later. Readings
// of sensors that are not watched are passed over.
func (h *Health) Observe(r model.Reading, arrived time.Time) model.Reading {
	i, ok := h.index[r.Sensor]
	if !ok {
		return r
	}
	h.advance(arrived)
	s := &h.state.Sensors[i]
	if r.Verdict != model.Good {
		s.refuse(r.Verdict)
	}
	// The broker sends a retained message at every subscription, whether the
	// sensor lives or not.
	if r.Verdict == model.Retained {
		return r
	}
	if s.Lag.hear(r, arrived); s.Lag.behind() > 0 {
		r.Time = s.Lag.right(r, arrived)
	}
	h.hear(i, arrived, r.Reconstructed || arrived.Sub(r.Time) > s.Silence.backlogAge())
	switch r.Verdict {
	case model.OutOfRange, model.Jump, model.ErrorValue:
		s.Useless.add(r.Verdict, arrived)
	case model.Good:
		s.Useless = Useless{}
		if !r.Time.Before(s.LastGood) {
			s.LastGood, s.Value = r.Time.UTC(), r.Value
		}
		s.Run.observe(h.watched[i].sensor.Quantity, h.raw(i, r), r.Time.UTC(), s.Silence.Expected)
	}
	return r
}

// Heard is when anything last came from a sensor — zero: never — and whether its
// readings carry times of their own.
func (h *Health) Heard(sensor model.Subject) (at time.Time, dated bool) {
	if i, ok := h.index[sensor]; ok {
		s := &h.state.Sensors[i]
		return s.LastMessage, s.Lag.Dated
	}
	return time.Time{}, false
}

// Refuse takes a message that gave no reading. The sensor was heard all the
// same.
func (h *Health) Refuse(sensor model.Subject, why payload.Reason, arrived time.Time) {
	i, ok := h.index[sensor]
	if !ok {
		return
	}
	h.advance(arrived)
	h.state.Sensors[i].refuse(model.Verdict(why))
	h.hear(i, arrived, false)
	h.state.Sensors[i].Useless.add(model.Verdict(why), arrived)
}

func (h *Health) hear(i int, arrived time.Time, backlog bool) {
	s := &h.state.Sensors[i]
	s.LastMessage = arrived.UTC()
	s.Silence.hear(h.state.Clock, backlog, h.watched[i].sensor.ExpectEvery)
}

// raw undoes the compensation to 25 °C, so that a frozen EC electrode is seen
// although the temperature goes on moving its compensated value.
func (h *Health) raw(i int, r model.Reading) float64 {
	w := h.watched[i]
	if w.compensation == nil || w.temperature < 0 {
		return r.Value
	}
	t := h.state.Sensors[w.temperature]
	factor, err := w.compensation.factor(t.Value)
	if err != nil || t.LastGood.IsZero() || !fresh(t.LastGood, r.Time) {
		return r.Value
	}
	return r.Value / factor
}

// Tick judges who is silent at now.
func (h *Health) Tick(now time.Time) {
	h.advance(now)
	var newly []int
	for i := range h.state.Sensors {
		s := &h.state.Sensors[i].Silence
		before := s.Silent
		s.judge(h.state.Clock, h.watched[i].sensor.ExpectEvery)
		if s.Silent && !before {
			newly = append(newly, i)
		}
	}
	h.joinOutage(newly)
}

// Pause says that nothing could be heard from from to to: the process was down
// or the broker out of reach. Silence is not counted in it. Tell a long pause as
// it goes on, each stretch before the Tick that follows it; stretches that touch
// are one pause, and what overlaps counts once.
func (h *Health) Pause(from, to time.Time) {
	h.begin(from)
	p := &h.state.Pause
	from, to = latest(from.UTC(), p.To, h.state.Start), to.UTC()
	if !to.After(from) {
		return
	}
	if from.After(p.To) || p.To.IsZero() {
		p.From = from
	}
	before, after := from.Sub(p.From), to.Sub(p.From)
	p.To = to
	p.Total += to.Sub(from)
	h.advance(to)
	for i := range h.state.Sensors {
		h.state.Sensors[i].Silence.pause(h.state.Clock, before, after)
	}
}

// advance moves the listening clock: the time since the start without pauses.
// A pause told late sets it back.
func (h *Health) advance(now time.Time) {
	h.begin(now)
	h.state.Now = latest(h.state.Now, now.UTC())
	h.state.Clock = h.state.Now.Sub(h.state.Start) - h.state.Pause.Total
}

func (h *Health) begin(at time.Time) {
	if h.state.Start.IsZero() {
		h.state.Start, h.state.Now = at.UTC(), at.UTC()
	}
}

func latest(times ...time.Time) time.Time {
	var last time.Time
	for _, t := range times {
		if t.After(last) {
			last = t
		}
	}
	return last
}
