package rig

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Disk is a small disk of a test's own, which can be filled.
type Disk struct {
	Dir  string
	t    testing.TB
	fill string
}

// SmallDisk makes one of so many bytes, in memory. Who may not mount one skips
// the test, with CI=true too: many places that run tests do not let them.
func SmallDisk(t testing.TB, bytes int) *Disk {
	t.Helper()
	d := &Disk{Dir: t.TempDir(), t: t}
	d.fill = filepath.Join(d.Dir, "fill")
	out, err := exec.Command("mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%d", bytes), "tmpfs", d.Dir).CombinedOutput()
	if err != nil {
		t.Skipf("no disk can be mounted here, so none can be full: %v: %s", err, out)
	}
	t.Cleanup(func() {
		out, err := exec.Command("umount", d.Dir).CombinedOutput()
		require.NoError(t, err, "%s", out)
	})
	return d
}

// Fill leaves so many bytes free, and less when it is called again with less.
func (d *Disk) Fill(leave int) {
	d.t.Helper()
	const block = 4096
	f, err := os.OpenFile(d.fill, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
	require.NoError(d.t, err)
	for {
		if _, err := f.Write(make([]byte, block)); err != nil {
			break // full
		}
	}
	info, err := f.Stat()
	require.NoError(d.t, err)
	require.NoError(d.t, f.Truncate(max(0, info.Size()-int64(leave))))
	require.NoError(d.t, f.Close())
}

// Empty gives back what Fill took.
func (d *Disk) Empty() {
	d.t.Helper()
	require.NoError(d.t, os.Remove(d.fill))
}
