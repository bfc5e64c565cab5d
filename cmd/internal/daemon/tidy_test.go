package daemon_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/forward"
	"wickd/ingest/journal"
)

// aged makes a journal with a message a day for 500 days, all of which the
// core has taken, and of which a database that is gone has none.
func aged(t *testing.T, end time.Time) (dir string) {
	t.Helper()
	const days = 500
	dir = t.TempDir()
	j, err := journal.Open(journal.Options{Dir: dir})
	require.NoError(t, err)
	var entries []ingest.Entry
	for i := range days {
		entries = append(entries, ingest.Entry{Message: ingest.Message{
			Arrived: end.AddDate(0, 0, i-days), Topic: "elsewhere", Payload: fmt.Appendf(nil, "%d", i),
		}})
	}
	_, err = j.Append(t.Context(), entries)
	require.NoError(t, err)
	require.NoError(t, j.SetCursor(t.Context(), forward.ReadingsCursor, 0))
	for _, c := range []journal.Checkpoint{{Name: "core", Seq: days, At: end}, {Name: "watch", At: end}} {
		require.NoError(t, j.Commit(t.Context(), journal.Update{Checkpoint: &c}))
	}
	require.NoError(t, j.Close(context.Background()))
	return dir
}

// The journal does not grow for ever, and neither the daemon's own alerts nor
// a database that the site file names no more keep it from that.
func TestOldMessagesAreDeleted(t *testing.T) {
	t.Parallel()
	tests := map[string]struct {
		sections []string
		keep     time.Duration
		left     int
	}{
		"of 400 days":                          {[]string{embedded}, 0, 400},
		"of 30 days":                           {[]string{embedded}, 30 * 24 * time.Hour, 30},
		"not what the database has yet to get": {[]string{embedded, `influx: {url: "http://127.0.0.1:1", org: yard, bucket: yard}`}, 0, 500},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			clock := &wall{now: start}
			dir := aged(t, start)
			d := run(t, daemon.Options{Config: bench(t, tt.sections...), Data: dir, Keep: tt.keep, Clock: clock.read})
			d.Prune(t.Context())
			assert.Equal(t, tt.left == 500, strings.Contains(d.log.String(), "InfluxDB has not had them"), "%s", d.log)
			require.NoError(t, d.end())
			j, err := journal.Open(journal.Options{Dir: dir})
			require.NoError(t, err)
			defer j.Close(context.Background())
			left := 0
			require.NoError(t, j.Each(t.Context(), time.Time{}, start.AddDate(1, 0, 0), func(ingest.Record) error {
				left++
				return nil
			}))
			assert.Equal(t, tt.left, left)
		})
	}
}

func TestAJournalOfTooFewDaysIsRefused(t *testing.T) {
	_, err := daemon.New(daemon.Options{Config: bench(t, embedded), Data: t.TempDir(), Listen: "127.0.0.1:0", Keep: time.Hour})
	require.ErrorContains(t, err, "give 30 d or more")
}
