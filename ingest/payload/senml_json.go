package payload

import (
	"encoding/json"
	"maps"
	"slices"
	"time"
)

// DecodeSenMLJSON reads a SenML pack in JSON (RFC 8428, section 5) and resolves
// its records: those with a number, oldest first. A pack without any gives no
// samples and no error.
func DecodeSenMLJSON(raw []byte, now time.Time) ([]Sample, error) {
	document, err := parseJSON(raw)
	if err != nil {
		return nil, err
	}
	array, ok := document.([]any)
	if !ok {
		return nil, refuse(BadSenML, "it is not an array of records")
	}
	records := make([]record, len(array))
	for i, element := range array {
		object, ok := element.(map[string]any)
		if !ok {
			return nil, refuse(BadSenML, "record %d is not an object", i)
		}
		// Sorted, so that a record with two faults always names the same one.
		for _, label := range slices.Sorted(maps.Keys(object)) {
			if err := records[i].set(label, jsonValue{object[label]}); err != nil {
				return nil, within(err, "record %d", i)
			}
		}
	}
	return resolve(records, now)
}

// jsonValue is a field as parseJSON gives it.
type jsonValue struct{ v any }

var _ value = jsonValue{}

func (j jsonValue) number() (float64, error) {
	n, ok := j.v.(json.Number)
	if !ok {
		if j.v == nil {
			return 0, refuse(Null, "it is null")
		}
		return 0, refuse(BadSenML, "it is not a number")
	}
	return parseFloat(n.String())
}

func (j jsonValue) text() (string, error) {
	s, ok := j.v.(string)
	if !ok {
		return "", refuse(BadSenML, "it is not a string")
	}
	return s, nil
}

func (j jsonValue) boolean() error {
	if _, ok := j.v.(bool); !ok {
		return refuse(BadSenML, "it is neither true nor false")
	}
	return nil
}

// data is base64url in JSON (section 5); the bytes are not needed.
func (j jsonValue) data() error {
	_, err := j.text()
	return err
}
