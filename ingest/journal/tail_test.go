package journal

import (
	"bytes"
	"context"
	"encoding/binary"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// SQLite says nothing of a write-ahead log whose end a disk has lost. What was
// acknowledged and is gone is said, to the message, and once; its numbers are
// not given again.
func TestTheLostEndOfTheLogIsSaid(t *testing.T) {
	tests := map[string]func(log []byte) []byte{
		"whole":                 func(log []byte) []byte { return log },
		"half of it cut off":    func(log []byte) []byte { return log[:len(log)/2] },
		"cut off in a frame":    func(log []byte) []byte { return log[:len(log)*3/4+77] },
		"all of it gone":        func([]byte) []byte { return nil },
		"one bit in the middle": func(log []byte) []byte { log[len(log)/2] ^= 4; return log },
		"its header overwritten": func(log []byte) []byte {
			copy(log, make([]byte, 32))
			return log
		},
	}
	for name, damage := range tests {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			reported := runAndKill(t, dir, 0, 10*time.Millisecond)
			path := filepath.Join(dir, "journal.db-wal")
			log, err := os.ReadFile(path)
			require.NoError(t, err)
			log = live(log)
			require.NotEmpty(t, log)
			require.NoError(t, os.WriteFile(path, damage(log), 0o600))

			var said bytes.Buffer
			j, err := Open(Options{Dir: dir, Log: slog.New(slog.NewTextHandler(&said, nil))})
			require.NoError(t, err)
			left := readAll(t, j)
			lost := j.Lost()
			if name == "whole" {
				assert.Zero(t, lost)
				assert.GreaterOrEqual(t, len(left), reported)
				assert.Empty(t, said.String())
			} else {
				assert.Positive(t, lost.Messages)
				assert.GreaterOrEqual(t, len(left)+int(lost.Messages), reported, "all that was reported is there or said to be gone")
				assert.Contains(t, said.String(), "messages that were acknowledged are gone")
				assert.Equal(t, entry(len(left)+int(lost.Messages)-1).Message.Arrived, lost.To)
				if len(left) > 0 {
					assert.Equal(t, left[len(left)-1].Message.Arrived, lost.From)
				}
			}
			for range 2 { // before anything else arrives, too
				said.Reset()
				require.NoError(t, j.Close(context.Background()))
				j, err = Open(Options{Dir: dir, Log: slog.New(slog.NewTextHandler(&said, nil))})
				require.NoError(t, err)
				assert.Zero(t, j.Lost(), "said once")
				assert.Empty(t, said.String())
			}
			assert.EqualValues(t, len(left)+int(lost.Messages)+1, appendAll(t, j, entries(0, 1))[0].Seq)
			require.NoError(t, j.Close(context.Background()))
		})
	}
}

// live is the part of a write-ahead log that is not in the database yet. A fast
// machine has begun the log anew by now, and what stands behind the new frames
// was written before: it can be lost without loss. A frame is of the log if its
// salt is the header's (sqlite.org/fileformat2.html, 4.1 and 4.2).
func live(log []byte) []byte {
	const header, frameHeader = 32, 24
	if len(log) < header {
		return nil
	}
	frame := frameHeader + int(binary.BigEndian.Uint32(log[8:]))
	end := header
	for end+frame <= len(log) && bytes.Equal(log[end+8:end+16], log[16:24]) {
		end += frame
	}
	return log[:end]
}

// A torn write of the tail, or one that was not flushed, says less and never
// more than is there.
func TestATornTailSaysLess(t *testing.T) {
	dir := t.TempDir()
	j := openTest(t, Options{Dir: dir})
	for n := range 5 {
		appendAll(t, j, entries(n, 1))
	}
	require.NoError(t, j.Close(t.Context()))
	path := filepath.Join(dir, "journal.tail")
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	for cut := range len(whole) + 1 {
		if cut > int(markSize)+8 && cut < tailSpacing || cut > tailSpacing+int(markSize)+8 {
			continue
		}
		require.NoError(t, os.WriteFile(path, whole[:cut], 0o600))
		tail, m, err := openTail(dir)
		require.NoError(t, err)
		require.NoError(t, tail.close())
		require.Contains(t, []int64{0, 4, 5}, m.Seq, "cut at %d", cut)
	}
	for i := range int(markSize) + 8 {
		torn := bytes.Clone(whole)
		torn[i] ^= 1
		torn[tailSpacing+i] ^= 1
		require.NoError(t, os.WriteFile(path, torn, 0o600))
		tail, m, err := openTail(dir)
		require.NoError(t, err)
		require.NoError(t, tail.close())
		require.Zero(t, m.Seq)
	}
}

// What a checkpoint stands for does not rest on the write-ahead log any more.
func TestACheckpointFoldsTheLogIn(t *testing.T) {
	dir := t.TempDir()
	j := openTest(t, Options{Dir: dir})
	appendAll(t, j, entries(0, 10))
	require.NoError(t, j.Commit(t.Context(), Update{Checkpoint: checkpoint(10)}))
	appendAll(t, j, entries(10, 3))
	alone := t.TempDir()
	content, err := os.ReadFile(filepath.Join(dir, "journal.db"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(alone, "journal.db"), content, 0o600))
	assert.Len(t, readAll(t, openTest(t, Options{Dir: alone})), 10)
}
