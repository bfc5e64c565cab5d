package daemon

import (
	"context"
	"time"

	"wickd/cmd/internal/expose"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/model"
)

// timed is the journal with its commits in the metrics: a disk that wears out
// becomes slow first.
type timed struct {
	*journal.Journal
	counters *expose.Counters
}

var (
	_ ingest.Journal = timed{}
	_ store          = timed{}
)

func (t timed) observe(began time.Time, err error) {
	if err != nil {
		t.counters.JournalCommitErrors.Inc()
		return
	}
	t.counters.JournalCommit.Observe(time.Since(began).Seconds())
}

// Append implements ingest.Journal.
func (t timed) Append(ctx context.Context, entries []ingest.Entry) ([]ingest.Appended, error) {
	began := time.Now()
	appended, err := t.Journal.Append(ctx, entries)
	t.observe(began, err)
	return appended, err
}

// Settle implements ingest.Journal.
func (t timed) Settle(ctx context.Context, backlog int64, places []ingest.Placement, decode func(ingest.Message) ([]model.Reading, []ingest.Refusal)) error {
	began := time.Now()
	err := t.Journal.Settle(ctx, backlog, places, decode)
	t.observe(began, err)
	return err
}

// Commit implements store.
func (t timed) Commit(ctx context.Context, u journal.Update) error {
	began := time.Now()
	err := t.Journal.Commit(ctx, u)
	t.observe(began, err)
	return err
}
