package capture

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"time"
	"unicode/utf8"

	"wickd/ingest"
)

// Encode writes one line, with its end, to the end of buf. Seq and what was
// decoded are left out.
func Encode(buf []byte, r ingest.Record) ([]byte, error) {
	m := r.Message
	l := line{
		Time: formatTime(m.Arrived), Topic: &m.Topic,
		Retain: flag(m.Retained), Dup: flag(m.Duplicate),
		Taken: formatTime(m.Taken), Backlog: r.Backlog, Place: r.Place,
	}
	for _, g := range r.Gaps {
		l.Gaps = append(l.Gaps, [2]string{formatTime(g.From), formatTime(g.To)})
	}
	if utf8.Valid(m.Payload) {
		text, err := encodeJSON(string(m.Payload))
		if err != nil {
			return buf, err
		}
		l.Payload = bytes.TrimSuffix(text, []byte("\n"))
	} else {
		text := base64.StdEncoding.EncodeToString(m.Payload)
		l.Base64 = &text
	}
	text, err := encodeJSON(l)
	if err != nil {
		return buf, fmt.Errorf("capture: writing a line: %w", err)
	}
	return append(buf, text...), nil
}

func formatTime(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

// encodeJSON leaves <, > and & as they are: payloads stay readable.
func encodeJSON(v any) ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return out.Bytes(), err
}
