package ingest

import (
	"time"

	"wickd/model"
)

// Gap is a time during which the daemon was not listening to the broker.
type Gap struct {
	From, To time.Time
}

// Length of the gap; never negative.
func (g Gap) Length() time.Duration { return max(0, g.To.Sub(g.From)) }

// Join is the shortest gap that covers both. A zero Gap covers nothing.
func (g Gap) Join(other Gap) Gap {
	switch {
	case g == Gap{}:
		return other
	case other == Gap{}:
		return g
	}
	if other.From.Before(g.From) {
		g.From = other.From
	}
	if other.To.After(g.To) {
		g.To = other.To
	}
	return g
}

// Reason says why a message, or a part of it, gave no reading.
type Reason string

// The reasons that the pipeline itself gives; decoders add theirs.
const (
	ReasonNothingDecoded Reason = "nothing-decoded" // the decoder gave neither a reading nor a reason
	ReasonDecoderFailed  Reason = "decoder-failed"  // the decoder panicked
)

// Refusal records that a message, or one sensor's part of it, gave no reading.
// Sensor is empty when the topic belongs to none.
type Refusal struct {
	Sensor model.Subject
	Reason Reason
	Detail string // for the operator; may be empty
}

// Entry is a message on its way into the journal.
type Entry struct {
	Message  Message
	Readings []model.Reading
	Refusals []Refusal
	Gaps     []Gap // that ended since the message before this one, in order
	// Held marks a message of a backlog that is still arriving: it is
	// journalled without readings until the backlog is settled.
	Held bool
}

// Appended says what became of an Entry.
type Appended struct {
	Seq       int64 // of its row, or of the row that it repeats
	Backlog   int64 // of the backlog that it was added to; 0: none
	Duplicate bool  // a redelivery of Seq: no row was added
}

// Record is one row of the journal: a message and what was made of it.
type Record struct {
	Seq      int64 // ascending in order of arrival, from 1
	Message  Message
	Readings []model.Reading
	Refusals []Refusal
	Gaps     []Gap // that ended since the message before this one, in order
	// Backlog identifies the backlog that the message came with: the Seq of
	// its first message; 0: none. The rows of a backlog follow each other.
	Backlog int64
	// Place orders the rows of a backlog for handing on, from 1; 0 as long as
	// the backlog is not settled.
	Place int64
}

// Placement puts one row of a backlog in its place; the order of placements
// is the order of handing on. A zero Taken leaves the row its own time.
type Placement struct {
	Seq   int64
	Taken time.Time
}
