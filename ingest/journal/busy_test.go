package journal

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const busyDir = "JOURNAL_BUSY_DIR" // set: this process holds that database

// holdUntilTold holds the database for writing until standard input ends.
func holdUntilTold(dir string) {
	db, err := sql.Open("sqlite", dsn(dir))
	if err == nil {
		db.SetMaxOpenConns(1)
		_, err = db.Exec("BEGIN IMMEDIATE")
	}
	fmt.Println("held", err)
	_, _ = io.Copy(io.Discard, os.Stdin)
	_, _ = db.Exec("ROLLBACK")
	_ = db.Close()
}

// seize lets another process hold the database; release ends that.
func seize(t *testing.T, dir string) (release func()) {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	child := exec.CommandContext(t.Context(), self)
	child.Env = append(os.Environ(), busyDir+"="+dir)
	in, err := child.StdinPipe()
	require.NoError(t, err)
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "held <nil>\n", line)
	return func() {
		require.NoError(t, in.Close())
		require.NoError(t, child.Wait())
	}
}

// Another process that holds the database makes writes fail one by one, and not
// for good; a cursor waits for it.
func TestAnotherProcessHoldsTheDatabase(t *testing.T) {
	dir := t.TempDir()
	j := openTest(t, Options{Dir: dir})
	appendAll(t, j, entries(0, 2))
	require.NoError(t, j.Room(t.Context()))
	release := seize(t, dir)
	for range 2 {
		_, err := j.Append(t.Context(), entries(2, 1))
		require.ErrorIs(t, err, ErrBusy)
		require.ErrorIs(t, err, ErrFailed)
		assert.ErrorContains(t, err, "another process")
		require.ErrorIs(t, j.Room(t.Context()), ErrBusy)
	}
	assert.Len(t, readAll(t, j), 2, "reading goes on")
	ctx, cancel := context.WithTimeout(t.Context(), writerPatience/2)
	defer cancel()
	assert.ErrorIs(t, j.SetCursor(ctx, "x", 1), context.DeadlineExceeded)
	moved := make(chan error, 1)
	go func() { moved <- j.SetCursor(context.Background(), "x", 2) }()
	release()
	require.NoError(t, <-moved)
	require.NoError(t, j.Room(t.Context()))
	assert.EqualValues(t, 3, appendAll(t, j, entries(2, 1))[0].Seq, "no Seq was skipped")
}
