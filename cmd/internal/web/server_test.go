package web_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/model"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// start serves on a free port until the test ends, and fails it if the end is
// not an ordered one.
func start(t *testing.T, s *web.Server) (base string, stop func()) {
	t.Helper()
	require.NoError(t, s.Listen())
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		assert.NoError(t, <-ended)
		http.DefaultTransport.(*http.Transport).CloseIdleConnections()
	})
	t.Cleanup(stop)
	return "http://" + s.Addr(), stop
}

func TestOptionsAreChecked(t *testing.T) {
	_, err := web.New(web.Options{})
	for _, field := range []string{"Registry", "Snapshot", "Now"} {
		assert.ErrorContains(t, err, field)
	}
}

func TestItServesUntilToldToStop(t *testing.T) {
	s := newServer(t, nil)
	assert.Empty(t, s.Addr())
	base, stop := start(t, s)

	answer, err := http.Get(base + "/healthz")
	require.NoError(t, err)
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	assert.Equal(t, "ok\n", string(body))

	stop()
	_, err = http.Get(base + "/healthz")
	assert.Error(t, err, "the socket is closed")
}

func TestAnOpenRequestMayFinish(t *testing.T) {
	arrived, release := make(chan struct{}), make(chan struct{})
	s := newServer(t, func(o *web.Options) {
		o.Healthy = func() error { close(arrived); <-release; return nil }
	})
	require.NoError(t, s.Listen())
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx) }()

	status := make(chan int, 1)
	go func() {
		answer, err := http.Get("http://" + s.Addr() + "/healthz")
		if assert.NoError(t, err) {
			answer.Body.Close()
			status <- answer.StatusCode
		}
	}()
	<-arrived
	cancel()
	close(release)
	assert.Equal(t, http.StatusOK, <-status)
	assert.NoError(t, <-ended)
	http.DefaultTransport.(*http.Transport).CloseIdleConnections()
}

func TestARequestThatHangsDoesNotHoldTheEnd(t *testing.T) {
	arrived, release := make(chan struct{}), make(chan struct{})
	s := newServer(t, func(o *web.Options) {
		o.Healthy = func() error { close(arrived); <-release; return nil }
	})
	require.NoError(t, s.Listen())
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx) }()
	asked := make(chan struct{})
	go func() {
		defer close(asked)
		if answer, err := http.Get("http://" + s.Addr() + "/healthz"); err == nil {
			answer.Body.Close()
		}
	}()
	<-arrived
	began := time.Now()
	cancel()
	assert.NoError(t, <-ended, "the connection is cut, which is no failure")
	assert.Less(t, time.Since(began), 2*time.Second, "an ordered end of the daemon has two seconds in all")
	close(release)
	<-asked
}

func TestAnAddressThatIsTakenIsSaidWithAHint(t *testing.T) {
	first := newServer(t, nil)
	start(t, first)
	second := newServer(t, func(o *web.Options) { o.Listen = first.Addr() })
	err := second.Listen()
	assert.ErrorContains(t, err, first.Addr())
	assert.ErrorContains(t, err, "--listen")
}

func TestHealthAndReadinessSayWhyNot(t *testing.T) {
	s := newServer(t, func(o *web.Options) {
		o.Healthy = func() error { return errors.New("the journal cannot be written") }
		o.Ready = func() error { return errors.New("the broker is not connected") }
	})
	for path, want := range map[string]string{
		"/healthz": "the journal cannot be written\n",
		"/readyz":  "the broker is not connected\n",
	} {
		w := get(t, s, path)
		assert.Equal(t, http.StatusServiceUnavailable, w.Code, path)
		assert.Equal(t, want, w.Body.String(), path)
	}
	assert.Equal(t, http.StatusOK, get(t, newServer(t, nil), "/readyz").Code)
}

func TestMetricsAreServedAndLintClean(t *testing.T) {
	o := options()
	c, err := expose.NewCollector(expose.Options{Snapshot: snapshot, Alerts: alerts})
	require.NoError(t, err)
	require.NoError(t, o.Registry.Register(c))
	s, err := web.New(o)
	require.NoError(t, err)

	w := get(t, s, "/metrics")
	require.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, w.Body.String(), `wickd_bag_water_content_ratio{bag="a1",channel="a"} 0.51`)
	problems, err := promlint.New(bytes.NewReader(w.Body.Bytes())).Lint()
	require.NoError(t, err)
	assert.Empty(t, problems)
}

func TestACommandTalksToTheDaemon(t *testing.T) {
	var o operator
	base, _ := start(t, newServer(t, func(opt *web.Options) { opt.Operator = &o }))
	c := web.Client{Base: base + "/"}

	d, err := c.Snapshot(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "Kestrel Yard", d.Site)
	require.Len(t, d.Bags, 2)
	assert.InDelta(t, 0.51, *d.Bags[0].WaterContent.Value, 0)

	require.NoError(t, c.Acknowledge(t.Context(), occurrence, "Robin"))
	require.NoError(t, c.Shelve(t.Context(), occurrence, noon.Add(time.Hour)))
	assert.Equal(t, []string{"acknowledged by Robin", "shelved until 2026-05-12T13:00:00Z"}, o.heard())

	assert.ErrorContains(t, c.Acknowledge(t.Context(), "gone", "Robin"), "no open alert")
	_, err = web.Client{Base: "http://127.0.0.1:1"}.Snapshot(t.Context())
	assert.ErrorContains(t, err, "is wickd running")
}

// JSON knows no NaN: a figure that is not finite must not cost the whole answer.
func TestTheSnapshotSurvivesWhatJSONCannotSay(t *testing.T) {
	s := newServer(t, func(o *web.Options) {
		o.Snapshot = func() model.Snapshot {
			snap := snapshot()
			snap.Bags[0].WaterContent.Value = math.NaN()
			snap.Bags[0].SupplyAtLimit = math.Inf(1)
			return snap
		}
	})
	w := get(t, s, "/api/v1/snapshot")
	require.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, w.Body.String(), `"wick_supply_l_per_day": null`)
}

func TestTheSnapshotHasItsStableKeys(t *testing.T) {
	body := get(t, newServer(t, nil), "/api/v1/snapshot").Body.String()
	for _, key := range []string{
		"site", "version", "now", "time", "ready", "alerts", "bags", "channels", "reservoirs", "sensors", "daemon",
		"occurrence", "condition", "subject", "priority", "state", "since", "due", "until", "message", "headline",
		"bag", "water_content", "value", "sd", "age_s", "quality", "dry_limit", "wet_limit", "uptake_l",
		"uptake_l_per_day", "wick_supply_l_per_day", "wick_health", "dry_at", "dry",
		"level_mm", "volume_l", "draw_l_per_day", "unexplained_l_per_day", "empty_at", "p05", "p50", "p95",
		"ec_ms_per_cm", "ph", "temperature_c", "sensor", "last_good", "silent", "stuck", "implausible",
		"broker_lost_since", "forward_pending", "forward_behind_s", "clock_wrong", "journal_failing",
		"time_zone", "undelivered",
	} {
		assert.Contains(t, body, `"`+key+`":`)
	}
	empty := get(t, newServer(t, func(o *web.Options) {
		o.Alerts, o.Snapshot = nil, func() model.Snapshot { return model.Snapshot{} }
	}), "/api/v1/snapshot").Body.String()
	assert.Equal(t, 6, strings.Count(empty, "[]"), "a list is a list even when it is empty")
	assert.Contains(t, empty, `"time": null`)
}

func TestHandlersRunTogether(t *testing.T) {
	var o operator
	s := newServer(t, func(opt *web.Options) { opt.Operator = &o })
	var clients sync.WaitGroup
	for _, path := range []string{"/", "/metrics", "/api/v1/snapshot", "/readyz"} {
		clients.Go(func() {
			for range 20 {
				assert.Equal(t, http.StatusOK, get(t, s, path).Code)
			}
		})
	}
	clients.Go(func() {
		for range 20 {
			s.Handler().ServeHTTP(httptest.NewRecorder(), local("/api/v1/acknowledge", ackBody))
		}
	})
	clients.Wait()
	assert.Len(t, o.heard(), 20)
}
