package capture

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"time"
	"unicode/utf8"

	"wickd/ingest"
)

// line is one line of a capture.
type line struct {
	Time    string          `json:"tst"`
	Topic   *string         `json:"topic"`
	Payload json.RawMessage `json:"payload,omitempty"`
	Base64  *string         `json:"payload_base64,omitempty"`
	Retain  flag            `json:"retain,omitempty"`
	Dup     flag            `json:"dup,omitempty"`
	Taken   string          `json:"taken,omitempty"`
	Gaps    [][2]string     `json:"gaps,omitempty"`
	Backlog int64           `json:"backlog,omitempty"`
	Place   int64           `json:"place,omitempty"`
}

// flag is a boolean that clients record as 0 and 1 or as false and true.
type flag bool

func (f *flag) UnmarshalJSON(text []byte) error {
	switch string(text) {
	case "1", "true":
		*f = true
	case "0", "false", "null":
		*f = false
	default:
		return fmt.Errorf("%.20q is not 0, 1, false or true", text)
	}
	return nil
}

func (f flag) MarshalJSON() ([]byte, error) {
	if f {
		return []byte("1"), nil
	}
	return []byte("0"), nil
}

// Decode reads one line. On error the record is zero.
func Decode(text []byte) (ingest.Record, error) {
	if !utf8.Valid(text) {
		return ingest.Record{}, errors.New("not UTF-8 text")
	}
	var l line
	if err := json.Unmarshal(text, &l); err != nil {
		return ingest.Record{}, err
	}
	return l.record()
}

func (l *line) record() (ingest.Record, error) {
	if l.Topic == nil || *l.Topic == "" {
		return ingest.Record{}, errors.New(`there is no "topic"`)
	}
	payload, err := l.payload()
	if err != nil {
		return ingest.Record{}, err
	}
	r := ingest.Record{
		Message: ingest.Message{Topic: *l.Topic, Payload: payload, Retained: bool(l.Retain), Duplicate: bool(l.Dup)},
		Backlog: l.Backlog,
		Place:   l.Place,
	}
	if l.Backlog < 0 || l.Place < 0 || l.Place > 0 && l.Backlog == 0 {
		return ingest.Record{}, fmt.Errorf("backlog %d, place %d: both count from 1", l.Backlog, l.Place)
	}
	if r.Message.Arrived, err = parseTime("tst", l.Time); err != nil {
		return ingest.Record{}, err
	}
	if l.Taken != "" {
		if r.Message.Taken, err = parseTime("taken", l.Taken); err != nil {
			return ingest.Record{}, err
		}
	}
	r.Gaps, err = l.gaps()
	if err != nil {
		return ingest.Record{}, err
	}
	return r, nil
}

func (l *line) gaps() ([]ingest.Gap, error) {
	var gaps []ingest.Gap
	for _, g := range l.Gaps {
		from, err := parseTime("gaps", g[0])
		if err != nil {
			return nil, err
		}
		to, err := parseTime("gaps", g[1])
		if err != nil {
			return nil, err
		}
		gaps = append(gaps, ingest.Gap{From: from, To: to})
	}
	return gaps, nil
}

func (l *line) payload() ([]byte, error) {
	if l.Base64 != nil {
		payload, err := base64.StdEncoding.DecodeString(*l.Base64)
		if err != nil {
			return nil, fmt.Errorf("payload_base64: %w", err)
		}
		return payload, nil
	}
	switch {
	case l.Payload == nil:
		return nil, errors.New(`there is no "payload"`)
	case l.Payload[0] == '"':
		var text string
		if err := json.Unmarshal(l.Payload, &text); err != nil {
			return nil, fmt.Errorf("payload: %w", err)
		}
		return []byte(text), nil
	case bytes.Equal(l.Payload, []byte("null")):
		return []byte{}, nil
	}
	return l.Payload, nil
}

// layouts are RFC 3339, and what clients make of it: the zone without a colon,
// as strftime writes it, also after a Z that means nothing (mosquitto_sub
// 2.0.11 writes 2026-06-01T14:00:00.000001Z+0200).
var layouts = []string{
	time.RFC3339Nano,
	"2006-01-02T15:04:05.999999999Z0700",
	"2006-01-02T15:04:05.999999999Z-0700",
}

func parseTime(key, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, fmt.Errorf("there is no %q", key)
	}
	for _, layout := range layouts {
		if t, err := time.Parse(layout, text); err == nil {
			return checkTime(key, t)
		}
	}
	return time.Time{}, fmt.Errorf("%s: %.40q is not a time, for example 2026-06-01T00:00:00Z", key, text)
}

// checkTime keeps to what nanoseconds in 64 bits can hold.
func checkTime(key string, t time.Time) (time.Time, error) {
	if year := t.Year(); year < 1970 || year > 2261 {
		return time.Time{}, fmt.Errorf("%s: the year %d is not between 1970 and 2261", key, year)
	}
	return t.UTC(), nil
}
