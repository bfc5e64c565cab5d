package notify

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func keys(planned []Delivery) []string {
	out := []string{}
	for _, d := range planned {
		out = append(out, d.Key)
	}
	return out
}

func TestPlanTellsWhomItConcerns(t *testing.T) {
	high := person("high")
	high.MinPriority = model.PriorityHigh
	recipients := []Recipient{person("all"), high}
	hidden := raised("bag/a1", model.PriorityUrgent)
	hidden.Suppressed = true
	const at = "|2026-06-02T12:00:00Z|"

	tests := map[string]struct {
		transition model.Transition
		want       []string
	}{
		"urgent":       {raised("bag/a1", model.PriorityUrgent), []string{"bag-dry|bag/a1" + at + "raised|all", "bag-dry|bag/a1" + at + "raised|high"}},
		"medium":       {raised("bag/a1", model.PriorityMedium), []string{"bag-dry|bag/a1" + at + "raised|all"}},
		"cleared":      {transition(model.Cleared, "bag-dry", "bag/a1", model.PriorityMedium), []string{"bag-dry|bag/a1" + at + "cleared|all"}},
		"unshelved":    {transition(model.Unshelved, "bag-dry", "bag/a1", model.PriorityLow), []string{"bag-dry|bag/a1" + at + "unshelved@2026-06-02T12:00:00Z|all"}},
		"suppressed":   {hidden, []string{}},
		"acknowledged": {transition(model.Acknowledged, "bag-dry", "bag/a1", model.PriorityUrgent), []string{}},
		"shelved":      {transition(model.Shelved, "bag-dry", "bag/a1", model.PriorityUrgent), []string{}},
		"covered":      {transition(model.Suppressed, "bag-dry", "bag/a1", model.PriorityUrgent), []string{}},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			planned, err := Plan(noon, Tell([]model.Transition{test.transition}, nil), recipients)
			require.NoError(t, err)
			assert.Equal(t, test.want, keys(planned))
			for _, d := range planned {
				assert.Equal(t, noon, d.NotBefore)
				var n Notice
				require.NoError(t, json.Unmarshal(d.Body, &n))
				assert.Equal(t, test.transition.Message, n.Message)
			}
		})
	}
}

// A step that is run again after a crash plans the same keys, so that the
// outbox takes none of them twice.
func TestPlanningAgainAddsNothing(t *testing.T) {
	var transitions []model.Transition
	for i := range 50 {
		transitions = append(transitions, raised(model.BagSubject(fmt.Sprint(i)), model.PriorityHigh))
	}
	recipients := []Recipient{person("a"), person("b")}
	first, err := Plan(noon, Tell(transitions, nil), recipients)
	require.NoError(t, err)
	again, err := Plan(noon.Add(time.Hour), Tell(transitions, nil), recipients)
	require.NoError(t, err)
	assert.Equal(t, keys(first), keys(again))
	outbox := &shelf{}
	outbox.put(first)
	outbox.put(again)
	assert.Len(t, outbox.rows, 100)
}

func TestQuietHours(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	local := func(text string) time.Time {
		at, err := time.ParseInLocation("2006-01-02 15:04", text, berlin)
		require.NoError(t, err)
		return at
	}
	night := &QuietHours{From: 22 * time.Hour, To: 6 * time.Hour, Zone: berlin}
	siesta := &QuietHours{From: 13 * time.Hour, To: 14*time.Hour + 30*time.Minute, Zone: berlin}
	early := &QuietHours{From: 0, To: 5 * time.Hour, Zone: berlin}
	tests := map[string]struct {
		hours *QuietHours
		at    string
		until string // empty: not quiet
	}{
		"before midnight":     {night, "2026-06-02 22:00", "2026-06-03 06:00"},
		"after midnight":      {night, "2026-06-03 05:59", "2026-06-03 06:00"},
		"at the end":          {night, "2026-06-03 06:00", ""},
		"by day":              {night, "2026-06-03 21:59", ""},
		"siesta":              {siesta, "2026-06-03 13:10", "2026-06-03 14:30"},
		"after the siesta":    {siesta, "2026-06-03 14:30", ""},
		"from midnight":       {early, "2026-06-03 00:00", "2026-06-03 05:00"},
		"the short night":     {night, "2026-03-28 23:00", "2026-03-29 06:00"}, // clocks go forward: 23 h
		"the long night":      {night, "2026-10-24 23:00", "2026-10-25 06:00"}, // and back: 25 h
		"after the long hour": {night, "2026-10-25 05:30", "2026-10-25 06:00"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			until, quiet := test.hours.until(local(test.at))
			require.Equal(t, test.until != "", quiet)
			if quiet {
				assert.True(t, local(test.until).Equal(until), "%s", until.In(berlin))
			}
		})
	}
}

func TestQuietHoursHoldAllButTheUrgent(t *testing.T) {
	r := person("sleeper")
	r.Quiet = &QuietHours{From: 11 * time.Hour, To: 14 * time.Hour, Zone: time.UTC}
	for priority, want := range map[model.Priority]time.Time{
		model.PriorityUrgent: noon,
		model.PriorityHigh:   noon.Add(2 * time.Hour),
		model.PriorityLow:    noon.Add(2 * time.Hour),
	} {
		planned, err := Plan(noon, Tell([]model.Transition{raised("bag/a1", priority)}, nil), []Recipient{r})
		require.NoError(t, err)
		require.Len(t, planned, 1)
		assert.True(t, want.Equal(planned[0].NotBefore), priority)
	}
}
