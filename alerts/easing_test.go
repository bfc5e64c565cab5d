package alerts

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// Between the watering and the end of the alert, what it says is what is so now:
// nobody is told to water a wet bag.
func TestAnAlertThatEasesSaysSo(t *testing.T) {
	e, err := New(Options{Site: kestrel(), Reminders: map[model.Priority]time.Duration{model.PriorityUrgent: time.Hour}})
	require.NoError(t, err)
	now := noon
	standing := func(minutes int, troubles ...trouble) State {
		for range minutes {
			now = now.Add(time.Minute)
			e.Step(now, with(now, troubles...))
		}
		for _, s := range e.Open() {
			if s.Condition == BagDry && s.Subject == "bag/a1" {
				return s
			}
		}
		t.Fatal("no alert")
		return State{}
	}
	dry := standing(10, water(0, 0.2))
	assert.Contains(t, dry.Message.Headline, "Bag a1 is dry: 20 % water")
	assert.Contains(t, dry.Message.Action, "Water it by hand now")
	wet := standing(5)
	assert.Equal(t, "Bag a1 has water again: 45 % by volume", wet.Message.Headline)
	assert.Contains(t, wet.Message.Why, "It was: Bag a1 is dry: 20 % water")
	assert.Contains(t, wet.Message.Why, "this is over at Tue 12:")
	assert.Empty(t, wet.Message.Action)
	assert.Nil(t, wet.Due)
	assert.Empty(t, e.Remind(now.Add(24*time.Hour)), "nobody is called of what is about to end")
	later := standing(10)
	assert.Equal(t, wet.Message.Why, later.Message.Why, "the end comes no nearer and no farther")
	again := standing(1, water(0, 0.2))
	assert.Equal(t, dry.Message.Headline, again.Message.Headline)
	assert.Equal(t, dry.Message.Action, again.Message.Action)
	assert.Len(t, e.Remind(now.Add(24*time.Hour)), 1)
}

// What nobody was told, as a cause above explained it, is not told when the cause
// goes while it is about to end; only when it holds again.
func TestWhatEasesIsNotToldAnew(t *testing.T) {
	e, err := New(Options{Site: kestrel()})
	require.NoError(t, err)
	d := e.byName[BagDry]
	r := &record{Condition: BagDry, Subject: "bag/a1", Active: true, SuppressedBy: ChannelDry, Returning: noon}
	assert.Empty(t, e.cover(noon, d, r))
	assert.Equal(t, ChannelDry, r.SuppressedBy)
	r.Returning = time.Time{}
	raised := e.cover(noon, d, r)
	require.Len(t, raised, 1)
	assert.Equal(t, model.Raised, raised[0].Kind)
	assert.Empty(t, e.cover(noon, d, r), "once")
}
