package ingest_test

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

var start = time.Date(2026, 6, 1, 6, 0, 0, 0, time.UTC)

// bench decodes bare numbers; "T|number" carries a time of its own. It
// remembers what it was asked, as a decoder with a memory would.
type bench struct {
	mu    sync.Mutex
	asked []ingest.Message
}

func (b *bench) Decode(m ingest.Message) ([]model.Reading, []ingest.Refusal) {
	b.mu.Lock()
	b.asked = append(b.asked, m)
	b.mu.Unlock()
	if !strings.HasPrefix(m.Topic, "yard/") {
		return nil, []ingest.Refusal{{Reason: "unknown-topic"}}
	}
	text := string(m.Payload)
	if text == "boom" {
		panic("a bug in a decoder")
	}
	if text == "" {
		return nil, nil
	}
	at := m.Time()
	if own, ok := b.OwnTime(m); ok {
		at, text = own, text[strings.Index(text, "|")+1:]
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return nil, []ingest.Refusal{{Sensor: model.Subject(m.Topic), Reason: "no-number"}}
	}
	return []model.Reading{{Sensor: model.Subject(m.Topic), Time: at, Value: value, Verdict: model.Good}}, nil
}

func (b *bench) OwnTime(m ingest.Message) (time.Time, bool) {
	at, _, ok := strings.Cut(string(m.Payload), "|")
	if !ok {
		return time.Time{}, false
	}
	t, err := time.Parse(time.RFC3339, at)
	return t, err == nil
}

// shelf is a sink that keeps what it is given.
type shelf struct {
	mu     sync.Mutex
	events []ingest.Event
	marks  []int64 // Through of each batch
	err    error
}

func (s *shelf) Accept(_ context.Context, b ingest.Batch) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return s.err
	}
	s.events = append(s.events, b.Events...)
	s.marks = append(s.marks, b.Through)
	return nil
}

func (s *shelf) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.events)
}

// tell writes events so that two runs can be compared, without the fields that
// a capture does not carry.
func tell(events []ingest.Event) []string {
	var out []string
	for _, e := range events {
		text := e.At.Format("05.000000000") + " "
		switch {
		case e.Gap != nil:
			text += fmt.Sprintf("gap %s–%s", e.Gap.From.Format("15:04:05"), e.Gap.To.Format("15:04:05"))
		case e.Record != nil:
			text += fmt.Sprintf("%s %s %v %v", e.Record.Message.Topic, e.Record.Message.Payload, e.Record.Readings, e.Record.Refusals)
		default:
			continue // the clock: nothing that a journal holds
		}
		out = append(out, text)
	}
	return out
}

// rig is a pipeline on a real journal, with a clock that the test moves.
type rig struct {
	t       *testing.T
	dir     string
	journal *journal.Journal
	decoder *bench
	sink    *shelf
	pipe    *ingest.Pipeline
	now     time.Time
	mu      sync.Mutex
	done    chan error
	stop    context.CancelFunc
}

func newRig(t *testing.T, dir string, now time.Time, hooks journal.Hooks, change func(*ingest.Options)) *rig {
	t.Helper()
	j, err := journal.Open(journal.Options{Dir: dir, Hooks: hooks})
	require.NoError(t, err)
	r := &rig{t: t, dir: dir, journal: j, decoder: &bench{}, sink: &shelf{}, now: now, done: make(chan error, 1)}
	opts := ingest.Options{Decoder: r.decoder, Journal: j, Sink: r.sink, Clock: r.clock}
	if change != nil {
		change(&opts)
	}
	r.pipe, err = ingest.New(opts)
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	r.stop = stop
	go func() { r.done <- r.pipe.Run(ctx) }()
	t.Cleanup(r.kill)
	<-r.pipe.Ready()
	return r
}

func (r *rig) clock() time.Time {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.now
}

func (r *rig) advance(d time.Duration) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.now = r.now.Add(d)
}

// send submits a message a little later than the one before.
func (r *rig) send(topic, payload string) {
	r.t.Helper()
	r.sendMessage(ingest.Message{Topic: topic, Payload: []byte(payload), QoS: 1})
}

func (r *rig) sendMessage(m ingest.Message) {
	r.t.Helper()
	r.advance(time.Millisecond)
	require.NoError(r.t, r.pipe.SubmitWait(r.t.Context(), m))
}

// drain ends the pipeline in order and closes the journal.
func (r *rig) drain() {
	r.t.Helper()
	r.pipe.Drain()
	require.NoError(r.t, <-r.done)
	r.done <- nil
	r.kill()
}

func (r *rig) kill() {
	r.stop()
	<-r.done
	r.done <- nil
	_ = r.journal.Close(context.Background())
}

func records(events []ingest.Event) []ingest.Record {
	var out []ingest.Record
	for _, e := range events {
		if e.Record != nil {
			out = append(out, *e.Record)
		}
	}
	return out
}
