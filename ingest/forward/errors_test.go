package forward

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// answers is a server that answers as a test says.
type answers struct {
	mu    sync.Mutex
	lines []string // of accepted writes
	say   func(body string) (status int, header http.Header)
}

func (a *answers) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err == nil && r.Header.Get("Content-Encoding") == "gzip" {
		var unzip *gzip.Reader
		if unzip, err = gzip.NewReader(bytes.NewReader(body)); err == nil {
			body, err = io.ReadAll(unzip)
		}
	}
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	status, header := a.say(string(body))
	for key, values := range header {
		w.Header()[key] = values
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	if status == http.StatusNoContent {
		a.lines = append(a.lines, strings.Split(strings.TrimSpace(string(body)), "\n")...)
		return
	}
	_, _ = io.WriteString(w, `{"code":"error","message":"says the test"}`)
}

func (a *answers) set(say func(string) (int, http.Header)) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.say = say
}

func (a *answers) readings() int {
	a.mu.Lock()
	defer a.mu.Unlock()
	n := 0
	for _, line := range a.lines {
		if strings.HasPrefix(line, "reading,") {
			n++
		}
	}
	return n
}

func status(code int) func(string) (int, http.Header) {
	return func(string) (int, http.Header) { return code, nil }
}

func TestErrorsThatHoldLoseNothing(t *testing.T) {
	for _, code := range []int{401, 403, 404, 408, 429, 500, 502, 503, 504} {
		t.Run(http.StatusText(code), func(t *testing.T) {
			t.Parallel()
			a := &answers{say: status(code)}
			s := httptest.NewServer(a)
			defer s.Close()
			j := openJournal(t)
			fill(t, j, 0, 10, steady)
			f, log, stop := runForwarder(t, j, strings.TrimPrefix(s.URL, "http://"), func(o *Options) { o.MaxDelay = time.Millisecond })
			require.Eventually(t, func() bool { return f.Stats().Holds >= 3 }, 20*time.Second, time.Millisecond)
			at, err := j.Cursor(t.Context(), ReadingsCursor)
			require.NoError(t, err)
			assert.Zero(t, at)
			assert.Equal(t, 1, log.count("is held"))
			assert.NotContains(t, f.Stats().Held, "quince")
			a.set(status(204))
			caughtUp(t, j)
			stop()
			assert.Equal(t, 20, a.readings())
			assert.Zero(t, f.Stats().Refused)
		})
	}
}

func TestALineThatIsRefusedForGoodIsLeftOut(t *testing.T) {
	for _, code := range []int{400, 413, 422} {
		t.Run(http.StatusText(code), func(t *testing.T) {
			t.Parallel()
			a := &answers{say: func(body string) (int, http.Header) {
				if strings.Contains(body, "value=0.13") {
					return code, nil
				}
				return 204, nil
			}}
			s := httptest.NewServer(a)
			defer s.Close()
			j := openJournal(t)
			fill(t, j, 0, 100, func(n int) float64 {
				if n == 13 || n == 57 {
					return 0.13
				}
				return 0.5
			})
			f, log, stop := runForwarder(t, j, strings.TrimPrefix(s.URL, "http://"), nil)
			caughtUp(t, j)
			stop()
			assert.Equal(t, 198, a.readings())
			assert.EqualValues(t, 2, f.Stats().Refused)
			assert.Equal(t, 1, log.count("refused a point"), "the rest is counted")
		})
	}
}

// A proxy that answers 400 to everything must not empty the journal.
func TestAServerThatRefusesEverythingHolds(t *testing.T) {
	a := &answers{say: status(400)}
	s := httptest.NewServer(a)
	defer s.Close()
	j := openJournal(t)
	fill(t, j, 0, 50, steady)
	f, _, _ := runForwarder(t, j, strings.TrimPrefix(s.URL, "http://"), func(o *Options) { o.MaxDelay = time.Millisecond })
	require.Eventually(t, func() bool { return f.Stats().Holds >= 2 }, 20*time.Second, time.Millisecond)
	assert.Zero(t, f.Stats().Refused)
	a.set(status(204))
	caughtUp(t, j)
	assert.Equal(t, 100, a.readings())
}

func TestBackoff(t *testing.T) {
	jitter := 0.0
	b := backoff{max: 10 * time.Second, rand: func() float64 { return jitter }}
	var got []time.Duration
	for range 6 {
		got = append(got, b.next(0))
	}
	ms := time.Millisecond
	assert.Equal(t, []time.Duration{500 * ms, 1000 * ms, 2000 * ms, 4000 * ms, 5000 * ms, 5000 * ms}, got)
	assert.Equal(t, 7*time.Second, b.next(7*time.Second), "the server's wish")
	assert.Equal(t, 10*time.Second, b.next(time.Hour), "within bounds")
	b.reset()
	jitter = 0.5
	assert.Equal(t, 750*ms, b.next(0))
}

func TestNewWantsItsParts(t *testing.T) {
	_, err := New(Options{URL: "http://127.0.0.1:1"})
	assert.ErrorContains(t, err, "required")
}
