package alerts

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// climber is an engine with two steps, 20 and 60 min, looked at every 10 min.
type climber struct {
	*run
	told []string
}

func newClimber(t *testing.T) *climber {
	t.Helper()
	e, err := New(Options{Site: kestrel(), Escalations: []time.Duration{time.Hour, 20 * time.Minute, time.Hour}})
	require.NoError(t, err)
	return &climber{run: &run{t: t, e: e, now: noon}}
}

func (c *climber) last(d time.Duration, troubles ...trouble) {
	for end := c.now.Add(d); c.now.Before(end); {
		c.lastBy(10*time.Minute, 10*time.Minute, troubles...)
		for _, e := range c.e.Escalate(c.now) {
			assert.Equal(c.t, Escalated, e.Kind)
			assert.LessOrEqual(c.t, e.Step, c.e.Reach(e.Transition))
			c.told = append(c.told, c.now.Format("15:04 ")+e.Step.String()+" "+string(e.Subject))
		}
	}
}

func TestEscalation(t *testing.T) {
	c := newClimber(t)
	c.last(3*time.Hour, water(0, 0.2))
	assert.Equal(t, []string{"12:30 20m0s bag/a1", "13:10 1h0m0s bag/a1"}, c.told, "raised at 12:10; each step once")
}

func TestEscalationStops(t *testing.T) {
	tests := map[string]func(c *climber){
		"on acknowledge": func(c *climber) {
			_, err := c.e.Acknowledge(c.now, c.all[0].Occurrence, "Robin")
			require.NoError(t, err)
			c.last(3*time.Hour, water(0, 0.2))
		},
		"on clear": func(c *climber) { c.last(3 * time.Hour) },
		"under a cause": func(c *climber) {
			c.last(3*time.Hour, water(0, 0.2), channelIsDry(0))
			c.told = slices.DeleteFunc(c.told, func(s string) bool { return strings.HasSuffix(s, "channel/a") })
		},
	}
	for name, act := range tests {
		t.Run(name, func(t *testing.T) {
			c := newClimber(t)
			c.last(30*time.Minute, water(0, 0.2))
			act(c)
			assert.Equal(t, []string{"12:30 20m0s bag/a1"}, c.told)
		})
	}
}

// What comes back from shelving calls anew, and so does its escalation.
func TestEscalationBeginsAgainAfterShelving(t *testing.T) {
	c := newClimber(t)
	c.last(30*time.Minute, water(0, 0.2))
	_, err := c.e.Shelve(c.now, "bag/a1", c.now.Add(2*time.Hour))
	require.NoError(t, err)
	c.last(150*time.Minute, water(0, 0.2))
	assert.Equal(t, []string{"12:30 20m0s bag/a1", "14:50 20m0s bag/a1"}, c.told)
}

// After an outage every step that has come due is told, each once.
func TestEscalationCatchesUp(t *testing.T) {
	c := newClimber(t)
	c.last(10*time.Minute, water(0, 0.2))
	c.now = c.now.Add(5 * time.Hour)
	c.last(20*time.Minute, water(0, 0.2))
	assert.Equal(t, []string{"17:20 20m0s bag/a1", "17:20 1h0m0s bag/a1"}, c.told)
	another := c.all[0]
	another.Occurrence = "another"
	assert.Zero(t, c.e.Reach(another))
}

func TestAnEscalationAtOnceIsRefused(t *testing.T) {
	_, err := New(Options{Site: kestrel(), Escalations: []time.Duration{0}})
	assert.ErrorIs(t, err, ErrOptions)
}
