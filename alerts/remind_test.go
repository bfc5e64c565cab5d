package alerts

import (
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
