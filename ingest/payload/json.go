package payload

import (
	"bytes"
	"encoding/json"
	"io"
	"unicode/utf8"
)

// deepest is how deep arrays and objects may nest.
const deepest = 32

// parseJSON reads one JSON text (RFC 8259) into maps, slices, strings, bools,
// nil and json.Number. It is stricter than encoding/json: invalid UTF-8, names
// that occur twice and deep nesting are refused, as each lets two readers see
// two different documents.
func parseJSON(raw []byte) (any, error) {
	raw = bytes.TrimRight(raw, "\x00")
	if len(bytes.TrimSpace(raw)) == 0 {
		return nil, refuse(Empty, "it is empty")
	}
	if !utf8.Valid(raw) || !json.Valid(raw) {
		return nil, refuse(BadJSON, "%q is not JSON", clip(string(raw)))
	}
	decoder := json.NewDecoder(bytes.NewReader(raw))
	decoder.UseNumber()
	value, err := parseValue(decoder, 0)
	if err != nil {
		return nil, err
	}
	if _, err := decoder.Token(); err != io.EOF {
		return nil, refuse(BadJSON, "it goes on after its end")
	}
	return value, nil
}

func parseValue(decoder *json.Decoder, depth int) (any, error) {
	token, err := decoder.Token()
	if err != nil {
		return nil, refuse(BadJSON, "it is not JSON: %w", err)
	}
	delimiter, ok := token.(json.Delim)
	if !ok {
		return token, nil
	}
	if depth == deepest {
		return nil, refuse(TooDeep, "it nests deeper than %d", deepest)
	}
	if delimiter == '{' {
		return parseObject(decoder, depth+1)
	}
	return parseArray(decoder, depth+1)
}

func parseObject(decoder *json.Decoder, depth int) (any, error) {
	object := map[string]any{}
	for decoder.More() {
		token, err := decoder.Token()
		if err != nil {
			return nil, refuse(BadJSON, "it is not JSON: %w", err)
		}
		name, ok := token.(string)
		if !ok {
			return nil, refuse(BadJSON, "an object has a member without a name")
		}
		if _, ok := object[name]; ok {
			return nil, refuse(DuplicateKey, "%q stands twice in one object", clip(name))
		}
		if object[name], err = parseValue(decoder, depth); err != nil {
			return nil, err
		}
	}
	return object, closeDelimiter(decoder)
}

func parseArray(decoder *json.Decoder, depth int) (any, error) {
	array := []any{}
	for decoder.More() {
		value, err := parseValue(decoder, depth)
		if err != nil {
			return nil, err
		}
		array = append(array, value)
	}
	return array, closeDelimiter(decoder)
}

func closeDelimiter(decoder *json.Decoder) error {
	if _, err := decoder.Token(); err != nil {
		return refuse(BadJSON, "it is not JSON: %w", err)
	}
	return nil
}
