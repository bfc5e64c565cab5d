package daemon_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/cmd/internal/web"
	"wickd/ingest"
	"wickd/ingest/mqtt"
)

// pushes is a push server: it takes a message by POST, with everything beside
// the text in headers.
type pushes struct {
	server *httptest.Server
	mu     sync.Mutex
	heads  []http.Header
}

func newPushes(t testing.TB) *pushes {
	p := &pushes{}
	p.server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		p.mu.Lock()
		p.heads = append(p.heads, r.Header)
		p.mu.Unlock()
		_, _ = io.WriteString(w, "{}")
	}))
	t.Cleanup(p.server.Close)
	return p
}

func (p *pushes) url() string {
	return "ntfy://" + strings.TrimPrefix(p.server.URL, "http://") + "/yard?scheme=http"
}

// action is a button of a push message.
type action struct {
	Label, URL, Method, Body string
	Headers                  map[string]string
}

// button is that of the first message about something; nil: none came yet.
func (p *pushes) button(t testing.TB, about string) *action {
	t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, h := range p.heads {
		if !strings.Contains(h.Get("Title"), about) {
			continue
		}
		var all []action
		require.NoError(t, json.Unmarshal([]byte(h.Get("Actions")), &all), "%v", h)
		require.Len(t, all, 1)
		return &all[0]
	}
	return nil
}

// touch does what a phone does when the button is touched.
func (a action) touch(t testing.TB, address string) int {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), a.Method, address, strings.NewReader(a.Body))
	require.NoError(t, err)
	for name, value := range a.Headers {
		r.Header.Set(name, value)
	}
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	answer, err := client.Do(r)
	require.NoError(t, err)
	_ = answer.Body.Close()
	return answer.StatusCode
}

// replies are what comes of answers, to whoever subscribes to it.
type replies struct {
	t    testing.TB
	said chan map[string]string
}

// Submit implements mqtt.Intake.
func (r replies) Submit(_ context.Context, m ingest.Message, ack func()) error {
	var said map[string]string
	if assert.NoError(r.t, json.Unmarshal(m.Payload, &said), "%s", m.Payload) && assert.False(r.t, m.Retained) {
		r.said <- said
	}
	ack()
	return nil
}

func listen(t testing.TB, broker string) <-chan map[string]string {
	t.Helper()
	r := replies{t, make(chan map[string]string, 100)}
	c, err := mqtt.New(mqtt.Options{
		URL: "tcp://" + broker, ClientID: "hall", Topics: []string{"yard/answers/reply"}, Intake: r,
	})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	require.Eventually(t, c.Connected, patience, pollIt, "cannot subscribe")
	return r.said
}

func next(t testing.TB, from <-chan map[string]string) map[string]string {
	t.Helper()
	select {
	case r := <-from:
		return r
	case <-time.After(patience):
		require.FailNow(t, "no reply")
		return nil
	}
}

// acknowledgedBy is who has answered the alert about a subject.
func acknowledgedBy(t testing.TB, addr, condition, subject string) (by, occurrence string) {
	t.Helper()
	doc, err := web.Client{Base: "http://" + addr}.Snapshot(t.Context())
	require.NoError(t, err)
	for _, a := range doc.Alerts {
		if string(a.Condition) == condition && string(a.Subject) == subject {
			return a.By, a.Occurrence
		}
	}
	return "", ""
}

// The whole way without any port that is open to the outside: a push message
// with a button, whose request goes to a relay, which publishes it to a broker,
// from which wickd takes it and says what came of it.
func TestAnAnswerByMQTT(t *testing.T) {
	t.Parallel()
	for name, broker := range brokers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			section, address := broker(t)
			section = strings.TrimSuffix(section, "}") + ", ack: {topic: yard/answers}}"
			push := newPushes(t)
			var s *sensors
			relay := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
				body, err := io.ReadAll(r.Body)
				assert.NoError(t, err)
				assert.Equal(t, "application/json", r.Header.Get("Content-Type"))
				s.publish("yard/answers", string(body))
			}))
			t.Cleanup(relay.Close)
			data := t.TempDir()
			d := run(t, daemon.Options{Data: data, Config: bench(t, section, `notify:
  relay: {url_file: `+secret(t, relay.URL+"/in")+`}
  recipients: {keeper: {url_file: `+secret(t, push.url())+`}}
`)})
			d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "not ready")
			if address == "" {
				address = d.BrokerAddr()
			}
			got := listen(t, address)
			s = connect(t, address)
			s.publish("bench/p1/moisture", "9.5")
			var b *action
			d.eventually(func() bool { b = push.button(t, "Bag p1 is dry"); return b != nil }, "no push message")
			by, occurrence := acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
			assert.Empty(t, by)

			publish := func(payload string) map[string]string {
				s.publish("yard/answers", payload)
				return next(t, got)
			}
			refused := map[string]string{ // payload: what the reply says
				`{"occurrence":"` + occurrence + `"}`:           "no token",
				`{"occurrence":"` + occurrence + `","by":"me"}`: "no token",
				`acknowledge`: "payload",
				`null`:        "payload",
				strings.Replace(b.Body, "bag/p1", "bag/p2", 1):        "another alert",
				strings.Replace(b.Body, `"token":"`, `"token":"x`, 1): "not from this wickd",
				b.Body + b.Body: "payload",
				b.Body + "}":    "payload",
				strings.Replace(b.Body, `"token"`, `"signature"`, 1):     "payload",
				`{"occurrence":"` + strings.Repeat("x", 300) + `"}`:      "too long",
				`{"occurrence":"x","token":"` + secretOf(t, b) + `..."}`: "not from this wickd",
			}
			for payload, why := range refused {
				r := publish(payload)
				assert.Equal(t, "refused", r["outcome"], payload)
				assert.Contains(t, r["why"], why, payload)
			}
			by, _ = acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
			require.Empty(t, by, "nothing of that may acknowledge")

			assert.Equal(t, http.StatusOK, b.touch(t, b.URL))
			assert.Equal(t, map[string]string{"outcome": "acknowledged", "occurrence": occurrence, "by": "keeper"}, next(t, got))
			by, _ = acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
			assert.Equal(t, "keeper", by)
			assert.Equal(t, map[string]string{"outcome": "already", "occurrence": occurrence, "by": "keeper"}, publish(b.Body), "again, it changes nothing")

			metrics := scrape(t, d)
			has(t, metrics, "wickd_messages_accepted_total 1\n") // an answer is no reading
			has(t, metrics, `wickd_alert_answers_accepted_total{action="acknowledge",way="mqtt"} 1`+"\n")
			for reason, n := range map[string]int{"unsigned": 2, "malformed": 6, "wrong-token": 1, "forged": 2, "already": 1} {
				has(t, metrics, fmt.Sprintf(`wickd_alert_answers_refused_total{reason=%q,way="mqtt"} %d`+"\n", reason, n))
			}
			assert.NotContains(t, string(exported(t, data)), "yard/answers")
			assert.NotContains(t, d.log.String(), secretOf(t, b), "a signature is a secret")
			assert.NotContains(t, d.log.String(), relay.URL, "so is the relay's address")
		})
	}
}

func secretOf(t testing.TB, b *action) string {
	t.Helper()
	var body struct{ Token string }
	require.NoError(t, json.Unmarshal([]byte(b.Body), &body))
	require.NotEmpty(t, body.Token)
	return body.Token
}

// A broker that keeps an answer would give it again at each connection, so what
// is retained is not taken: the alert of today is not that of last week.
func TestARetainedAnswerIsNotTaken(t *testing.T) {
	t.Parallel()
	m := startMosquitto(t)
	got := listen(t, m.Address)
	s := connect(t, m.Address)
	s.retain("yard/answers", `{"occurrence":"bag-dry|bag/p1|2026-05-12T10:00:00Z"}`, true)
	c := bench(t, strings.TrimSuffix(through(m), "}")+", ack: {topic: yard/answers, trusted: true}}")
	d := run(t, daemon.Options{Config: c})
	assert.Contains(t, next(t, got)["why"], "retain")

	// Where the broker is trusted, the name of the alert is enough.
	s.publish("bench/p1/moisture", "9.5")
	var occurrence string
	d.eventually(func() bool {
		_, occurrence = acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
		return occurrence != ""
	}, "p1 is not dry")
	s.publish("yard/answers", `{"occurrence":"bag-dry|bag/p9|never","by":"caretaker"}`)
	assert.Equal(t, "over", next(t, got)["outcome"])
	s.publish("yard/answers", `{"occurrence":"`+occurrence+`","by":"caretaker"}`)
	assert.Equal(t, "acknowledged", next(t, got)["outcome"])
	by, _ := acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
	assert.Equal(t, "caretaker", by)
}

// Without a relay the button goes to the alert's page, for whoever can reach it.
func TestAButtonAnswersOnThePage(t *testing.T) {
	t.Parallel()
	push := newPushes(t)
	d := run(t, daemon.Options{Config: bench(t, embedded, `notify: {page_url: "https://yard.example", recipients: {keeper: {url_file: `+secret(t, push.url())+`}}}`)})
	connect(t, d.BrokerAddr()).publish("bench/p1/moisture", "9.5")
	var b *action
	d.eventually(func() bool { b = push.button(t, "Bag p1 is dry"); return b != nil }, "no push message")
	path, ours := strings.CutPrefix(b.URL, "https://yard.example")
	require.True(t, ours)
	assert.Equal(t, http.StatusOK, b.touch(t, "http://"+d.Addr()+path))
	by, _ := acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
	assert.Equal(t, "keeper", by)
	assert.Equal(t, http.StatusOK, b.touch(t, "http://"+d.Addr()+path), "again, it changes nothing")
	assert.Equal(t, http.StatusOK, get(t, d.Addr(), path))
	assert.Equal(t, http.StatusForbidden, get(t, d.Addr(), path[:len(path)-1]))
	c := web.Client{Base: "http://" + d.Addr()}
	assert.ErrorIs(t, c.Unshelve(t.Context(), "bag/p1"), web.ErrNotAside)
	assert.ErrorIs(t, c.Acknowledge(t.Context(), "nothing", "me"), web.ErrNoAlert)
	require.NoError(t, c.Shelve(t.Context(), "bag/p1", time.Now().Add(time.Hour)))
	require.NoError(t, c.Shelve(t.Context(), "bag/p3", time.Now().Add(time.Hour)))
	doc, err := c.Snapshot(t.Context())
	require.NoError(t, err)
	require.Len(t, doc.Notes, 2, "a bag on which nothing is raised looks healthy")
	assert.Contains(t, doc.Notes[1], "Nothing is told of bag/p3 until ")
	require.NoError(t, c.Unshelve(t.Context(), "bag/p3"))
	metrics := scrape(t, d)
	for _, sample := range []string{
		`accepted_total{action="acknowledge",way="page"} 1`, `refused_total{reason="already",way="page"} 1`,
		`accepted_total{action="open",way="link"} 1`, `refused_total{reason="forged",way="link"} 1`,
		`refused_total{reason="not-aside",way="command"} 1`, `refused_total{reason="over",way="command"} 1`,
		`accepted_total{action="shelve",way="command"} 2`,
	} {
		has(t, metrics, "wickd_alert_answers_"+sample+"\n")
	}
}

// What somebody answers while wickd is down the broker keeps, and it counts.
func TestAnAnswerWhileWickdIsDown(t *testing.T) {
	t.Parallel()
	m := startMosquitto(t)
	c := bench(t, strings.TrimSuffix(through(m), "}")+", ack: {topic: yard/answers, trusted: true}}")
	data := t.TempDir()
	d := run(t, daemon.Options{Config: c, Data: data})
	s := connect(t, m.Address)
	got := listen(t, m.Address)
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "not ready")
	s.publish("bench/p1/moisture", "9.5")
	var occurrence string
	d.eventually(func() bool {
		_, occurrence = acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
		return occurrence != ""
	}, "p1 is not dry")
	require.NoError(t, d.end())
	s.publish("yard/answers", `{"occurrence":"`+occurrence+`","by":"caretaker"}`)
	d = run(t, daemon.Options{Config: c, Data: data})
	assert.Equal(t, "acknowledged", next(t, got)["outcome"])
	by, _ := acknowledgedBy(t, d.Addr(), "bag-dry", "bag/p1")
	assert.Equal(t, "caretaker", by)
}
