package daemon_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The checks of a scrape say what is missing and not the whole scrape, which is
// hundreds of lines long; of those only the ones about the same metric.

func scrape(t testing.TB, d *running) string {
	t.Helper()
	_, body := fetch(t, d.Addr(), "/metrics")
	return body
}

func about(metrics, sample string) string {
	name, _, _ := strings.Cut(strings.TrimSpace(strings.ReplaceAll(sample, `\`, "")), "{")
	name, _, _ = strings.Cut(name, " ")
	var some []string
	for _, line := range strings.Split(metrics, "\n") {
		if strings.HasPrefix(line, name) {
			some = append(some, line)
		}
	}
	return strings.Join(some, "\n")
}

func has(t testing.TB, metrics, sample string) {
	t.Helper()
	assert.True(t, strings.Contains(metrics, sample), "no %s among\n%s", sample, about(metrics, sample))
}

func hasNot(t testing.TB, metrics, sample string) {
	t.Helper()
	assert.False(t, strings.Contains(metrics, sample), "%s among\n%s", sample, about(metrics, sample))
}

func matches(t testing.TB, metrics, pattern string) {
	t.Helper()
	assert.True(t, regexp.MustCompile(pattern).MatchString(metrics), "no %s among\n%s", pattern, about(metrics, pattern))
}

func matchesNot(t testing.TB, metrics, pattern string) {
	t.Helper()
	assert.False(t, regexp.MustCompile(pattern).MatchString(metrics), "%s among\n%s", pattern, about(metrics, pattern))
}
