package daemon

import (
	"context"
	"time"

	"wickd/ingest"
)

// deliver journals a message of the embedded broker. While the journal takes
// nothing it says no at once: a sensor that waits gives the connection up and
// makes another.
func (s *source) deliver(ctx context.Context, m ingest.Message) error {
	if s.answers.takes(m.Topic) {
		return s.answers.wait(ctx, m)
	}
	s.mu.Lock()
	full := s.full
	s.mu.Unlock()
	if full != nil {
		return full
	}
	return s.pipeline.SubmitWait(ctx, m)
}

// up notes that the broker is there.
func (s *source) up() {
	s.mu.Lock()
	s.connected, s.lost = true, time.Time{}
	s.mu.Unlock()
	s.listen()
}

// granted notes what the broker refuses to send; nil: nothing.
func (s *source) granted(refused error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.refused = refused
}

// down notes that the broker is lost.
func (s *source) down(err error) {
	now := s.clock()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.why = err
	if s.lost.IsZero() {
		s.lost = now
	}
	s.connected = false
	s.stop(now)
}

// fill notes why the journal takes nothing; nil: it does again.
func (s *source) fill(full error) {
	now := s.clock()
	s.mu.Lock()
	s.full = full
	if full != nil {
		s.stop(now)
	}
	s.mu.Unlock()
	s.listen()
}

// listen begins listening, if it is possible: the gap before it goes ahead of
// the first message. At the very first time it is empty, and says when
// listening began.
func (s *source) listen() {
	now := s.clock()
	s.mu.Lock()
	gap := ingest.Gap{From: s.deaf, To: now}
	able := s.connected && s.full == nil && !s.listening
	s.mu.Unlock()
	if !able {
		return
	}
	if gap.From.IsZero() {
		gap.From = now
	}
	// An error means that the pipeline has ended; its owner knows.
	_ = s.pipeline.Gap(context.Background(), gap)
	s.mu.Lock()
	defer s.mu.Unlock()
	s.listening = s.connected && s.full == nil
}

// stop ends listening. The lock is held.
func (s *source) stop(now time.Time) {
	if s.listening || s.deaf.IsZero() {
		s.deaf = now
	}
	s.listening = false
}

// tick hands the clock on to the core while somebody listens. While nobody
// does, the core stands still: what it would find then, a replay could not.
func (s *source) tick(ctx context.Context) error {
	s.mu.Lock()
	listening := s.listening
	s.mu.Unlock()
	if !listening {
		return nil
	}
	return s.pipeline.Tick(ctx)
}

// reason is why the broker is lost; nil: it is not known.
func (s *source) reason() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.why
}

// state is whether the broker is lost, and since when.
func (s *source) state() (lost time.Time, dropped uint64, listening bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.lost, s.dropped, s.listening
}
