package daemon_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/model"
)

// Whatever can be raised can be changed in the site file.
func TestEveryConditionCanBeChanged(t *testing.T) {
	t.Parallel()
	named := map[model.Condition]bool{}
	for _, c := range config.Conditions() {
		named[c] = true
	}
	for _, d := range alerts.Conditions() {
		assert.True(t, named[d.Condition], "%s is not in the site file's vocabulary", d.Condition)
		delete(named, d.Condition)
	}
	assert.Empty(t, named, "the site file takes changes of what nothing decides")
}

// A change of the solution's and the roots' conditions reaches the engine.
func TestChangesOfTheSolutionsConditionsAct(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded, `alerts:
  conditions:
    ec-drift: {enabled: false}
    salt-building: {priority: high, deadband: 0.5 mS/cm}
    roots-hot: {deadband: 2 K, on_delay: 3 h}
`)
	engine, err := alerts.New(alerts.Options{Site: c.Site, Overrides: daemon.Overrides(c.Alerts)})
	require.NoError(t, err)
	assert.True(t, engine.OutOfService(alerts.ECDrift))
	got := map[model.Condition]alerts.Definition{}
	for _, d := range engine.Conditions() {
		got[d.Condition] = d
	}
	assert.Equal(t, model.PriorityHigh, got[alerts.SaltBuilding].Priority)
	assert.InDelta(t, 0.5, got[alerts.SaltBuilding].Deadband, 1e-12)
	assert.Equal(t, 3*time.Hour, got[alerts.RootsHot].OnDelay)
	assert.InDelta(t, 2, got[alerts.RootsHot].Deadband, 1e-12)
}

func TestOverrides(t *testing.T) {
	t.Parallel()
	c := bench(t, embedded, `alerts:
  conditions:
    bag-dry: {on_delay: 20 min, off_delay: 1 h, priority: high}
    ec-off-target: {enabled: false}
    solution-warm: {deadband: 2 K}
`)
	got := daemon.Overrides(c.Alerts)
	dry := got["bag-dry"]
	if assert.NotNil(t, dry.OnDelay) && assert.NotNil(t, dry.OffDelay) {
		assert.Equal(t, 20*time.Minute, *dry.OnDelay)
		assert.Equal(t, time.Hour, *dry.OffDelay)
	}
	assert.Equal(t, model.PriorityHigh, dry.Priority)
	assert.False(t, dry.OutOfService)
	assert.True(t, got["ec-off-target"].OutOfService)
	if warm := got["solution-warm"]; assert.NotNil(t, warm.Deadband) {
		assert.InDelta(t, 2, *warm.Deadband, 1e-12)
	}
}
