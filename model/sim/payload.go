package sim

import (
	"encoding/json"
	"fmt"
	"strings"

	"wickd/model"
)

// form is how a topic's payload carries its numbers.
type form int

const (
	bare     form = iota // one number
	document             // a JSON document, numbers by JSON Pointer
	pack                 // SenML JSON, numbers by record name
)

func formOf(s model.Sensor) form {
	switch {
	case s.Pointer != "":
		return document
	case s.Record != "":
		return pack
	default:
		return bare
	}
}

// outlet is everything that is published on one topic.
type outlet struct {
	topic  string
	form   form
	probes []*probe
}

// outlets groups probes by topic, in their order.
func outlets(probes []*probe) ([]*outlet, error) {
	var list []*outlet
	byTopic := map[string]*outlet{}
	for _, p := range probes {
		s := p.sensor
		o, ok := byTopic[s.Topic]
		if !ok {
			o = &outlet{topic: s.Topic, form: formOf(s)}
			byTopic[s.Topic] = o
			list = append(list, o)
		}
		if o.form != formOf(s) || (o.form == bare && len(o.probes) > 0) {
			return nil, fmt.Errorf("sensor %s shares the topic %q in another form; give each of its sensors a pointer, or each a record", s.ID, s.Topic)
		}
		o.probes = append(o.probes, p)
		if _, err := o.payload(zeros(len(o.probes))); err != nil {
			return nil, fmt.Errorf("sensor %s: %w", s.ID, err)
		}
	}
	return list, nil
}

func zeros(n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = "0"
	}
	return out
}

// payload lays out numbers, one a probe; an empty one is left out. Nil when
// nothing is left.
func (o *outlet) payload(numbers []string) ([]byte, error) {
	switch o.form {
	case document:
		return o.document(numbers)
	case pack:
		return o.pack(numbers)
	}
	if numbers[0] == "" {
		return nil, nil
	}
	return []byte(numbers[0]), nil
}

// senML is one record of RFC 8428; without a unit, as few of a sensor's units
// are in its registry, and without a time: it holds for now.
type senML struct {
	Name  string      `json:"n"`
	Value json.Number `json:"v"`
}

func (o *outlet) pack(numbers []string) ([]byte, error) {
	var records []senML
	for i, n := range numbers {
		if n != "" {
			records = append(records, senML{o.probes[i].sensor.Record, json.Number(n)})
		}
	}
	if records == nil {
		return nil, nil
	}
	return json.Marshal(records)
}

func (o *outlet) document(numbers []string) ([]byte, error) {
	root := map[string]any{}
	for i, n := range numbers {
		if n == "" {
			continue
		}
		if err := place(root, o.probes[i].sensor.Pointer, json.Number(n)); err != nil {
			return nil, err
		}
	}
	if len(root) == 0 {
		return nil, nil
	}
	return json.Marshal(root)
}

// place puts a number where a JSON Pointer (RFC 6901) will find it. Every
// token is made a member of an object, which a pointer reads whether or not it
// looks like an index.
func place(root map[string]any, pointer string, number json.Number) error {
	tokens := strings.Split(pointer, "/")
	if len(tokens) < 2 || tokens[0] != "" {
		return fmt.Errorf("%q is no JSON Pointer into an object; it starts with /, for example /value", pointer)
	}
	unescape := strings.NewReplacer("~1", "/", "~0", "~")
	at := root
	for i, token := range tokens[1:] {
		token = unescape.Replace(token)
		if i == len(tokens)-2 {
			if _, taken := at[token]; taken {
				return fmt.Errorf("pointer %q runs into another sensor's", pointer)
			}
			at[token] = number
			break
		}
		next, ok := at[token].(map[string]any)
		if !ok {
			if _, taken := at[token]; taken {
				return fmt.Errorf("pointer %q runs through another sensor's number", pointer)
			}
			next = map[string]any{}
			at[token] = next
		}
		at = next
	}
	return nil
}
