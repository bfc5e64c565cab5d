package daemon_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"regexp"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest/rig"
)

// A dry bag reaches the people behind a real Alertmanager, with a link to its
// page, and so does that it has water again.
func TestADryBagReachesAnAlertmanager(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	heard := map[string]string{} // status: address of the page
	people := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var m struct {
			Status string
			Alerts []struct {
				Labels, Annotations map[string]string
				GeneratorURL        string
			}
		}
		if !assert.NoError(t, json.NewDecoder(r.Body).Decode(&m)) {
			return
		}
		mu.Lock()
		defer mu.Unlock()
		for _, a := range m.Alerts {
			if a.Labels["alertname"] == "bag-dry" && assert.Equal(t, "Trial bench", a.Labels["site"]) {
				heard[m.Status] = a.GeneratorURL
			}
		}
	}))
	t.Cleanup(people.Close)
	manager := rig.StartAlertmanager(t, people.URL)

	d := run(t, daemon.Options{Config: bench(t, embedded, `notify: {alertmanager: {url: "`+manager+`"}, page_url: "https://yard.example"}
alerts: {conditions: {bag-dry: {off_delay: 0 s}}}`)})
	s := connect(t, d.BrokerAddr())
	said := func(status string) func() bool {
		return func() bool {
			mu.Lock()
			defer mu.Unlock()
			_, ok := heard[status]
			return ok
		}
	}
	s.publish("bench/p1/moisture", "9.5")
	d.eventually(said("firing"), "nobody is told")
	mu.Lock()
	page := linked.FindStringSubmatch(heard["firing"])
	mu.Unlock()
	require.Len(t, page, 2)
	assert.Equal(t, http.StatusOK, get(t, d.Addr(), page[1]))
	// The manager has it before its answer is counted.
	sent := regexp.MustCompile(`wickd_notifications_sent_total\{channel="alertmanager"\} [1-9]`)
	d.eventually(func() bool { return sent.MatchString(scrape(t, d)) }, "it is not counted")
	d.eventually(func() bool {
		s.publish("bench/p1/moisture", "45")
		return said("resolved")()
	}, "nobody is told that it is over")
}
