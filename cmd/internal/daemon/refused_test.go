package daemon

import (
	"bytes"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/ingest"
	"wickd/model"
)

// What cannot be, and what a sensor sends when it has failed, is in the log too.
func TestReadingsThatAreNotUsedAreLogged(t *testing.T) {
	t.Parallel()
	said := unused([]model.Reading{
		{Sensor: "reservoir/tank/ec", Value: 1600, Verdict: model.OutOfRange}, {Sensor: "reservoir/tank/ph", Value: 5.8, Verdict: model.Good},
		{Sensor: "reservoir/tank/temperature", Value: -127, Verdict: model.ErrorValue}, {Sensor: "bag/p1/moisture", Value: 0.2, Verdict: model.Jump},
		{Sensor: "bag/p2/moisture", Value: 1.2, Verdict: model.OutOfRange},
		{Sensor: "reservoir/drum/ec", Value: 1.4, Verdict: model.Uncalibrated},
	})
	assert.Equal(t, []ingest.Refusal{
		{Sensor: "reservoir/tank/ec", Reason: "out-of-range", Detail: "1600 mS/cm is not used"},
		{Sensor: "reservoir/tank/temperature", Reason: "error-value", Detail: "-127 °C is not used"},
		{Sensor: "bag/p2/moisture", Reason: "out-of-range", Detail: "120 % is not used"},
	}, said)
}

// The log names what was refused, in one short line that no payload can break
// out of; a sensor that stays broken has a line an hour.
func TestRefusedPayloadsAreLogged(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	r := newRefusalLog(slog.New(slog.NewTextHandler(&log, nil)))
	at := time.Date(2026, 6, 8, 12, 0, 0, 0, time.UTC)
	send := func(reason, payload string) {
		r.note(ingest.Message{Topic: "bench/p1/moisture", Arrived: at, Payload: []byte(payload)},
			[]ingest.Refusal{{Sensor: "bag/p1/moisture", Reason: ingest.Reason(reason), Detail: "it says nothing"}})
		at = at.Add(time.Minute)
	}
	send("not-a-number", "wet\nlevel=ERROR msg=forged \x1b[2J\xff"+strings.Repeat("é", 500))
	text := log.String()
	for _, want := range []string{"sensor=bag/p1/moisture", "topic=bench/p1/moisture", "reason=not-a-number", `err="it says nothing"`, "bytes=1032", `wet`, "…"} {
		assert.Contains(t, text, want)
	}
	assert.Equal(t, 1, strings.Count(text, "\n"), "one line: %s", text)
	assert.NotContains(t, text, "\x1b")
	assert.Less(t, len(text), 800)

	for range 59 {
		send("not-a-number", "wet")
	}
	assert.Equal(t, 1, strings.Count(log.String(), "\n"), "no flood")
	send("comma-decimal", "5,1")
	assert.Equal(t, 2, strings.Count(log.String(), "\n"), "another reason is news")
	log.Reset()
	send("not-a-number", "wet")
	assert.Contains(t, log.String(), "same_since=59")
}
