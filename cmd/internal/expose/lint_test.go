package expose_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/prometheus/common/expfmt"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

// seriesOf lists the samples whose label has the value, as text.
func seriesOf(t *testing.T, g prometheus.Gatherer, label, value string) []string {
	t.Helper()
	var found []string
	for line := range strings.Lines(text(t, g)) {
		if strings.Contains(line, label+`="`+value+`"`) {
			found = append(found, strings.TrimSpace(line))
		}
	}
	return found
}

func text(t *testing.T, g prometheus.Gatherer) string {
	t.Helper()
	families, err := g.Gather()
	require.NoError(t, err)
	var out bytes.Buffer
	for _, f := range families {
		_, err := expfmt.MetricFamilyToText(&out, f)
		require.NoError(t, err)
	}
	return out.String()
}

// everything is a registry with all that wickd ever exposes, each vector with
// one series so that the linter sees it.
func everything(t *testing.T) *prometheus.Registry {
	t.Helper()
	s := snapshot()
	s.Bags[0].Cause = model.CauseWickClogging
	s.Bags[0].Salt = model.Salt{EC: measured(2.5, 0.5), Limit: 3, Above: 0.16, LimitAt: later(240 * time.Hour)}
	s.Bags[0].Temperature = measured(22, 0.2)
	s.Reservoirs[0].Cause = model.CauseLeak
	s.Reservoirs[0].ECCourse.Cause = model.CauseWaterOverFeed
	s.Reservoirs[0].LastRefill = noon
	r := registry(t, expose.Options{Snapshot: func() model.Snapshot { return s }, Alerts: alerts, Undelivered: undelivered})
	c, err := expose.NewCounters(r)
	require.NoError(t, err)
	c.MessagesRefused.WithLabelValues("not-a-number", "bag/a4/moisture").Inc()
	c.Readings.WithLabelValues("good").Inc()
	c.NotificationsSent.WithLabelValues("phone").Inc()
	c.NotificationsFailed.WithLabelValues("phone", "timeout").Inc()
	c.AnswersAccepted.WithLabelValues("page", "acknowledge").Inc()
	c.AnswersRefused.WithLabelValues("mqtt", "expired").Inc()
	c.AlertTransitions.WithLabelValues("bag-dry", "raised").Inc()
	require.NoError(t, expose.RegisterProgram(r, expose.Build{Version: "1.2.3", Revision: "abc"}))
	return r
}

func TestNamesFollowThePrometheusConventions(t *testing.T) {
	problems, err := testutil.GatherAndLint(everything(t))
	require.NoError(t, err)
	assert.Empty(t, problems)
}

// Every family has wickd's name, or is one of the two standard ones.
func TestEveryFamilyIsNamedAfterItsSource(t *testing.T) {
	families, err := everything(t).Gather()
	require.NoError(t, err)
	for _, f := range families {
		name := f.GetName()
		source, _, _ := strings.Cut(name, "_")
		assert.Contains(t, []string{"wickd", "go", "process"}, source, name)
		assert.NotEmpty(t, f.GetHelp(), name)
	}
}

func TestCountersAreRegisteredOnce(t *testing.T) {
	r := prometheus.NewPedanticRegistry()
	_, err := expose.NewCounters(r)
	require.NoError(t, err)
	_, err = expose.NewCounters(r)
	var taken prometheus.AlreadyRegisteredError
	assert.ErrorAs(t, err, &taken)
}

func TestACountIsExposed(t *testing.T) {
	r := prometheus.NewPedanticRegistry()
	c, err := expose.NewCounters(r)
	require.NoError(t, err)
	c.MessagesReceived.Add(3)
	c.JournalCommit.Observe(0.001)
	c.MessagesRefused.WithLabelValues("not-a-number", "bag/a4/moisture").Inc()

	out := text(t, r)
	assert.Contains(t, out, "wickd_messages_received_total 3\n")
	assert.Contains(t, out, "wickd_messages_accepted_total 0\n", "a count that has not begun is a zero, not an absence")
	assert.Contains(t, out, `wickd_messages_refused_total{reason="not-a-number",sensor="bag/a4/moisture"} 1`)
	assert.Contains(t, out, `wickd_journal_commit_duration_seconds_bucket{le="0.002"} 1`)
	assert.Contains(t, out, "wickd_journal_commit_duration_seconds_count 1\n")
}

func TestTheBuildIsNamed(t *testing.T) {
	out := text(t, everything(t))
	assert.Regexp(t, `wickd_build_info\{goversion="go1\.[^"]+",revision="abc",version="1\.2\.3"\} 1`, out)
	assert.Contains(t, out, "process_start_time_seconds ")
}
