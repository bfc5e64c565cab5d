package notify

import (
	"context"
	"fmt"
	"sync"
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
	tests := map[string]struct {
		pause   time.Duration
		restart bool
	}{"together": {}, "later": {pause: time.Hour}, "after a restart": {pause: time.Hour, restart: true}}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHouse(t, later("second", 20*time.Minute), later("third", time.Hour))
				memory := &notebook{}
				h.options.Memory = memory
				h.options.Stands = func(string) bool { return false }
				h.open()
				for i, kind := range []model.Change{alerts.Escalated, model.Cleared} {
					time.Sleep(time.Duration(i) * test.pause)
					if i == 1 && test.restart {
						assert.Contains(t, memory.text(), `"recipient":"second"`)
						h.stop()
						h.open()
					}
					planned, err := Plan(h.clock(), []Telling{{transition(kind, "bag-dry", "bag/a1", model.PriorityUrgent), 20 * time.Minute}}, h.recipients)
					require.NoError(t, err)
					require.Len(t, planned, 1)
					h.outbox.put(planned)
				}
				time.Sleep(time.Hour)
				assert.Empty(t, h.post.to("second"))
				assert.Zero(t, h.outbox.unsent())
				assert.Equal(t, "[]", memory.text(), "it is over for everybody")
				h.stop()
			})
		})
	}
}

// notebook is a memory on paper.
type notebook struct {
	mu   sync.Mutex
	data []byte
	fail error
}

func (n *notebook) Recall(context.Context) ([]byte, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.data, n.fail
}

func (n *notebook) Remember(_ context.Context, data []byte) error {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.fail == nil {
		n.data = data
	}
	return n.fail
}

func (n *notebook) text() string {
	data, _ := n.Recall(context.Background())
	return string(data)
}

// A memory that fails, or holds what cannot be read, stops no delivery.
func TestAMemoryThatFails(t *testing.T) {
	for name, memory := range map[string]*notebook{"fails": {fail: errDisk}, "damaged": {data: []byte("{")}} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHouse(t, person("first"), later("second", 20*time.Minute))
				h.options.Memory = memory
				h.open()
				h.tell(raised("bag/a1", model.PriorityUrgent))
				time.Sleep(time.Hour)
				assert.Len(t, h.post.to("first"), 1)
				h.stop()
			})
		})
	}
}

// It remembers the newest, whatever the number.
func TestTheMemoryIsBounded(t *testing.T) {
	memory := &notebook{}
	u := &untold{memory: memory}
	for i := range maxUntold {
		u.all = append(u.all, unheard{"second", fmt.Sprint(i), noon})
	}
	require.NoError(t, u.add(t.Context(), "second", "newest", noon.Add(time.Hour)))
	again := &untold{memory: memory}
	require.NoError(t, again.recall(t.Context()))
	assert.Len(t, again.all, maxUntold)
	assert.False(t, again.has("second", "0"))
	assert.True(t, again.has("second", "1"))
	assert.True(t, again.has("second", "newest"))
	assert.False(t, again.has("third", "1"))
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
