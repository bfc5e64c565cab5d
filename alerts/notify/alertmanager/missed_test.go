package alertmanager_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/alerts/notify/alertmanager"
	"wickd/ingest/rig"
)

// gate is the way to a real server, which can be shut.
type gate struct {
	*httptest.Server
	open  atomic.Bool
	tries atomic.Int64
}

func newGate(t *testing.T, server string) *gate {
	to, err := url.Parse(server)
	require.NoError(t, err)
	way := httputil.NewSingleHostReverseProxy(to)
	g := &gate{}
	g.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		g.tries.Add(1)
		if !g.open.Load() {
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		way.ServeHTTP(w, r)
	}))
	t.Cleanup(g.Close)
	return g
}

// tried waits until some more posts have been made.
func (g *gate) tried(t *testing.T) {
	t.Helper()
	from := g.tries.Load()
	require.Eventually(t, func() bool { return g.tries.Load() >= from+2 }, patience, 5*time.Millisecond, "nothing is posted")
}

// shelf is a memory that outlives a pusher.
type shelf struct {
	mu   sync.Mutex
	data []byte
}

func (s *shelf) Recall(context.Context) ([]byte, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.data, nil
}

func (s *shelf) Remember(_ context.Context, data []byte) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.data = append([]byte(nil), data...)
	return nil
}

func as(s alerts.State, status alerts.Status) alerts.State {
	s.Status, s.Holding = status, status != alerts.ReturnedUnacknowledged
	return s
}

// What began and ended while the server was down is told when it is back, as a
// low alert that says so, once, also when wickd was restarted meanwhile. What
// somebody had put aside is not, nor what the server had heard before.
func TestRealAlertmanagerMissesNothing(t *testing.T) {
	people := newPeople(t)
	server := rig.StartAlertmanager(t, people.server.URL)
	way := newGate(t, server)
	way.open.Store(true)
	raised := time.Date(2026, 6, 1, 12, 5, 0, 0, time.UTC)
	states := map[string]alerts.State{}
	for _, id := range []string{"heard", "missed", "aside", "quick", "seen"} {
		states[id] = as(dry(id, raised), alerts.Unacknowledged)
	}
	world, memory := &standing{}, &shelf{}
	o := alertmanager.Options{
		URL: way.URL, Standing: world.list, Every: 50 * time.Millisecond, Memory: memory, Zone: time.FixedZone("there", 2*3600),
	}
	p, stop := push(t, o)
	world.set(states["heard"])
	require.Eventually(t, func() bool { return len(people.all()) >= 1 }, patience, 5*time.Millisecond, "nobody is told")
	way.tried(t)

	way.open.Store(false)
	world.set(states["heard"], states["missed"], states["aside"], states["seen"])
	way.tried(t)
	_, waiting, why := p.Failing()
	assert.Equal(t, 4, waiting)
	assert.ErrorContains(t, why, "503")
	world.set(as(states["heard"], alerts.ReturnedUnacknowledged), as(states["missed"], alerts.ReturnedUnacknowledged),
		as(states["aside"], alerts.Shelved), as(states["quick"], alerts.ReturnedUnacknowledged)) // seen was acknowledged, and is over
	way.tried(t)
	stop()
	p, _ = push(t, o) // wickd is restarted
	world.set(as(states["missed"], alerts.ReturnedUnacknowledged), as(states["quick"], alerts.ReturnedUnacknowledged), as(states["aside"], alerts.ReturnedUnacknowledged))
	way.tried(t)
	way.open.Store(true)

	over := func() (about []string) {
		for _, m := range people.all() {
			for _, a := range m.Alerts {
				if a.Status != "firing" || a.Labels["over"] == "" {
					continue
				}
				about = append(about, a.Labels["subject"])
				assert.Equal(t, "low", a.Labels["severity"])
				assert.Equal(t, "bag-dry", a.Labels["alertname"])
				assert.Equal(t, fmt.Sprintf("It is over: Bag %s is dry", strings.TrimPrefix(a.Labels["subject"], "bag/")), a.Annotations["summary"])
				assert.Contains(t, a.Annotations["description"], "It began on Mon 1 Jun 14:05 and was over by ")
				assert.Empty(t, a.Annotations["action"], "there is nothing left to do")
			}
		}
		return about
	}
	require.Eventually(t, func() bool { return len(over()) >= 3 }, patience, 5*time.Millisecond, "what came and went is not told")
	time.Sleep(20 * o.Every) // further rounds
	assert.ElementsMatch(t, []string{"bag/missed", "bag/quick", "bag/seen"}, over())
	_, _, why = p.Failing()
	assert.NoError(t, why)
}

// The reason for all this: a real Alertmanager tells nobody of an alert whose
// end has passed when it first hears of it.
func TestRealAlertmanagerDropsWhatIsOver(t *testing.T) {
	people := newPeople(t)
	server := rig.StartAlertmanager(t, people.server.URL)
	post := func(name string, end time.Time) {
		body := fmt.Sprintf(`[{"labels":{"alertname":%q},"startsAt":"2026-06-01T12:00:00Z","endsAt":%q}]`, name, end.UTC().Format(time.RFC3339))
		answer, err := http.Post(server+"/api/v2/alerts", "application/json", strings.NewReader(body))
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		require.Equal(t, http.StatusOK, answer.StatusCode)
	}
	post("over", time.Now().Add(-time.Minute))
	post("stands", time.Now().Add(time.Minute))
	require.Eventually(t, func() bool { return len(people.all()) >= 1 }, patience, 5*time.Millisecond)
	time.Sleep(time.Second)
	for _, m := range people.all() {
		assert.Equal(t, "stands", m.Alerts[0].Labels["alertname"])
	}
}
