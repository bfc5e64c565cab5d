package daemon

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/web"
)

// A part of the daemon that is put aside before anything is wrong with it is listed,
// and still is after a restart; a part that there is not cannot be put aside.
func TestAPartPutAsideBeforehandIsKept(t *testing.T) {
	t.Parallel()
	file, err := os.ReadFile("testdata/bench.yaml")
	require.NoError(t, err)
	c, err := config.Parse(filepath.Join(t.TempDir(), "site.yaml"), append(file, "\nmqtt: {embedded: {listen: \"127.0.0.1:0\"}}\n"...))
	require.NoError(t, err)
	o := Options{Config: c, Data: t.TempDir(), Listen: "127.0.0.1:0"}
	listed := func(d *Daemon) bool { return strings.Contains(strings.Join(d.notes(), "\n"), "wickd/broker") }
	d, err := New(o)
	require.NoError(t, err)
	until := time.Now().Add(time.Hour)
	require.NoError(t, operator{d}.Shelve(t.Context(), "wickd/broker", until))
	assert.ErrorIs(t, operator{d}.Shelve(t.Context(), "wickd/borker", until), web.ErrNoAlert)
	assert.True(t, listed(d))
	d.Close()
	again, err := New(o)
	require.NoError(t, err)
	defer again.Close()
	assert.True(t, listed(again), "after a restart")
}
