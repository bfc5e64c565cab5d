package deploy_test

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestPrometheusTakesTheConfiguration(t *testing.T) {
	promtool := tool(t, "promtool", "prometheus")
	run(t, "prometheus", promtool, "check", "config", "prometheus.yml")
	run(t, "prometheus", promtool, "check", "rules", "rules.yml")
}

func TestTheRulesFireWhenTheyShould(t *testing.T) {
	promtool := tool(t, "promtool", "prometheus")
	run(t, "prometheus", promtool, "test", "rules", "rules.test.yml")
}

var alertRule = regexp.MustCompile(`- alert: (\w+)`)

func TestEveryRuleIsTestedToFire(t *testing.T) {
	rules := alertRule.FindAllStringSubmatch(read(t, "prometheus/rules.yml"), -1)
	assert.NotEmpty(t, rules)
	tests := read(t, "prometheus/rules.test.yml")
	for _, r := range rules {
		fires := regexp.MustCompile(`alertname: ` + r[1] + `\n\s+exp_alerts:\n\s+- exp_labels`)
		assert.Regexp(t, fires, tests, "no test in which %s fires", r[1])
	}
}

// Every rule says whether Prometheus is to deliver it, so that nobody is told
// the same twice.
func TestEveryRuleHasOneRoute(t *testing.T) {
	rules := read(t, "prometheus/rules.yml")
	alerts := len(alertRule.FindAllString(rules, -1))
	routes := len(regexp.MustCompile(`labels: \{severity: \w+, delivery: (prometheus|wickd)\}`).FindAllString(rules, -1))
	assert.Equal(t, alerts, routes)
}
