package main

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// service is a push server that does something the moment a message comes.
type service struct {
	section string
	came    atomic.Int64
	meet    atomic.Pointer[func()] // nil: it just takes it
}

func newService(t *testing.T) *service {
	s := &service{}
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		s.came.Add(1)
		if meet := s.meet.Load(); meet != nil {
			(*meet)()
		}
	}))
	t.Cleanup(server.Close)
	url := filepath.Join(t.TempDir(), "url")
	require.NoError(t, os.WriteFile(url, []byte("generic+"+server.URL+"/?template=json"), 0o600))
	s.section = "notify: {recipients: {keeper: {url_file: " + url + "}}}"
	return s
}

// A wickd that is killed at any step between a reading and its message, and
// started again, has a real server take the message once; twice only where it
// was killed before it could know that the server had it.
func TestKilledAtEveryStepOfADelivery(t *testing.T) {
	t.Parallel()
	booked := func(y *yard) bool {
		_, metrics := fetch(y.listen, "/metrics")
		return strings.Contains(metrics, `wickd_notifications_sent_total{channel="keeper"} 1`)
	}
	tests := map[string]struct {
		reach func(y *yard, d *process, s *service) // until the step has come
		most  int64
	}{
		"the reading is kept": {func(*yard, *process, *service) {}, 1},
		"the message is owed": {func(_ *yard, d *process, _ *service) {
			d.eventually(func() bool { return strings.Contains(d.err.String(), "transition=raised") }, "it is not raised")
		}, 2}, // a slow machine may have sent it by now
		"the server has it": {func(_ *yard, d *process, s *service) {
			d.eventually(func() bool { return s.came.Load() == 1 }, "nothing is sent")
		}, 2},
		"it is booked": {func(y *yard, d *process, _ *service) {
			d.eventually(func() bool { return booked(y) }, "it is not booked")
		}, 1},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newService(t)
			y := newYard(t, "", s.section)
			d := y.run()
			if name == "the server has it" {
				die := func() { d.signal(syscall.SIGKILL); <-d.done } // no answer reaches wickd
				s.meet.Store(&die)
			}
			connect(t, y.embedded, "bench").publish("bench/p2/moisture", "9.5")
			tt.reach(y, d, s)
			d.signal(syscall.SIGKILL)
			d.wait()
			s.meet.Store(nil)

			before := s.came.Load()
			d = y.run()
			if before == 0 || name == "the server has it" {
				d.eventually(func() bool { return s.came.Load() == before+1 }, "it is lost")
			}
			d.eventually(func() bool { // the daemon has counted what it owes
				_, metrics := fetch(y.listen, "/metrics")
				return !strings.Contains(metrics, "wickd_journal_size_bytes 0\n") && strings.Contains(metrics, "wickd_notifications_waiting 0\n")
			}, "it stays owed")
			assert.GreaterOrEqual(t, s.came.Load(), int64(1))
			assert.LessOrEqual(t, s.came.Load(), tt.most)
			if name == "the server has it" {
				assert.EqualValues(t, 2, s.came.Load(), "wickd cannot know that the server had it")
			}
			d.signal(syscall.SIGTERM)
			code, _ := d.wait()
			assert.Equal(t, exitDone, code, "%s", d.err)
		})
	}
}
