package alerts

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func TestRemind(t *testing.T) {
	e, err := New(Options{Site: kestrel(), Reminders: map[model.Priority]time.Duration{model.PriorityUrgent: 30 * time.Minute}})
	require.NoError(t, err)
	now := noon
	step := func() []model.Transition {
		now = now.Add(10 * time.Minute)
		e.Step(now, with(now, water(0, 0.2)))
		return e.Remind(now)
	}
	for range 3 {
		require.Empty(t, step(), "not before its time")
	}
	again := step()
	require.Len(t, again, 1)
	assert.Equal(t, model.Reminder, again[0].Kind)
	assert.Contains(t, again[0].Message.Headline, "Still: Bag a1 is dry")
	for range 2 {
		require.Empty(t, step(), "the time runs from the last telling")
	}
	require.Len(t, step(), 1)

	_, err = e.Acknowledge(now, again[0].Occurrence, "x")
	require.NoError(t, err)
	for range 12 {
		require.Empty(t, step(), "acknowledged: no more")
	}
}

func TestRemindersSurviveARestart(t *testing.T) {
	o := Options{Site: kestrel(), Reminders: map[model.Priority]time.Duration{model.PriorityUrgent: time.Hour}}
	e, err := New(o)
	require.NoError(t, err)
	e.Step(noon, with(noon, water(0, 0.2)))
	require.Len(t, e.Remind(noon.Add(time.Hour)), 1)
	state, err := e.MarshalState()
	require.NoError(t, err)
	back, err := New(o)
	require.NoError(t, err)
	require.NoError(t, back.RestoreState(state))
	assert.Empty(t, back.Remind(noon.Add(90*time.Minute)), "told half an hour ago")
	assert.Len(t, back.Remind(noon.Add(2*time.Hour)), 1)
}

// What was quiet at first is no old news when it is told at last.
func TestNothingIsRemindedOfWhenItIsToldAtLast(t *testing.T) {
	hourly := map[model.Priority]time.Duration{model.PriorityUrgent: time.Hour}
	tests := map[string]struct {
		quiet func(e *Engine) []trouble
		told  model.Change
	}{
		"under its cause": {func(*Engine) []trouble { return []trouble{channelIsDry(0)} }, model.Raised},
		"put aside": {func(e *Engine) []trouble {
			_, err := e.Shelve(noon, "bag/a1", noon.Add(14*time.Hour))
			require.NoError(t, err)
			return nil
		}, model.Unshelved},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			e, err := New(Options{Site: kestrel(), Reminders: hourly})
			require.NoError(t, err)
			quiet := test.quiet(e)
			now, dry := noon, water(0, 0.2)
			of := func(list []model.Transition) (kinds []model.Change) {
				for _, c := range list {
					if c.Subject == "bag/a1" && c.Condition == BagDry && !c.Suppressed {
						kinds = append(kinds, c.Kind)
					}
				}
				return kinds
			}
			var told, again []model.Change
			step := func(troubles ...trouble) {
				now = now.Add(10 * time.Minute)
				told = append(told, of(e.Step(now, with(now, troubles...)))...)
				again = append(again, of(e.Remind(now))...)
			}
			for range 78 { // 13 h
				step(append(quiet, dry)...)
			}
			for !slices.Contains(told, test.told) && now.Before(noon.Add(30*time.Hour)) {
				step(dry)
			}
			require.Contains(t, told, test.told)
			assert.Empty(t, again, "it was told this minute")
			for range 6 {
				step(dry)
			}
			assert.Equal(t, []model.Change{model.Reminder}, again)
		})
	}
}
