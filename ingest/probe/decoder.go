package probe

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"wickd/ingest/payload"
	"wickd/model"
	"wickd/model/unit"
)

// Options of a Decoder.
type Options struct {
	// Sensors, each ID once. Several may share a topic: a JSON document with a
	// pointer each, a SenML pack with a record each.
	Sensors []model.Sensor
	// Ahead and OldestTime bound the believable times of payloads. Zero: the
	// defaults.
	Ahead, OldestTime time.Duration
}

// Decoder turns messages into readings. See the package's documentation.
type Decoder struct {
	byID          map[model.Subject]*source
	byTopic       map[string][]*source
	ahead, oldest time.Duration
}

// source is one sensor with its compiled settings and its state.
type source struct {
	sensor       model.Sensor
	selector     payload.Selector
	curve        *Curve // nil: the payload's number is in the sensor's unit
	scale        scale
	low, high    float64
	compensation *Compensation // nil: not an EC probe, or compensated already
	temperature  *source       // of the same thing; nil: none

	last   model.Reading // the last good one
	known  bool          // last is set
	jumped *model.Reading
}

// New checks the options, all of them, and builds a Decoder.
func New(o Options) (*Decoder, error) {
	d := &Decoder{
		byID:    map[model.Subject]*source{},
		byTopic: map[string][]*source{},
		ahead:   valueOr(o.Ahead, DefaultAhead),
		oldest:  valueOr(o.OldestTime, DefaultOldestTime),
	}
	var problems []error
	if d.ahead < 0 || d.oldest < 0 {
		problems = append(problems, errors.New("neither Ahead nor OldestTime can be negative"))
	}
	for _, sensor := range o.Sensors {
		if err := d.add(sensor, o); err != nil {
			problems = append(problems, fmt.Errorf("sensor %s: %w", sensor.ID, err))
		}
	}
	if err := errors.Join(problems...); err != nil {
		return nil, fmt.Errorf("set up decoder: %w", err)
	}
	d.connect()
	return d, nil
}

func (d *Decoder) add(sensor model.Sensor, o Options) error {
	if sensor.ID == "" || sensor.Topic == "" {
		return errors.New("has no ID or no topic")
	}
	if _, ok := d.byID[sensor.ID]; ok {
		return errors.New("is there twice")
	}
	s := &source{sensor: sensor}
	d.byID[sensor.ID] = s
	d.byTopic[sensor.Topic] = append(d.byTopic[sensor.Topic], s)
	return errors.Join(
		s.compileSelector(),
		s.compileScale(),
		s.compileRange(),
		s.compileCompensation(),
	)
}

// connect finds each EC probe's thermometer, and puts thermometers first in
// their topic, so that a document's own temperature compensates its own EC.
func (d *Decoder) connect() {
	for id, s := range d.byID {
		s.temperature = d.byID[id.Owner().Sensor(model.Temperature)]
	}
	for _, sources := range d.byTopic {
		slices.SortStableFunc(sources, func(a, b *source) int { return a.rank() - b.rank() })
	}
}

func (s *source) rank() int {
	if s.sensor.Quantity == model.Temperature {
		return 0
	}
	return 1
}

func (s *source) compileSelector() error {
	s.selector = payload.Selector{Record: s.sensor.Record, Fits: func(symbol string) bool {
		_, err := scaleOf(s.sensor.Quantity, symbol)
		return err == nil
	}}
	if s.sensor.Pointer == "" {
		if s.sensor.TimePointer != "" {
			return errors.New("has a time pointer but no pointer")
		}
		return nil
	}
	if s.sensor.Record != "" {
		return errors.New("has a pointer and a record; a payload is a JSON document or SenML, not both")
	}
	pointer, err := payload.ParsePointer(s.sensor.Pointer)
	s.selector.Pointer = &pointer
	if err != nil || s.sensor.TimePointer == "" {
		return err
	}
	clock, err := payload.ParsePointer(s.sensor.TimePointer)
	s.selector.TimePointer = &clock
	return err
}

func (s *source) compileScale() (err error) {
	if s.scale, err = scaleOf(s.sensor.Quantity, s.sensor.Unit); err != nil {
		return err
	}
	if len(s.sensor.Calibration) > 0 {
		s.curve, err = NewCurve(s.sensor.Calibration)
	}
	return err
}

func (s *source) compileRange() error {
	s.low, s.high = s.sensor.Min, s.sensor.Max
	if s.low == 0 && s.high == 0 {
		s.low, s.high = unit.Plausible(s.sensor.Quantity)
	}
	if !(s.low < s.high) {
		return fmt.Errorf("min %g is not below max %g", s.low, s.high)
	}
	return nil
}

func (s *source) compileCompensation() error {
	c, err := compensationOf(s.sensor)
	s.compensation = c
	return err
}

// compensationOf is nil for a sensor that needs none.
func compensationOf(sensor model.Sensor) (*Compensation, error) {
	if sensor.Quantity != model.EC || !sensor.CompensateTo25 {
		return nil, nil
	}
	if sensor.NaturalWater {
		c := NaturalWater()
		return &c, nil
	}
	c, err := Linear(sensor.TemperatureCoefficient)
	return &c, err
}

func valueOr(d, otherwise time.Duration) time.Duration {
	if d == 0 {
		return otherwise
	}
	return d
}
