package daemon_test

import (
	"context"
	"database/sql"
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
)

// seize holds the database of a data directory as a person with a database
// program would, and gives the way to let go of it.
func seize(t *testing.T, data string) (release func()) {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(data, "journal.db"))
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	_, err = db.Exec("PRAGMA busy_timeout = 10000")
	require.NoError(t, err)
	_, err = db.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	return func() {
		_, err := db.Exec("ROLLBACK")
		require.NoError(t, err)
		require.NoError(t, db.Close())
	}
}

// While another process holds the database nothing is acknowledged, /readyz says
// why, and everything goes on when it lets go.
func TestAnotherProcessHoldsTheDatabase(t *testing.T) {
	t.Parallel()
	for name, broker := range brokers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			section, address := broker(t)
			data := t.TempDir()
			d := run(t, daemon.Options{Data: data, Config: bench(t, section)})
			ready := func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }
			d.eventually(ready, "not ready")
			s := connect(t, d.broker(address))
			sent, confirmed := 0, map[string]bool{}
			send := func() (acknowledged bool) {
				payload := fmt.Sprintf("52.%04d", sent)
				sent++
				ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
				defer cancel()
				acknowledged = s.client.Publish(ctx, "bench/p1/moisture", []byte(payload), false) == nil
				confirmed[payload] = acknowledged
				return acknowledged
			}
			d.eventually(send, "not acknowledged")
			release := seize(t, data)
			d.eventually(func() bool { send(); return !ready() }, "nothing is said")
			status, why := fetch(t, d.Addr(), "/readyz")
			assert.Equal(t, http.StatusServiceUnavailable, status)
			assert.Contains(t, why, "another process has held the journal in "+data)
			assert.Equal(t, http.StatusOK, get(t, d.Addr(), "/healthz"), "a restart would not help")
			if name == "embedded" {
				assert.False(t, send(), "acknowledged and not kept")
			}
			release()
			d.eventually(ready, "the daemon does not go on: %s", why)
			d.eventually(send, "not acknowledged after it")
			d.eventually(func() bool {
				times := kept(t, data)
				for payload, acknowledged := range confirmed {
					if acknowledged && times[payload] != 1 {
						return false
					}
				}
				return true
			}, "what was acknowledged is not there once")
			assert.Equal(t, 1, strings.Count(d.log.String(), "another process holds the journal's database: messages"), "said once")
			require.NoError(t, d.end(), "%s", d.log)
		})
	}
}

// A daemon that is started meanwhile waits, and says why in /readyz as soon as
// there is something to write.
func TestAHeldDatabaseDoesNotHoldUpTheStart(t *testing.T) {
	t.Parallel()
	data := filled(t, 3)
	release := seize(t, data)
	d := run(t, daemon.Options{Data: data, Config: bench(t, embedded)})
	s := connect(t, d.BrokerAddr())
	d.eventually(func() bool {
		ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
		defer cancel()
		assert.Error(t, s.client.Publish(ctx, "bench/p1/moisture", []byte("52.0"), false), "acknowledged and not kept")
		_, why := fetch(t, d.Addr(), "/readyz")
		return strings.Contains(why, "another process has held the journal")
	}, "nothing is said")
	release()
	s.publish("bench/p1/moisture", "52.0")
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "the daemon does not go on")
}

// A daemon that is stopped meanwhile stops in time.
func TestAHeldDatabaseDoesNotHoldUpTheEnd(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	d := run(t, daemon.Options{Data: data, Config: bench(t, embedded)})
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "not ready")
	s := connect(t, d.BrokerAddr())
	s.publish("bench/p1/moisture", "52.0")
	release := seize(t, data)
	defer release()
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	require.Error(t, s.client.Publish(ctx, "bench/p1/moisture", []byte("51.9"), false))
	began := time.Now()
	require.NoError(t, d.end(), "%s", d.log)
	assert.Less(t, time.Since(began), 5*time.Second)
}
