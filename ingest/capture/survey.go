package capture

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"wickd/ingest"
)

// Survey says what a capture holds, before anybody uses it.
type Survey struct {
	Messages int64
	// Early counts messages whose time lies before that of one above them;
	// FirstEarly is the line of the first of them, 0: there is none.
	Early, FirstEarly int64
	Topics            map[string]int64 // how many messages each has
	// Cut is where the capture breaks off in the middle; nil: it does not.
	// What came before is good.
	Cut error
	// Damaged counts lines that cannot be read, Damage is the first of them: a
	// recorder that was switched off in the middle of a line and went on in the
	// same file leaves one. The others are good.
	Damaged int64
	Damage  error
}

// spoilt is one in how many lines may be damaged before the file is taken to be
// something else.
const spoilt = 20

// Look goes through all of a capture, up to where it breaks off. It also gives
// the messages, in the order of their lines, unless there are more than keep. The
// error is of the first damaged line where one in spoilt is.
func Look(r *Reader, keep int) (s Survey, all []ingest.Record, err error) {
	s.Topics = map[string]int64{}
	var newest time.Time
	for {
		record, err := r.Next()
		if passable(err) {
			if s.Damaged++; s.Damage == nil {
				s.Damage = err
			}
			continue
		}
		switch {
		case errors.Is(err, ErrTruncated):
			s.Cut = err
			return s.whole(all)
		case errors.Is(err, io.EOF):
			return s.whole(all)
		case err != nil:
			return Survey{}, nil, err
		}
		if s.Messages++; s.Messages <= int64(keep) {
			all = append(all, record)
		} else {
			all = nil
		}
		s.Topics[record.Message.Topic]++
		if at := record.Message.Arrived; !at.Before(newest) {
			newest = at
			continue
		}
		if s.Early++; s.FirstEarly == 0 {
			s.FirstEarly = record.Seq
		}
	}
}

// whole is what Look gives at the end.
func (s Survey) whole(all []ingest.Record) (Survey, []ingest.Record, error) {
	switch {
	case s.Damaged*spoilt <= s.Messages:
		return s, all, nil
	case s.Messages == 0:
		return Survey{}, nil, s.Damage
	}
	return Survey{}, nil, fmt.Errorf("%d of %d lines cannot be read, the first: %w", s.Damaged, s.Damaged+s.Messages, s.Damage)
}

// passable says that an error is of one line alone.
func passable(err error) bool {
	var line *LineError
	return errors.As(err, &line) && !line.Final
}

// TopicCount is a topic and how many messages it has.
type TopicCount struct {
	Topic string
	Count int64
}

// Foreign are the topics that are not among those given, the most frequent
// first, and how many messages they have together.
func (s Survey) Foreign(known []string) (topics []TopicCount, messages int64) {
	for topic, n := range s.Topics {
		if !slices.Contains(known, topic) {
			topics = append(topics, TopicCount{topic, n})
			messages += n
		}
	}
	slices.SortFunc(topics, func(a, b TopicCount) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Topic, b.Topic))
	})
	return topics, messages
}

// Sort puts messages in the order of time; those of one time stay in the order
// in which they are.
func Sort(all []ingest.Record) {
	slices.SortStableFunc(all, func(a, b ingest.Record) int {
		return a.Message.Arrived.Compare(b.Message.Arrived)
	})
}
