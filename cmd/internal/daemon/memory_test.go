package daemon

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/journal"
)

// What the notifier remembers outlives the process, and holds nothing back that
// is old enough to be deleted.
func TestTheNotifiersMemory(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for i, want := range []string{"", "first", "second"} {
		j, err := journal.Open(journal.Options{Dir: dir})
		require.NoError(t, err)
		got, err := memory{j, notifierCheckpoint}.Recall(t.Context())
		require.NoError(t, err)
		assert.Equal(t, want, string(got))
		require.NoError(t, memory{j, notifierCheckpoint}.Remember(t.Context(), []byte([]string{"first", "second", "third"}[i])))
		_, err = j.Prune(t.Context(), time.Now().Add(time.Hour))
		require.NoError(t, err)
		require.NoError(t, j.Close(t.Context()))
	}
}
