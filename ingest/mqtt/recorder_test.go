package mqtt_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest"
)

// patience bounds every wait for something that has to happen.
const patience = 20 * time.Second

var errJournal = errors.New("journal is full")

// recorder stands in for the pipeline behind the client and behind the
// embedded broker. It takes everything, and acknowledges at once until told
// otherwise.
type recorder struct {
	mu      sync.Mutex
	got     []ingest.Message
	held    []func(error)
	holding bool
	refuse  int // so many of the next messages are refused
	gate    chan struct{}
	changed chan struct{}
}

func newRecorder() *recorder { return &recorder{changed: make(chan struct{})} }

// Submit is the pipeline as the client sees it.
func (r *recorder) Submit(_ context.Context, m ingest.Message, ack func()) error {
	return r.take(m, func(err error) {
		if err == nil {
			ack()
		}
	})
}

// Deliver is the pipeline as the embedded broker sees it.
func (r *recorder) Deliver(ctx context.Context, m ingest.Message) error {
	result := make(chan error, 1)
	if err := r.take(m, func(err error) { result <- err }); err != nil {
		return err
	}
	select {
	case err := <-result:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (r *recorder) take(m ingest.Message, settle func(error)) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.refuse > 0 {
		r.refuse--
		gate := r.gate
		r.mu.Unlock()
		<-gate
		r.mu.Lock()
		return errJournal
	}
	r.got = append(r.got, m)
	if r.holding {
		r.held = append(r.held, settle)
	} else {
		settle(nil)
	}
	close(r.changed)
	r.changed = make(chan struct{})
	return nil
}

// hold stops acknowledging.
func (r *recorder) hold() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.holding = true
}

// settle ends the first n held messages, all with n < 0, and goes on holding.
func (r *recorder) settle(n int, err error) {
	r.mu.Lock()
	if n < 0 {
		n = len(r.held)
	}
	due := r.held[:n]
	r.held = r.held[n:]
	r.mu.Unlock()
	for _, settle := range due {
		settle(err)
	}
}

// release acknowledges from now on. What is held stays unacknowledged.
func (r *recorder) release() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.holding = false
}

// refuseNext refuses the next n messages, but not before open is called.
func (r *recorder) refuseNext(n int) (open func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	gate := make(chan struct{})
	r.refuse, r.gate = n, gate
	return func() { close(gate) }
}

func (r *recorder) messages() []ingest.Message {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]ingest.Message(nil), r.got...)
}

// wait returns the messages once there are at least n.
func (r *recorder) wait(t *testing.T, n int) []ingest.Message {
	t.Helper()
	deadline := time.After(patience)
	for {
		r.mu.Lock()
		have, changed := len(r.got), r.changed
		r.mu.Unlock()
		if have >= n {
			return r.messages()
		}
		select {
		case <-changed:
		case <-deadline:
			require.FailNowf(t, "messages missing", "%d of %d arrived", have, n)
		}
	}
}

func payloads(messages []ingest.Message) []string {
	out := make([]string, len(messages))
	for i, m := range messages {
		out[i] = string(m.Payload)
	}
	return out
}
