package config

import (
	"fmt"
	"strings"
	"time"

	"wickd/model"
	"wickd/model/unit"
)

// source is what one number is read from; two sensors cannot share it.
type source struct{ topic, pointer, record string }

// placeholder stands for the id of the sensor's owner.
const placeholder = "{id}"

// naturalWater is the method that compensates by table.
const naturalWater = "natural-water"

// usualCoefficient of temperature compensation, 1/K: "about 2.0 %/K are most
// common" (manuals of conductivity meters, after ISO 7888).
const usualCoefficient = 0.02

// sensor makes one sensor; id is what {id} stands for, empty where there is
// none. It returns nil for a sensor that the file does not give.
func (b *builder) sensor(raw *rawSensor, subject model.Subject, q model.Quantity, id string) *model.Sensor {
	if raw == nil || !raw.given() {
		return nil
	}
	s := &model.Sensor{
		ID:          subject,
		Quantity:    q,
		Topic:       fillIn(raw.Topic.value, id),
		Unit:        raw.Unit.value,
		Pointer:     fillIn(raw.Pointer.value, id),
		TimePointer: fillIn(raw.TimePointer.value, id),
		Record:      fillIn(raw.Record.value, id),
		ExpectEvery: time.Duration(raw.ExpectEvery.value * float64(time.Second)),
	}
	for _, t := range []text{raw.Topic, raw.Pointer, raw.TimePointer, raw.Record} {
		b.checkTemplate(t, id)
	}
	if b.checkTopic(raw.Topic, s.Topic) {
		b.claim(raw, s)
	}
	b.checkPointers(raw)
	if raw.Unit.given() {
		if _, _, err := unit.ToCanonical(q, s.Unit); err != nil {
			b.explain(raw.Unit.place, err)
		}
	}
	s.Calibration = b.calibration(raw)
	s.Min, s.Max = b.believable(raw, q)
	return s
}

func fillIn(template, id string) string {
	if id == "" {
		return template
	}
	return strings.ReplaceAll(template, placeholder, id)
}

// checkTemplate refuses braces that nothing replaces.
func (b *builder) checkTemplate(t text, id string) {
	rest := t.value
	if id != "" {
		rest = strings.ReplaceAll(rest, placeholder, "")
	}
	open := strings.IndexByte(rest, '{')
	if open < 0 {
		return
	}
	word := rest[open:]
	if end := strings.IndexByte(word, '}'); end >= 0 {
		word = word[:end+1]
	}
	hint := "only {id} is replaced"
	if id == "" {
		hint = "write the topic out: {id} stands for the id of a bag or a reservoir"
	}
	b.report(t.place, fmt.Sprintf("%q stands for nothing here", word), hint)
}

// checkTopic refuses what MQTT 3.1.1 (section 4.7) does not let a message be
// published to.
func (b *builder) checkTopic(raw text, topic string) bool {
	switch {
	case !raw.given():
	case strings.ContainsAny(topic, "+#"):
		b.report(raw.place, fmt.Sprintf("%q has a wildcard", raw.value), "one sensor has one topic; {id} stands for the id of the bag or reservoir")
	case strings.HasPrefix(topic, "$"):
		b.report(raw.place, fmt.Sprintf("%q belongs to the broker", raw.value), "topics that start with $ carry no readings")
	case len(topic) > 65535:
		b.report(raw.place, "the topic is longer than MQTT allows", "at most 65535 bytes")
	default:
		return true
	}
	return false
}

func (b *builder) checkPointers(raw *rawSensor) {
	if raw.Pointer.given() && raw.Record.given() {
		b.report(raw.Record.place, "a sensor has a pointer or a record, not both", "pointer is for JSON documents, record for SenML")
	}
	if raw.TimePointer.given() && !raw.Pointer.given() {
		b.report(raw.TimePointer.place, "a time pointer needs a pointer beside it", "both are for JSON documents; SenML carries its own time")
	}
	for _, p := range []text{raw.Pointer, raw.TimePointer} {
		if p.given() {
			b.checkPointer(p)
		}
	}
}

// checkPointer refuses what RFC 6901, section 3, does not allow.
func (b *builder) checkPointer(p text) {
	if !strings.HasPrefix(p.value, "/") {
		b.report(p.place, fmt.Sprintf("%q is not a JSON Pointer", p.value), fmt.Sprintf("it starts with /, for example %q", "/"+p.value))
	}
	bare := strings.NewReplacer("~0", "", "~1", "").Replace(p.value)
	if strings.Contains(bare, "~") {
		b.report(p.place, fmt.Sprintf("%q is not a JSON Pointer", p.value), "~ is written ~0, and / within a key ~1")
	}
}

// claim reports two sensors that read the same number.
func (b *builder) claim(raw *rawSensor, s *model.Sensor) {
	key := source{s.Topic, s.Pointer, s.Record}
	first, taken := b.sources[key]
	if !taken {
		b.sources[key] = raw.Topic.place
		return
	}
	if first.line == raw.Topic.line && first.column == raw.Topic.column {
		b.report(raw.Topic.place, fmt.Sprintf("several bags share the topic %q", s.Topic), "put {id} into it")
		return
	}
	b.report(raw.Topic.place, fmt.Sprintf("the topic %q is taken", s.Topic),
		fmt.Sprintf("%s on line %d has it; when one message carries both, give each a pointer or a record", first.path, first.line))
}

// calibration checks that points rise in what arrives.
func (b *builder) calibration(raw *rawSensor) []model.CalibrationPoint {
	var points []model.CalibrationPoint
	for i, p := range raw.Calibrate {
		if !p.given() {
			return nil
		}
		if i > 0 && p.raw.value <= raw.Calibrate[i-1].raw.value {
			b.report(p.place, "calibration points must rise", "sort them by the first number, each once")
			return nil
		}
		points = append(points, model.CalibrationPoint{Raw: p.raw.value, Value: p.value.value})
	}
	if len(points) == 1 {
		b.report(raw.Calibrate[0].place, "one point is no calibration", "give at least two, for example [[512, 0], [3010, 60]]")
	}
	return points
}

// believable gives the sensor's own bounds, or those of its quantity.
func (b *builder) believable(raw *rawSensor, q model.Quantity) (lowest, highest float64) {
	lowest, highest = unit.Plausible(q)
	if v, ok := b.resolve(raw.Min, unit.Of(q)); ok {
		lowest = v
	}
	if v, ok := b.resolve(raw.Max, unit.Of(q)); ok {
		highest = v
	}
	if lowest >= highest {
		p := raw.Max.place
		if !p.given() {
			p = raw.Min.place
		}
		b.report(p, "min is not below max", "")
	}
	return lowest, highest
}

// compensation sets what an EC probe leaves to wickd.
func (b *builder) compensation(raw *rawECSensor, s *model.Sensor, thermometer *rawSensor) {
	if s == nil || raw.Compensate == nil {
		return
	}
	s.CompensateTo25, s.TemperatureCoefficient = true, usualCoefficient
	s.NaturalWater = raw.Compensate.Method.value == naturalWater
	if c := raw.Compensate.Coefficient; c.given() {
		s.TemperatureCoefficient = c.value
		if s.NaturalWater {
			b.report(c.place, "the natural-water table has no coefficient", "leave it out, or use method: linear")
		}
	}
	if thermometer == nil {
		b.report(raw.Compensate.place, "needs a temperature sensor in the same reservoir", "add temperature: beside ec:, or let the probe compensate to 25 °C")
	}
}
