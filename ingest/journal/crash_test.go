package journal

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
)

const (
	crashDir  = "JOURNAL_CRASH_DIR"  // set: this process is the one that is killed
	crashFrom = "JOURNAL_CRASH_FROM" // the first number that nobody acknowledged
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashDir); dir != "" {
		appendUntilKilled(dir)
	}
	if dir := os.Getenv(busyDir); dir != "" {
		holdUntilTold(dir)
		return
	}
	os.Exit(m.Run())
}

// inFlight is how many messages the sender of the crash test has on their way.
const inFlight = 20

// appendUntilKilled journals rising numbers and says on standard output up to
// where they are committed. It begins with a redelivery of what nobody
// acknowledged.
func appendUntilKilled(dir string) {
	j, err := Open(Options{Dir: dir})
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	from, _ := strconv.Atoi(os.Getenv(crashFrom))
	dup := from > 0
	for n := from; ; n += inFlight {
		list := make([]ingest.Entry, inFlight)
		for i := range list {
			list[i] = entry(n + i)
			list[i].Message.Duplicate = dup
			list[i].Message.Payload = strconv.AppendInt(nil, int64(n+i), 10)
		}
		dup = false
		if _, err := j.Append(context.Background(), list); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		if err := j.SetCursor(context.Background(), "reported", int64(n+inFlight)); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		fmt.Println(n + inFlight)
	}
}

// runAndKill lets a child append from a number on, kills it after a while and
// returns the number below which it reported everything as committed.
func runAndKill(t *testing.T, dir string, from int, after time.Duration) int {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	child := exec.CommandContext(t.Context(), self)
	child.Env = append(os.Environ(), crashDir+"="+dir, fmt.Sprintf("%s=%d", crashFrom, from))
	out, err := child.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, child.Start())
	reported := from
	lines := bufio.NewScanner(out)
	for killed := false; lines.Scan(); {
		require.NotContains(t, lines.Text(), "error")
		reported, err = strconv.Atoi(strings.TrimSpace(lines.Text()))
		require.NoError(t, err)
		if !killed { // from the first report on
			killed = true
			time.AfterFunc(after, func() { _ = child.Process.Kill() })
		}
	}
	assert.Error(t, child.Wait(), "killed")
	return reported
}

func TestWhatWasReportedSurvivesAKill(t *testing.T) {
	dir := t.TempDir()
	random := rand.New(rand.NewPCG(1, 2))
	reported := 0
	for range 6 {
		reported = runAndKill(t, dir, reported, time.Duration(random.IntN(150_000))*time.Microsecond)
		j, err := Open(Options{Dir: dir})
		require.NoError(t, err)
		got := readAll(t, j)
		require.GreaterOrEqual(t, len(got), reported)
		for i, r := range got {
			require.Equal(t, strconv.Itoa(i), string(r.Message.Payload), "in order, none missing, none twice")
			require.EqualValues(t, i+1, r.Seq)
			require.Len(t, r.Readings, 1)
		}
		cursor, err := j.Cursor(t.Context(), "reported")
		require.NoError(t, err)
		require.GreaterOrEqual(t, cursor, int64(reported))
		require.NoError(t, j.Close(t.Context()))
	}
	require.Greater(t, reported, 6*inFlight)
}
