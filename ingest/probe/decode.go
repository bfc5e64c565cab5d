package probe

import (
	"time"

	"wickd/ingest"
	"wickd/ingest/payload"
	"wickd/model"
)

// temperatureMemory is how old the temperature may be that an EC is
// compensated with. A tank of some hundred litres moves by less than 1 K/h, so
// that costs less than 3 K · 2 %/K = 6 %.
const temperatureMemory = 3 * time.Hour

// Result is what one message brought. Its slices are in the order in which the
// sensors were given, thermometers first, and belong to the caller.
type Result struct {
	Readings []model.Reading
	Refused  []Refused
	Clocks   []ClockDoubt
}

// Refused is a message that gave a sensor no reading.
type Refused struct {
	Sensor model.Subject
	Reason payload.Reason
	Err    error
}

// Decode reads a message for every sensor that listens to its topic; for a
// topic of none the result is empty. The payload is not kept.
func (d *Decoder) Decode(m ingest.Message) Result {
	var result Result
	sources := d.byTopic[m.Topic]
	if len(sources) == 0 {
		return result
	}
	sent := m.Arrived
	if !m.Taken.IsZero() {
		sent = m.Taken
	}
	body := payload.NewBody(m.Payload, sent)
	for _, s := range sources {
		samples, err := body.Samples(s.selector)
		if err != nil {
			result.refuse(s, err)
			continue
		}
		for _, sample := range samples {
			d.read(s, sample, m, &result)
		}
	}
	return result
}

// read makes one reading of one sample.
func (d *Decoder) read(s *source, sample payload.Sample, m ingest.Message, result *Result) {
	value, err := s.canonical(sample)
	if err != nil {
		result.refuse(s, err)
		return
	}
	at, reconstructed, reason := d.stamp(sample, m)
	if reason != "" {
		result.Clocks = append(result.Clocks, ClockDoubt{Sensor: s.sensor.ID, Reason: reason, Time: sample.Time})
	}
	r := model.Reading{Sensor: s.sensor.ID, Time: at, Value: value, Reconstructed: reconstructed}
	r.Value, r.Verdict = s.judge(sample.Value, value, at, result.Readings)
	if m.Retained {
		r.Verdict = model.Retained
	}
	s.remember(r)
	result.Readings = append(result.Readings, r)
}

// judge gives the value, compensated where it has to be, and its verdict; beside
// are the readings that the message has brought before it.
func (s *source) judge(raw, value float64, at time.Time, beside []model.Reading) (float64, model.Verdict) {
	if s.errorValue(raw, value, at) {
		return value, model.ErrorValue
	}
	if s.compensation != nil {
		compensated, ok := s.to25(value, at, beside)
		if !ok {
			return value, model.Uncalibrated
		}
		value = compensated
	}
	switch {
	case !s.inRange(value):
		return value, model.OutOfRange
	case s.jumps(value, at):
		return value, model.Jump
	}
	return value, model.Good
}

// to25 compensates with the good temperature of the same thing that is nearest in
// time: the last, or one of the same message, for what a gateway kept is older than
// the last. Without one there is no telling: 25 °C is not assumed, as 10 K are 20 %.
func (s *source) to25(ec float64, at time.Time, beside []model.Reading) (float64, bool) {
	t := s.temperature
	if t == nil {
		return 0, false
	}
	nearest, known := t.last, t.known
	for _, r := range beside {
		if r.Sensor != t.sensor.ID || r.Verdict != model.Good {
			continue
		}
		if !known || at.Sub(r.Time).Abs() < at.Sub(nearest.Time).Abs() {
			nearest, known = r, true
		}
	}
	if !known || !fresh(nearest.Time, at) {
		return 0, false
	}
	compensated, err := s.compensation.To25(ec, nearest.Value)
	return compensated, err == nil
}

// fresh says that a temperature may compensate a conductivity.
func fresh(temperature, ec time.Time) bool {
	return ec.Sub(temperature).Abs() <= temperatureMemory
}

func (r *Result) refuse(s *source, err error) {
	r.Refused = append(r.Refused, Refused{Sensor: s.sensor.ID, Reason: payload.ReasonOf(err), Err: err})
}

// Restore brings the state back after a restart: for each sensor its last good
// reading, and those after it if they are at hand (a jump that waits to be
// confirmed is among them), in their order. Readings of other sensors are
// passed over.
func (d *Decoder) Restore(last []model.Reading) {
	for _, r := range last {
		if s, ok := d.byID[r.Sensor]; ok {
			s.remember(r)
		}
	}
}
