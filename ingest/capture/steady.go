package capture

import (
	"errors"
	"fmt"
	"io"
	"time"

	"wickd/ingest"
)

// MaxHole is the longest time between two messages that a Steady passes over.
// No recording has a longer one but where a clock was not set, and a model that
// is carried through it minute by minute would take hours.
const MaxHole = 366 * 24 * time.Hour

// Steady gives the messages of a capture that is in the order of time, without
// those that were recorded twice: the same time, topic and payload, as in two
// recordings that overlap, and without damaged lines: a [Survey] has told of them.
// Where the capture breaks off in the middle, it ends.
type Steady struct {
	next  func() (ingest.Record, error)
	name  string
	last  ingest.Record        // zero: none yet
	now   map[content]struct{} // those of its time
	twice int64
	hole  ingest.Gap // the longest
}

// content is what makes two messages of one time the same.
type content struct {
	topic, payload string
	taken          int64
}

// NewSteady takes messages from next, which ends with an error, io.EOF for one;
// name goes into errors.
func NewSteady(name string, next func() (ingest.Record, error)) *Steady {
	return &Steady{name: name, next: next, now: map[content]struct{}{}}
}

// Twice counts the messages left out so far.
func (s *Steady) Twice() int64 { return s.twice }

// Hole is the longest time so far in which nothing was recorded, and of which the
// capture does not say that nobody listened.
func (s *Steady) Hole() ingest.Gap { return s.hole }

// Next gives the next message. Its error names the line after which the time
// leaps by more than MaxHole.
func (s *Steady) Next() (ingest.Record, error) {
	for {
		r, err := s.next()
		if passable(err) {
			continue
		}
		if errors.Is(err, ErrTruncated) {
			return ingest.Record{}, io.EOF
		}
		if err != nil {
			return ingest.Record{}, err
		}
		if err := s.leap(r); err != nil {
			return ingest.Record{}, err
		}
		if s.repeats(r) {
			s.twice++
			continue
		}
		hole := ingest.Gap{From: s.last.Message.Arrived, To: r.Message.Arrived}
		if !hole.From.IsZero() && len(r.Gaps) == 0 && hole.Length() > s.hole.Length() {
			s.hole = hole
		}
		s.last = r
		return r, nil
	}
}

func (s *Steady) repeats(r ingest.Record) bool {
	m := r.Message
	if !m.Arrived.Equal(s.last.Message.Arrived) {
		clear(s.now)
	}
	c := content{topic: m.Topic, payload: string(m.Payload), taken: m.Taken.UnixNano()}
	_, seen := s.now[c]
	s.now[c] = struct{}{}
	return seen
}

func (s *Steady) leap(r ingest.Record) error {
	from, to := s.last.Message.Arrived, r.Message.Arrived
	if from.IsZero() || to.Sub(from) <= MaxHole {
		return nil
	}
	return &LineError{File: s.name, Line: r.Seq, Final: true,
		Err:  fmt.Errorf("the time leaps from %s (line %d) to %s", from.Format(time.DateOnly), s.last.Seq, to.Format(time.DateOnly)),
		Hint: "no recording pauses for more than a year: where a clock was not set, take those lines out, and replay seasons one by one"}
}
