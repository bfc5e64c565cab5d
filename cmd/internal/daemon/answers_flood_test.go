package daemon

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/ingest"
)

// seen acknowledges everything, or fails.
type seen struct{ fail error }

func (s seen) Acknowledge(context.Context, string, string) error { return s.fail }
func (s seen) Shelve(context.Context, string, time.Time) error   { return s.fail }
func (s seen) Unshelve(context.Context, string) error            { return s.fail }
func trusting(o web.Operator, log *bytes.Buffer) (*answers, chan []byte) {
	said := make(chan []byte, 10*answersWaiting)
	return &answers{
		Ack: config.Ack{Topic: "wickd/ack", Trusted: true}, operator: o, waiting: make(chan answered, answersWaiting),
		alerts: func() []expose.AlertState { return nil }, count: func(web.Answer) {}, log: slog.New(slog.NewTextHandler(log, nil)),
		publish: func(_ context.Context, _ string, payload []byte, _ bool) error {
			said <- payload
			return nil
		},
	}, said
}

// Something that answers without end holds no reading up: what is too much is
// left out, said once, and every message is released.
func TestAFloodOfAnswers(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	a, said := trusting(seen{}, &log)
	counted := map[string]int{}
	a.count = func(c web.Answer) { counted[c.Reason]++ }
	released := 0
	for range 3 * answersWaiting {
		a.submit(ingest.Message{Topic: "wickd/ack", Payload: []byte(`{"occurrence":"x"}`)}, func() { released++ })
	}
	assert.Equal(t, 2*answersWaiting, released)
	assert.Equal(t, 1, bytes.Count(log.Bytes(), []byte("level=WARN")))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- a.run(ctx) }()
	for range answersWaiting {
		assert.JSONEq(t, `{"outcome":"acknowledged","occurrence":"x","by":"somebody by MQTT"}`, string(<-said))
	}
	cancel()
	require.NoError(t, <-done)
	assert.Equal(t, 3*answersWaiting, released)
	assert.False(t, a.flooded.Load())
	assert.Equal(t, map[string]int{"too-many": 2 * answersWaiting, "": answersWaiting}, counted)
}

// An answer that could not be kept says so, and not why in words that only the
// machine's owner may read.
func TestAnAnswerThatCannotBeKept(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	a, _ := trusting(seen{errors.New("commit to /var/lib/secret: disk full")}, &log)
	r := a.take(t.Context(), ingest.Message{Payload: []byte(`{"occurrence":"x","by":"me"}`)})
	assert.Equal(t, refused, r.Outcome)
	assert.NotContains(t, string(r.encode()), "/var/lib")
	for range 3 {
		a.note(r)
	}
	assert.Equal(t, 1, bytes.Count(log.Bytes(), []byte("an answer came by MQTT")), "the same refusal is said once")
}
