package alertmanager_test

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/alerts/notify/alertmanager"
	"wickd/ingest/rig"
	"wickd/model"
)

const patience = 30 * time.Second

// told is what an Alertmanager tells a webhook (its documentation, "Webhook
// receiver").
type told struct {
	Status string
	Alerts []struct {
		Status              string
		Labels, Annotations map[string]string
		StartsAt, EndsAt    time.Time
		GeneratorURL        string
	}
}

// people are who the Alertmanager tells.
type people struct {
	server *httptest.Server
	mu     sync.Mutex
	heard  []told
}

func newPeople(t *testing.T) *people {
	p := &people{}
	p.server = httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var m told
		if assert.NoError(t, json.NewDecoder(r.Body).Decode(&m)) {
			p.mu.Lock()
			p.heard = append(p.heard, m)
			p.mu.Unlock()
		}
	}))
	t.Cleanup(p.server.Close)
	return p
}

func (p *people) all() []told {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]told(nil), p.heard...)
}

// standing is what stands, for a pusher.
type standing struct {
	mu  sync.Mutex
	all []alerts.State
}

func (s *standing) list() []alerts.State {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]alerts.State(nil), s.all...)
}

func (s *standing) set(all ...alerts.State) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all = all
}

func dry(bag string, raised time.Time) alerts.State {
	return alerts.State{
		Occurrence: "bag-dry|bag/" + bag + "|" + raised.Format(time.RFC3339), Condition: "bag-dry", Subject: model.BagSubject(bag),
		Status: alerts.Unacknowledged, Priority: model.PriorityUrgent, Raised: raised, Since: raised, Cause: "wick-lost-contact",
		Message: model.Message{Headline: "Bag " + bag + " is dry", Why: "Its wicks lost contact.", Action: "Press them down."},
	}
}

func timer(d time.Duration) (<-chan time.Time, func() bool) {
	t := time.NewTimer(d)
	return t.C, t.Stop
}

func push(t *testing.T, o alertmanager.Options) (p *alertmanager.Pusher, stop func()) {
	t.Helper()
	o.Site, o.Clock, o.Timer = "Kestrel Yard", time.Now, timer
	p, err := alertmanager.New(o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- p.Run(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		require.NoError(t, <-done)
	})
	t.Cleanup(stop)
	return p, stop
}

// An alert reaches the people behind a real Alertmanager with its words, stays
// up for as long as it is posted, however short its life, and ends when it is
// over; one that is acknowledged does not end.
func TestRealAlertmanager(t *testing.T) {
	people := newPeople(t)
	url := rig.StartAlertmanager(t, people.server.URL)
	raised := time.Now().Add(-time.Minute).UTC().Truncate(time.Millisecond)
	world := &standing{}
	world.set(dry("p1", raised), dry("p2", raised))
	const every = 300 * time.Millisecond
	p, _ := push(t, alertmanager.Options{
		URL: url + "/", Standing: world.list, Every: every,
		Page: func(s alerts.State, _ time.Time) string { return "https://yard.example/alert/" + string(s.Subject) },
	})
	require.Eventually(t, func() bool { return len(people.all()) >= 2 }, patience, 10*time.Millisecond, "nobody is told")
	for _, m := range people.all() {
		require.Len(t, m.Alerts, 1)
		a := m.Alerts[0]
		assert.Equal(t, "firing", a.Status)
		subject := a.Labels["subject"]
		assert.Equal(t, map[string]string{
			"alertname": "bag-dry", "site": "Kestrel Yard", "subject": subject, "severity": "urgent", "source": "wickd",
		}, a.Labels)
		assert.Equal(t, "Bag "+subject[len("bag/"):]+" is dry", a.Annotations["summary"])
		assert.Equal(t, "Press them down.", a.Annotations["action"])
		assert.True(t, a.StartsAt.Equal(raised), "%s is not %s", a.StartsAt, raised)
		assert.Equal(t, "https://yard.example/alert/"+subject, a.GeneratorURL)
	}

	seen := dry("p1", raised)
	seen.Status, seen.By = alerts.Acknowledged, "keeper"
	aside := dry("p2", raised)
	aside.Status = alerts.Shelved
	world.set(seen, aside)
	p.Poke()
	resolved := func(subject string) func() bool {
		return func() bool {
			for _, m := range people.all() {
				if m.Status == "resolved" && m.Alerts[0].Labels["subject"] == subject {
					return true
				}
			}
			return false
		}
	}
	require.Eventually(t, resolved("bag/p2"), patience, 10*time.Millisecond, "what is put aside goes on")
	time.Sleep(3 * lives * every) // longer than an alert lives that is not posted again
	assert.False(t, resolved("bag/p1")(), "it ended while it stood")
	assert.NoError(t, p.Moving(time.Now()))
	world.set()
	p.Poke()
	require.Eventually(t, resolved("bag/p1"), patience, 10*time.Millisecond, "it does not end")
}

// lives is how many posts an alert outlives (Prometheus: four times the delay).
const lives = 4

// What wickd no longer says ends by itself, after its last end.
func TestRealAlertmanagerWithoutWickd(t *testing.T) {
	people := newPeople(t)
	url := rig.StartAlertmanager(t, people.server.URL)
	world := &standing{}
	world.set(dry("p1", time.Now()))
	_, stop := push(t, alertmanager.Options{URL: url, Standing: world.list, Every: 100 * time.Millisecond})
	require.Eventually(t, func() bool { return len(people.all()) >= 1 }, patience, 10*time.Millisecond, "nobody is told")
	stop()
	require.Eventually(t, func() bool {
		all := people.all()
		return all[len(all)-1].Status == "resolved"
	}, patience, 10*time.Millisecond, "it does not end")
}
