package daemon

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// watcher is the service elsewhere that listens for the heartbeat.
func watcher(t *testing.T, status int) (h *heartbeat, beats *atomic.Int64, log *strings.Builder) {
	t.Helper()
	beats, log = new(atomic.Int64), new(strings.Builder)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/ping/hunter2" {
			beats.Add(1)
		}
		w.Header().Set("Location", "/elsewhere")
		w.WriteHeader(status)
	}))
	t.Cleanup(server.Close)
	h = &heartbeat{
		url: func() (string, error) { return server.URL + "/ping/hunter2", nil }, every: 5 * time.Millisecond,
		moving: func(context.Context) error { return nil }, log: slog.New(slog.NewTextHandler(log, nil)),
		client: &http.Client{
			Transport:     &http.Transport{DisableKeepAlives: true},
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		},
	}
	return h, beats, log
}

// Silence is not health: the beat stops as soon as something stands still, and
// comes back when it moves.
func TestTheHeartbeatStopsWithWhatItStandsFor(t *testing.T) {
	t.Parallel()
	h, beats, log := watcher(t, http.StatusNoContent)
	var stuck atomic.Bool
	h.moving = func(context.Context) error {
		if stuck.Load() {
			return errors.New("the model stands still")
		}
		return nil
	}
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- h.run(ctx) }()
	require.Eventually(t, func() bool { return beats.Load() > 2 }, 10*time.Second, time.Millisecond)
	stuck.Store(true)
	time.Sleep(50 * time.Millisecond) // a beat that is on its way arrives
	before := beats.Load()
	time.Sleep(100 * time.Millisecond)
	assert.Equal(t, before, beats.Load())
	stuck.Store(false)
	require.Eventually(t, func() bool { return beats.Load() > before+1 }, 10*time.Second, time.Millisecond)
	cancel()
	require.NoError(t, <-done)
	assert.Equal(t, 1, strings.Count(log.String(), "the model stands still"), "said once, not at every beat")
	assert.Contains(t, log.String(), "goes out again")
}

// No error repeats the URL, which is a secret.
func TestTheHeartbeatKeepsItsSecret(t *testing.T) {
	t.Parallel()
	for status, want := range map[int]string{http.StatusNotFound: "404", http.StatusFound: "302", http.StatusInternalServerError: "500"} {
		h, _, _ := watcher(t, status)
		err := h.beat(t.Context())
		require.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), "hunter2")
	}
	for _, url := range []string{"http://127.0.0.1:1/hunter2", "http://[hunter2", "gopher://x/hunter2", "http://hunter2.invalid/"} {
		h, _, _ := watcher(t, http.StatusOK)
		h.url = func() (string, error) { return url, nil }
		err := h.beat(t.Context())
		require.Error(t, err)
		assert.NotContains(t, err.Error(), "hunter2")
	}
}
