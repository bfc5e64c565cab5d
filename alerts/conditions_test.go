package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func TestEveryConditionHasARationale(t *testing.T) {
	for _, d := range Conditions() {
		assert.NoError(t, d.validate(), d.Condition)
	}
}

// Nobody picks a priority: it follows from the consequence and the time there
// is to answer (IEC 62682).
func TestPrioritiesFollowFromTheRationale(t *testing.T) {
	for _, d := range Conditions() {
		assert.Equal(t, Prioritise(d.Rationale), d.Priority, d.Condition)
	}
	assert.Empty(t, Prioritise(Rationale{Severity: "bad", Respond: time.Hour}))
}

// A worse consequence or less time never lowers a priority.
func TestPrioritiesAreOrdered(t *testing.T) {
	severities := []Severity{Slight, Moderate, Severe, Grave}
	hours := []time.Duration{time.Hour, 3 * time.Hour, 4 * time.Hour, 12 * time.Hour, 24 * time.Hour, 48 * time.Hour, 100 * time.Hour}
	for i, s := range severities {
		for j, h := range hours {
			p := Prioritise(Rationale{Severity: s, Respond: h})
			require.NotZero(t, rank(p))
			if i > 0 {
				assert.GreaterOrEqual(t, rank(p), rank(Prioritise(Rationale{Severity: severities[i-1], Respond: h})))
			}
			if j > 0 {
				assert.LessOrEqual(t, rank(p), rank(Prioritise(Rationale{Severity: s, Respond: hours[j-1]})))
			}
		}
	}
}

func TestAnIncompleteConditionDoesNotConstruct(t *testing.T) {
	whole := Conditions()[0]
	tests := map[string]func(d *Definition){
		"no name":             func(d *Definition) { d.Condition = "" },
		"no such priority":    func(d *Definition) { d.Priority = "shrill" },
		"a priority picked":   func(d *Definition) { d.Priority = model.PriorityLow },
		"no cause":            func(d *Definition) { d.Rationale.Cause = "" },
		"no consequence":      func(d *Definition) { d.Rationale.Consequence = "" },
		"no action":           func(d *Definition) { d.Rationale.Action = "" },
		"no time to respond":  func(d *Definition) { d.Rationale.Respond = 0 },
		"no severity":         func(d *Definition) { d.Rationale.Severity = "" },
		"no reason":           func(d *Definition) { d.Reason = "" },
		"negative on-delay":   func(d *Definition) { d.OnDelay = -1 },
		"negative off-delay":  func(d *Definition) { d.OffDelay = -1 },
		"negative deadband":   func(d *Definition) { d.Deadband = -1 },
		"nothing to judge it": func(d *Definition) { d.judge = nil },
	}
	for name, spoil := range tests {
		t.Run(name, func(t *testing.T) {
			d := whole
			spoil(&d)
			e := emptyEngine()
			assert.ErrorIs(t, e.define([]Definition{d}, nil), ErrDefinition)
		})
	}
	t.Run("twice", func(t *testing.T) {
		assert.ErrorIs(t, emptyEngine().define([]Definition{whole, whole}, nil), ErrDefinition)
	})
	t.Run("effect before its cause", func(t *testing.T) {
		table := Conditions()
		table[0], table[len(table)-2] = table[len(table)-2], table[0] // bag-drying first
		assert.ErrorIs(t, emptyEngine().define(table, nil), ErrDefinition)
	})
}

func emptyEngine() *Engine {
	return &Engine{byName: map[model.Condition]*Definition{}, idle: map[model.Condition]bool{}, covers: covers()}
}

func TestOptionsAreChecked(t *testing.T) {
	minute := -time.Minute
	tests := map[string]struct {
		options Options
		want    error
	}{
		"no site":           {Options{}, ErrOptions},
		"no time zone":      {Options{Site: &model.Site{}}, ErrOptions},
		"negative horizon":  {Options{Site: kestrel(), Horizon: -1}, ErrOptions},
		"unknown condition": {Options{Site: kestrel(), Overrides: map[model.Condition]Override{"bag-cold": {}}}, ErrOptions},
		"bad priority":      {Options{Site: kestrel(), Overrides: map[model.Condition]Override{BagDry: {Priority: "loud"}}}, ErrDefinition},
		"bad delay":         {Options{Site: kestrel(), Overrides: map[model.Condition]Override{BagDry: {OnDelay: &minute}}}, ErrDefinition},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := New(test.options)
			assert.ErrorIs(t, err, test.want)
		})
	}
}

func TestOverridesReplaceTheDefaults(t *testing.T) {
	hour := time.Hour
	r := newRun(t, map[model.Condition]Override{BagDry: {Priority: model.PriorityLow, OnDelay: &hour}})
	assert.Empty(t, r.last(time.Hour, water(0, 0.2)))
	changes := r.last(2*time.Minute, water(0, 0.2))
	require.Equal(t, []string{"raised bag-dry bag/a1"}, brief(changes))
	assert.Equal(t, model.PriorityLow, changes[0].Priority)
}

func TestPlural(t *testing.T) {
	assert.Equal(t, "40 sensors are silent", Plural(SensorSilent, 40))
	assert.Equal(t, "3 bags are dry", Plural(BagDry, 3))
	assert.Equal(t, "2 alerts of kind bag-cold", Plural("bag-cold", 2))
}
