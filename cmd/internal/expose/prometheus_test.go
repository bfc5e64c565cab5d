package expose_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/ingest/rig"
	"wickd/model"
)

const (
	dashboardFile = "../../../deploy/grafana/wickd.json"
	rulesFile     = "../../../deploy/prometheus/rules.yml"
)

// live is the fixture moved to now, because a real Prometheus has a real clock.
func live() model.Snapshot {
	s := snapshot()
	shift := time.Since(noon)
	move := func(t *time.Time) *time.Time {
		if t == nil {
			return nil
		}
		moved := t.Add(shift)
		return &moved
	}
	all := func(q model.Quantiles) model.Quantiles {
		return model.Quantiles{P05: move(q.P05), P50: move(q.P50), P95: move(q.P95)}
	}
	s.Time = s.Time.Add(shift)
	for i, b := range s.Bags {
		s.Bags[i].DryAt, s.Bags[i].Dry = move(b.DryAt), all(b.Dry)
		s.Bags[i].Salt = model.Salt{EC: measured(2.5, 0.5), Limit: 3, Above: 0.16}
		s.Bags[i].Temperature = measured(22, 0.2)
	}
	for i, r := range s.Reservoirs {
		q := all(*r.EmptyAt)
		s.Reservoirs[i].EmptyAt = &q
	}
	for i, h := range s.Sensors {
		if !h.LastGood.IsZero() {
			s.Sensors[i].LastGood, s.Sensors[i].LastMessage = h.LastGood.Add(shift), h.LastMessage.Add(shift)
		}
		// A count that grows, so that its rate is above zero.
		s.Sensors[i].Refused = map[model.Verdict]uint64{model.Jump: uint64(s.Time.Unix())}
	}
	return s
}

// exporter serves everything that wickd exposes, with every count growing.
func exporter(t *testing.T) *httptest.Server {
	t.Helper()
	r := prometheus.NewRegistry()
	c, err := expose.NewCollector(expose.Options{Snapshot: live, Alerts: alerts})
	require.NoError(t, err)
	require.NoError(t, r.Register(c))
	n, err := expose.NewCounters(r)
	require.NoError(t, err)
	require.NoError(t, expose.RegisterProgram(r, expose.Build{Version: "1.2.3", Revision: "abc"}))
	scrape := promhttp.HandlerFor(r, promhttp.HandlerOpts{Registry: r})
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		n.MessagesReceived.Inc()
		n.MessagesDuplicate.Inc()
		n.MessagesRefused.WithLabelValues("not-a-number", "bag/a4/moisture").Inc()
		n.JournalCommit.Observe(0.003)
		n.NotificationsSent.WithLabelValues("phone").Inc()
		n.NotificationsFailed.WithLabelValues("phone", "timeout").Inc()
		scrape.ServeHTTP(w, req)
	}))
	t.Cleanup(s.Close)
	return s
}

// startPrometheus runs the real server on a free port of loopback until the
// test ends, scraping target, and gives its address.
func startPrometheus(t *testing.T, target string) string {
	t.Helper()
	program := rig.Program(t, "prometheus")
	rules, err := filepath.Abs(rulesFile)
	require.NoError(t, err)
	dir := t.TempDir()
	config := filepath.Join(dir, "prometheus.yml")
	require.NoError(t, os.WriteFile(config, fmt.Appendf(nil, `
global: {scrape_interval: 250ms, scrape_timeout: 250ms, evaluation_interval: 250ms}
rule_files: [%q]
scrape_configs:
  - job_name: wickd
    static_configs: [{targets: [%q]}]
`, rules, target), 0o644))

	address := rig.FreeAddress(t)
	log, err := os.Create(filepath.Join(dir, "log"))
	require.NoError(t, err)
	command := exec.CommandContext(t.Context(), program, "--config.file="+config,
		"--storage.tsdb.path="+filepath.Join(dir, "data"), "--web.listen-address="+address)
	command.Stdout, command.Stderr = log, log
	command.WaitDelay = 5 * time.Second
	require.NoError(t, command.Start())
	ended := make(chan struct{})
	go func() { defer close(ended); _ = command.Wait() }()
	// The context ends before the clean-ups run, and ends the server with it.
	t.Cleanup(func() { <-ended; _ = log.Close() })

	base := "http://" + address
	require.Eventually(t, func() bool {
		answer, err := http.Get(base + "/-/ready")
		if err != nil {
			return false
		}
		_ = answer.Body.Close()
		return answer.StatusCode == http.StatusOK
	}, 30*time.Second, 100*time.Millisecond, "prometheus does not get ready: see %s", log.Name())
	return base
}

type queryAnswer struct {
	Status, Error string
	Data          struct{ Result []json.RawMessage }
}

func ask(base, expr string) (queryAnswer, error) {
	var a queryAnswer
	answer, err := http.Get(base + "/api/v1/query?query=" + url.QueryEscape(expr))
	if err != nil {
		return a, err
	}
	defer answer.Body.Close()
	return a, json.NewDecoder(answer.Body).Decode(&a)
}

// panelQueries are the dashboard's queries by the title of their panel, with
// what Grafana fills in filled in.
func panelQueries(t *testing.T) map[string]string {
	t.Helper()
	content, err := os.ReadFile(dashboardFile)
	require.NoError(t, err)
	var d struct {
		Panels []struct {
			Title   string
			Targets []struct{ RefID, Expr string }
		}
	}
	require.NoError(t, json.Unmarshal(content, &d))
	fill := strings.NewReplacer("$__rate_interval", "10s", "$bag", ".+", "$reservoir", ".+")
	queries := map[string]string{}
	for _, p := range d.Panels {
		for _, q := range p.Targets {
			queries[p.Title+" "+q.RefID] = fill.Replace(q.Expr)
		}
	}
	require.Greater(t, len(queries), 25)
	return queries
}

// Every query of the dashboard finds something in a real Prometheus that
// scrapes what wickd exposes, and the rules load and evaluate there.
func TestTheDashboardFindsItsDataInARealPrometheus(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a server")
	}
	base := startPrometheus(t, strings.TrimPrefix(exporter(t).URL, "http://"))
	for panel, expr := range panelQueries(t) {
		assert.NotContains(t, expr, "$", panel)
		assert.EventuallyWithT(t, func(c *assert.CollectT) {
			a, err := ask(base, expr)
			if assert.NoError(c, err) && assert.Equal(c, "success", a.Status, a.Error) {
				assert.NotEmpty(c, a.Data.Result, "no data")
			}
		}, 20*time.Second, 100*time.Millisecond, "%s: %s", panel, expr)
	}
	assert.EventuallyWithT(t, func(c *assert.CollectT) {
		a, err := ask(base, `ALERTS{alertname="WickdAlert",delivery="wickd",subject="bag/a1"}`)
		assert.NoError(c, err)
		assert.Len(c, a.Data.Result, 1)
	}, 20*time.Second, 100*time.Millisecond)
}

var metricName = regexp.MustCompile(`\bwickd_[a-z0-9_]+`)

// A metric that is renamed must be renamed in the rules and the dashboard too.
func TestRulesAndDashboardNameMetricsThatExist(t *testing.T) {
	exposed := text(t, everything(t))
	for _, file := range []string{rulesFile, dashboardFile, filepath.Join(filepath.Dir(rulesFile), "rules.test.yml")} {
		content, err := os.ReadFile(file)
		require.NoError(t, err)
		names := metricName.FindAllString(string(content), -1)
		assert.NotEmpty(t, names, file)
		for _, name := range names {
			family := strings.TrimSuffix(name, "_bucket")
			assert.Contains(t, exposed, "# TYPE "+family+" ", "%s names %s, which wickd does not expose", file, name)
		}
	}
}
