package alertmanager_test

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/alerts/notify/alertmanager"
)

// server notes what is posted and answers as it is told.
type server struct {
	*httptest.Server
	mu     sync.Mutex
	status int
	posts  []map[string]time.Time // subject: end
	users  []string
}

func newServer(t *testing.T, status int) *server {
	s := &server{status: status}
	s.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		defer s.mu.Unlock()
		var all []struct {
			Labels map[string]string
			EndsAt time.Time
		}
		assert.Equal(t, "/api/v2/alerts", r.URL.Path)
		if assert.NoError(t, json.NewDecoder(r.Body).Decode(&all)) {
			ends := map[string]time.Time{}
			for _, a := range all {
				ends[a.Labels["subject"]] = a.EndsAt
			}
			s.posts = append(s.posts, ends)
		}
		user, password, _ := r.BasicAuth()
		s.users = append(s.users, user+":"+password)
		w.WriteHeader(s.status)
	}))
	t.Cleanup(s.Close)
	return s
}

func (s *server) answer(status int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.status = status
}

func (s *server) last() (map[string]time.Time, int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.posts) == 0 {
		return nil, 0
	}
	return s.posts[len(s.posts)-1], len(s.posts)
}

// The end of an alert is posted until the server has taken it, and then no
// more; one that is raised again meanwhile is not ended by its forerunner.
func TestTheEndIsPostedUntilItIsTaken(t *testing.T) {
	s := newServer(t, http.StatusOK)
	world := &standing{}
	world.set(dry("p1", time.Now()), dry("p2", time.Now()))
	p, _ := push(t, alertmanager.Options{URL: s.URL, Standing: world.list, Every: 20 * time.Millisecond})
	wait := func(what string, until func(ends map[string]time.Time) bool) {
		t.Helper()
		require.Eventually(t, func() bool { ends, _ := s.last(); return until(ends) }, patience, 5*time.Millisecond, what)
	}
	ahead := func(end time.Time) bool { return end.After(time.Now()) }
	wait("both stand", func(e map[string]time.Time) bool { return ahead(e["bag/p1"]) && ahead(e["bag/p2"]) })

	s.answer(http.StatusServiceUnavailable)
	world.set()
	_, before := s.last()
	require.Eventually(t, func() bool { _, n := s.last(); return n > before+5 }, patience, 5*time.Millisecond)
	ends, _ := s.last()
	assert.Len(t, ends, 2, "nobody has taken it")
	assert.False(t, ahead(ends["bag/p1"]))

	world.set(dry("p1", time.Now().Add(time.Hour)))
	wait("p1 is up again", func(e map[string]time.Time) bool { return ahead(e["bag/p1"]) && !ahead(e["bag/p2"]) && len(e) == 2 })
	s.answer(http.StatusOK)
	wait("p2 has ended", func(e map[string]time.Time) bool { return len(e) == 1 && ahead(e["bag/p1"]) })
	world.set()
	wait("p1 ends", func(e map[string]time.Time) bool { return len(e) == 1 && !ahead(e["bag/p1"]) })
	_, before = s.last()
	time.Sleep(200 * time.Millisecond)
	_, after := s.last()
	assert.Equal(t, before, after, "where nothing stands nothing is posted")
	assert.NoError(t, p.Moving(time.Now()))
}

func TestWhyItFails(t *testing.T) {
	gone := newServer(t, http.StatusOK)
	gone.Close()
	tests := map[string]struct {
		url    string
		reason alertmanager.Reason
		code   int
	}{
		"wrong password": {newServer(t, http.StatusUnauthorized).URL, alertmanager.Auth, 401},
		"not its URL":    {newServer(t, http.StatusNotFound).URL, alertmanager.Rejected, 404},
		"moved":          {newServer(t, http.StatusFound).URL, alertmanager.Rejected, 302},
		"down":           {gone.URL, alertmanager.Refused, 0},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			world := &standing{}
			world.set(dry("p1", time.Now()))
			failed := make(chan error, 100)
			var log bytes.Buffer
			p, stop := push(t, alertmanager.Options{
				URL: c.url, Standing: world.list, Every: 20 * time.Millisecond, Username: "wickd",
				Password: func() (string, error) { return "correct-horse", nil },
				Log:      slog.New(slog.NewTextHandler(&log, nil)),
				Observe: func(_ int, err error) {
					select {
					case failed <- err:
					default:
					}
				},
			})
			for range 3 {
				var got *alertmanager.PostError
				require.ErrorAs(t, <-failed, &got)
				assert.Equal(t, c.reason, got.Reason)
				assert.Equal(t, c.code, got.Code)
			}
			assert.NoError(t, p.Moving(time.Now()), "it may come back")
			assert.ErrorContains(t, p.Moving(time.Now().Add(2*time.Hour)), "not been reached for 2h")
			stop()
			assert.Equal(t, 1, bytes.Count(log.Bytes(), []byte("level=WARN")), "a repeated failure is said once: %s", &log)
			assert.NotContains(t, log.String(), "correct-horse")
			assert.NotContains(t, log.String(), c.url)
		})
	}
}

func TestThePasswordTravels(t *testing.T) {
	s := newServer(t, http.StatusOK)
	world := &standing{}
	world.set(dry("p1", time.Now()))
	taken := make(chan error, 100)
	push(t, alertmanager.Options{
		URL: s.URL, Standing: world.list, Username: "wickd", Password: func() (string, error) { return "correct-horse", nil },
		Observe: func(_ int, err error) { taken <- err },
	})
	require.NoError(t, <-taken)
	assert.Equal(t, []string{"wickd:correct-horse"}, s.users)
}

func TestOptions(t *testing.T) {
	good := alertmanager.Options{URL: "http://127.0.0.1:9093", Standing: func() []alerts.State { return nil }, Clock: time.Now, Timer: timer}
	_, err := alertmanager.New(good)
	require.NoError(t, err)
	for name, change := range map[string]func(o *alertmanager.Options){
		"no URL":      func(o *alertmanager.Options) { o.URL = "" },
		"not HTTP":    func(o *alertmanager.Options) { o.URL = "ftp://127.0.0.1" },
		"no alerts":   func(o *alertmanager.Options) { o.Standing = nil },
		"no clock":    func(o *alertmanager.Options) { o.Clock = nil },
		"no timer":    func(o *alertmanager.Options) { o.Timer = nil },
		"no password": func(o *alertmanager.Options) { o.Username = "wickd" },
	} {
		o := good
		change(&o)
		_, err := alertmanager.New(o)
		assert.ErrorIs(t, err, alertmanager.ErrOptions, name)
	}
}
