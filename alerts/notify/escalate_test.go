package notify

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/alerts"
	"wickd/model"
)

func later(id string, after time.Duration) Recipient {
	r := person(id)
	r.EscalateAfter = after
	return r
}

// The first person at once, the next when their time has come, and "cleared" to
// those only who were told before.
func TestPlanFollowsTheEscalation(t *testing.T) {
	recipients := []Recipient{person("first"), later("second", 20*time.Minute), later("third", time.Hour)}
	tests := map[string]struct {
		kind  model.Change
		reach time.Duration
		want  []string
	}{
		"raised":                   {model.Raised, 0, []string{"first"}},
		"the second's turn":        {alerts.Escalated, 20 * time.Minute, []string{"second"}},
		"the third's turn":         {alerts.Escalated, time.Hour, []string{"third"}},
		"cleared before any turn":  {model.Cleared, 0, []string{"first"}},
		"cleared after the second": {model.Cleared, 20 * time.Minute, []string{"first", "second"}},
		"cleared after the third":  {model.Cleared, time.Hour, []string{"first", "second", "third"}},
		"reminded":                 {model.Reminder, 20 * time.Minute, []string{"first", "second"}},
		"taken up again":           {model.Unshelved, 0, []string{"first"}},
		"acknowledged":             {model.Acknowledged, time.Hour, nil},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			tr := transition(test.kind, "bag-dry", "bag/a1", model.PriorityUrgent)
			planned, err := Plan(noon, Tell([]model.Transition{tr}, func(model.Transition) time.Duration { return test.reach }), recipients)
			require.NoError(t, err)
			var told []string
			for _, d := range planned {
				told = append(told, d.Recipient)
			}
			assert.Equal(t, test.want, told)
		})
	}
}

func TestTellNextCarriesTheStep(t *testing.T) {
	due := []alerts.Escalation{{Transition: raised("bag/a1", model.PriorityUrgent), Step: time.Hour}}
	assert.Equal(t, []Telling{{Transition: due[0].Transition, Reach: time.Hour}}, TellNext(due))
}

// What somebody has answered while it waited is told to nobody else.
func TestAnAnsweredEscalationIsDropped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, later("second", 20*time.Minute))
		answered := false
		h.options.Stands = func(string) bool { return !answered }
		h.post.fail = down
		h.open()
		call := transition(alerts.Escalated, "bag-dry", "bag/a1", model.PriorityUrgent)
		planned, err := Plan(noon, []Telling{{call, 20 * time.Minute}}, h.recipients)
		require.NoError(t, err)
		require.Len(t, planned, 1)
		h.outbox.put(planned)
		h.d.Poke()
		time.Sleep(10 * time.Second)
		assert.Equal(t, 1, h.outbox.unsent(), "the service is down")
		h.stop()

		answered = true
		h.post.failWith(nil)
		h.open()
		time.Sleep(time.Hour)
		assert.Empty(t, h.post.to("second"))
		assert.Zero(t, h.outbox.unsent())
		assert.Equal(t, Answered, h.outbox.rows[0].reason)
		h.stop()
	})
}

// Who was not told of an alert because its answer came first is not told that
// it is over either, whether that comes with it or later.
func TestWhatWasNeverToldIsNotToldToBeOver(t *testing.T) {
	for name, pause := range map[string]time.Duration{"together": 0, "later": time.Hour} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHouse(t, later("second", 20*time.Minute))
				h.options.Stands = func(string) bool { return false }
				h.open()
				for i, kind := range []model.Change{alerts.Escalated, model.Cleared} {
					time.Sleep(time.Duration(i) * pause)
					planned, err := Plan(h.clock(), []Telling{{transition(kind, "bag-dry", "bag/a1", model.PriorityUrgent), 20 * time.Minute}}, h.recipients)
					require.NoError(t, err)
					require.Len(t, planned, 1)
					h.outbox.put(planned)
				}
				time.Sleep(time.Hour)
				assert.Empty(t, h.post.to("second"))
				assert.Zero(t, h.outbox.unsent())
				h.stop()
			})
		})
	}
}

func TestARaisedAlertIsToldEvenIfAnswered(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.options.Stands = func(string) bool { return false }
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(time.Minute)
		assert.Len(t, h.post.to("phone"), 1)
		h.stop()
	})
}
