package daemon_test

import (
	"bytes"
	"context"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/journal"
)

// filled is a data directory with so many messages, after a clean stop.
func filled(t *testing.T, messages int) (dir string) {
	t.Helper()
	dir = t.TempDir()
	j, err := journal.Open(journal.Options{Dir: dir})
	require.NoError(t, err)
	for i := range messages {
		_, err := j.Append(t.Context(), []ingest.Entry{{Message: ingest.Message{
			Arrived: start.Add(time.Duration(i-messages) * time.Minute), Topic: "elsewhere", Payload: []byte(strings.Repeat("5", 200)),
		}}})
		require.NoError(t, err)
	}
	require.NoError(t, j.Close(context.Background()))
	return dir
}

// What was acknowledged and is gone is in the metrics and in the log.
func TestLostMessagesAreCounted(t *testing.T) {
	t.Parallel()
	dir := filled(t, 12)
	require.NoError(t, os.Remove(filepath.Join(dir, "journal.db")))
	clock := &wall{now: start}
	d := run(t, daemon.Options{Config: bench(t, embedded), Data: dir, Clock: clock.read})
	has(t, scrape(t, d), "wickd_journal_lost_messages_total 12\n")
	assert.Equal(t, 1, strings.Count(d.log.String(), "messages that were acknowledged are gone"))
	require.NoError(t, d.end())

	d = run(t, daemon.Options{Config: bench(t, embedded), Data: dir, Clock: clock.read})
	has(t, scrape(t, d), "wickd_journal_lost_messages_total 0\n")
}

// Pages that rotted in a part of the file that a start does not read are found
// by the daily look, and raise the alert that the journal fails.
func TestADamagedJournalIsFound(t *testing.T) {
	t.Parallel()
	dir := filled(t, 1)
	j, err := journal.Open(journal.Options{Dir: dir})
	require.NoError(t, err)
	var old journal.Update
	for i := range 1000 {
		old.Estimates = append(old.Estimates, journal.Estimate{At: start.Add(time.Duration(i-1000) * time.Hour), Kind: "bag", ID: "p9", Body: []byte(`{"mark":"old estimate"}`)})
	}
	require.NoError(t, j.Commit(t.Context(), old))
	require.NoError(t, j.Close(context.Background()))
	clock := &wall{now: start}
	d := run(t, daemon.Options{Config: bench(t, embedded), Data: dir, Clock: clock.read})
	assert.True(t, d.Sound(t.Context()))
	require.NoError(t, d.end())

	const page = 4096
	path := filepath.Join(dir, "journal.db")
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	rotten := bytes.LastIndex(content, []byte("old estimate")) / page * page
	require.Positive(t, rotten)
	copy(content[rotten:rotten+page], make([]byte, page))
	require.NoError(t, os.WriteFile(path, content, 0o600))
	d = run(t, daemon.Options{Config: bench(t, embedded), Data: dir, Clock: clock.read})
	assert.False(t, d.Sound(t.Context()))
	assert.Contains(t, d.log.String(), "put a sound copy in its place")
	has(t, scrape(t, d), "wickd_journal_failing 1\n")
	assert.Equal(t, http.StatusOK, get(t, d.Addr(), "/healthz"), "a restart would not mend it")
}
