package ingest

import (
	"context"
	"time"

	"wickd/model"
)

// Event is one thing that the core is told, in the one order that a replay of
// the journal reproduces. Exactly one of Record and Gap is set; neither: the
// clock alone moved on.
type Event struct {
	// At is where the core's clock stands when the event is applied; it never
	// goes back. For a record it is the arrival of the message or, with a
	// backlog, the arrival of the backlog's last message; for a gap its end.
	At     time.Time
	Record *Record
	// Gap is handed on when it has ended, and may be handed on again after a
	// restart, before the first record after it.
	Gap *Gap
}

// Batch is what the pipeline hands on at once.
type Batch struct {
	Events []Event
	// Through is the last Seq up to which everything has been handed on with
	// this batch: a checkpoint taken now stands for the journal up to it.
	// Zero in the midst of a backlog, where no checkpoint may be taken.
	Through int64
}

// Sink takes what is committed. It is called from one goroutine, in order; an
// error ends the pipeline.
type Sink interface {
	Accept(ctx context.Context, batch Batch) error
}

// SinkFunc makes a Sink of a function.
type SinkFunc func(ctx context.Context, batch Batch) error

// Accept calls f.
func (f SinkFunc) Accept(ctx context.Context, batch Batch) error { return f(ctx, batch) }

// Decoder turns messages into readings.
type Decoder interface {
	// Decode is called once for each message that is journalled, in the order
	// of handing on, with Message.Taken set where a backlog was laid out. A
	// message that it can make nothing of is a Refusal, never an error.
	Decode(m Message) ([]model.Reading, []Refusal)
	// OwnTime is the time that the payload itself carries, if it carries a
	// believable one. It has no memory and no effect on Decode.
	OwnTime(m Message) (t time.Time, ok bool)
}

// Journal is what the pipeline needs of the journal.
type Journal interface {
	// Redelivered says which messages are already journalled, taking those
	// earlier in the slice as journalled.
	Redelivered(ctx context.Context, messages []Message) ([]bool, error)
	// Append commits all entries at once.
	Append(ctx context.Context, entries []Entry) ([]Appended, error)
	// Unsettled lists the rows of the backlog that is not settled, by Seq.
	Unsettled(ctx context.Context) ([]Record, error)
	// Settle places and decodes the rows of a backlog, all at once.
	Settle(ctx context.Context, backlog int64, places []Placement, decode func(Message) ([]model.Reading, []Refusal)) error
	// Fetch reads the rows with these Seqs, in this order.
	Fetch(ctx context.Context, seqs []int64) ([]Record, error)
	// Read reads up to limit settled rows after a Seq.
	Read(ctx context.Context, after int64, limit int) ([]Record, error)
	// Last is the newest row; 0 and the zero time when there is none.
	Last(ctx context.Context) (seq int64, arrived time.Time, err error)
}
