package journal

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/rig"
	"wickd/model"
)

// fillUp appends until the disk is full, and gives how many messages fitted.
func fillUp(t *testing.T, j *Journal, from int) (n int) {
	t.Helper()
	for n = from; ; n++ {
		_, err := j.Append(t.Context(), []ingest.Entry{entry(n)})
		if err != nil {
			require.ErrorIs(t, err, ErrFull)
			return n
		}
		require.Less(t, n, 10_000, "the disk does not fill up")
	}
}

// A full disk takes no message, but still that it is full and who is to be
// told; when there is room, all goes on without a restart.
func TestAFullDiskStillTakesWhatIsUrgent(t *testing.T) {
	disk := rig.SmallDisk(t, 8<<20)
	dir := filepath.Join(disk.Dir, "data")
	j := openTest(t, Options{Dir: dir})
	appendAll(t, j, entries(0, 10))
	disk.Fill(0)
	n := fillUp(t, j, 10)

	require.NoError(t, j.Commit(t.Context(), Update{
		Urgent: true, Transitions: []model.Transition{transition(1, model.Raised)},
		Outbox: []Message{{Key: "full", Recipient: "keeper", Created: start}}, Checkpoint: checkpoint(0),
	}))
	require.NoError(t, j.MarkSent(t.Context(), 1, start))
	require.NoError(t, j.SetCursor(t.Context(), "influxdb", 5))
	_, err := j.Append(t.Context(), entries(n, 1))
	require.ErrorIs(t, err, ErrFull, "the reserve's room is not for messages")
	require.ErrorIs(t, j.Commit(t.Context(), Update{Checkpoint: checkpoint(1)}), ErrFull)
	require.ErrorIs(t, j.Room(t.Context()), ErrFull)

	j = reopen(t, j)
	assert.Len(t, readAll(t, j), n, "a restart loses nothing")

	disk.Empty()
	require.NoError(t, j.Room(t.Context()))
	assert.EqualValues(t, n+1, appendAll(t, j, entries(n, 1))[0].Seq)
	history, err := j.Transitions(t.Context(), History{})
	require.NoError(t, err)
	require.Len(t, history, 1, "the urgent one")
	info, err := os.Stat(filepath.Join(dir, "journal.reserve"))
	require.NoError(t, err)
	assert.EqualValues(t, reserveSize, info.Size())
}

// After a power cut with a full disk, there has to be room to open what is
// there.
func TestAFullDiskIsOpened(t *testing.T) {
	disk := rig.SmallDisk(t, 8<<20)
	dir := filepath.Join(disk.Dir, "data")
	j := openTest(t, Options{Dir: dir})
	appendAll(t, j, entries(0, 10))
	image := filepath.Join(disk.Dir, "image")
	require.NoError(t, os.Mkdir(image, 0o750))
	for _, name := range []string{"journal.db", "journal.db-wal", "journal.reserve"} {
		content, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(image, name), content, 0o600))
	}
	disk.Fill(0)
	j = openTest(t, Options{Dir: image})
	assert.Len(t, readAll(t, j), 10)
	require.NoError(t, j.Commit(t.Context(), Update{Urgent: true, Outbox: []Message{{Key: "full", Created: start}}}))
	due, err := j.Due(t.Context(), start.Add(time.Second), 10)
	require.NoError(t, err)
	assert.Len(t, due, 1)
}

func TestADiskThatIsFullFromTheStart(t *testing.T) {
	disk := rig.SmallDisk(t, 1<<20)
	disk.Fill(0)
	_, err := Open(Options{Dir: filepath.Join(disk.Dir, "data")})
	require.ErrorIs(t, err, ErrFull)
	assert.ErrorContains(t, err, disk.Dir)
	assert.ErrorContains(t, err, "free some space")
}
