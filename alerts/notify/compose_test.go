package notify

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

func notice(kind model.Change, c model.Condition, s model.Subject, p model.Priority) Notice {
	t := transition(kind, c, s, p)
	return Notice{Time: noon, Occurrence: t.Occurrence, Condition: c, Subject: s, Kind: kind, Priority: p, Message: t.Message}
}

func TestCompose(t *testing.T) {
	var forty []Notice
	for i := range 40 {
		forty = append(forty, notice(model.Raised, "sensor-silent", model.BagSubject(fmt.Sprintf("a%02d", i)).Sensor(model.Moisture), model.PriorityMedium))
	}
	dry := notice(model.Raised, "bag-dry", "bag/a1", model.PriorityUrgent)
	low := notice(model.Raised, "reservoir-low", "reservoir/tank", model.PriorityMedium)
	wet := notice(model.Cleared, "bag-dry", "bag/a1", model.PriorityUrgent)

	tests := map[string]struct {
		notices []Notice
		title   string
		text    []string // each is in the text, in this order
		lines   int
	}{
		"one":     {[]Notice{dry}, "raised bag/a1", []string{"raised bag/a1\nBecause.\nDo this."}, 3},
		"two":     {[]Notice{low, dry}, "2 alerts, first: raised bag/a1", []string{"2 alerts", "raised bag/a1\nBecause.", "raised reservoir/tank\nBecause."}, 9},
		"forty":   {forty, "40 sensors are silent", []string{"40 sensors are silent", "moisture probe of bag a00, moisture probe of bag a01", "a07 and 32 more)", "raised bag/a00/moisture\nBecause."}, 7},
		"cleared": {[]Notice{wet}, "cleared bag/a1", []string{"cleared bag/a1\nBecause."}, 3},
		"over before it was told": {[]Notice{dry, wet}, "cleared bag/a1",
			[]string{"It is over; you were not told yet that it was: raised bag/a1."}, 3},
		"all over": {[]Notice{wet, notice(model.Cleared, "bag-dry", "bag/a2", model.PriorityUrgent)}, "2 alerts are over: cleared bag/a1", []string{"cleared bag/a2"}, 9},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			m := Compose(noon, time.UTC, test.notices, nil)
			assert.Equal(t, test.title, m.Title)
			assert.True(t, strings.HasPrefix(m.Text, test.title), "the text begins with the title")
			at := 0
			for _, part := range test.text {
				i := strings.Index(m.Text[at:], part)
				if assert.GreaterOrEqual(t, i, 0, "%q is not in, or too early in:\n%s", part, m.Text) {
					at += i
				}
			}
			assert.Len(t, strings.Split(m.Text, "\n"), test.lines, m.Text)
		})
	}
}

func TestComposeKeepsTheMostUrgentPriority(t *testing.T) {
	m := Compose(noon, time.UTC, []Notice{
		notice(model.Cleared, "leak", "reservoir/tank", model.PriorityUrgent),
		notice(model.Raised, "bag-drying", "bag/a2", model.PriorityMedium),
		notice(model.Raised, "wick-failing", "bag/a1", model.PriorityHigh),
	}, nil)
	assert.Equal(t, model.PriorityHigh, m.Priority, "what is over calls nobody")
	assert.Equal(t, 3, m.Notices)
	assert.Equal(t, "3 alerts, first: raised bag/a1", m.Title)
}

func TestALateMessageSaysWhenItWas(t *testing.T) {
	zone := time.FixedZone("there", 2*3600)
	m := Compose(noon.Add(9*time.Hour), zone, []Notice{notice(model.Raised, "bag-dry", "bag/a1", model.PriorityUrgent)}, nil)
	assert.Contains(t, m.Text, "This was so on Tue 2 Jun 14:00.")
}

// What was repeated while the service was down is told once, as it is now.
func TestARepetitionReplacesWhatItRepeats(t *testing.T) {
	first := notice(model.Raised, "bag-dry", "bag/a1", model.PriorityUrgent)
	again, last := first, first
	again.Kind, again.Message.Headline = model.Reminder, "Still: one"
	last.Kind, last.Message.Headline = model.Reminder, "Still: two"
	other := notice(model.Raised, "bag-dry", "bag/a2", model.PriorityUrgent)
	m := Compose(noon, time.UTC, []Notice{first, again, other, last}, nil)
	assert.Equal(t, 2, m.Notices)
	assert.Contains(t, m.Text, "Still: two")
	assert.NotContains(t, m.Text, "Still: one")
	assert.NotContains(t, m.Text, "raised bag/a1")
}

func TestATitleIsOneLine(t *testing.T) {
	assert.Equal(t, "a b c", clip("a\r\nb\n c"))
	long := clip(strings.Repeat("°", 200))
	assert.LessOrEqual(t, len(long), titleMax)
	assert.True(t, strings.HasSuffix(long, "°…"), long)
}

// A thousand conditions at once still make a text that a phone can take.
func TestAStormsSummaryIsShort(t *testing.T) {
	var storm []Notice
	for _, c := range []model.Condition{"bag-dry", "bag-drying", "wick-failing", "sensor-silent"} {
		for i := range 250 {
			storm = append(storm, notice(model.Raised, c, model.BagSubject(fmt.Sprint(i)), model.PriorityHigh))
		}
	}
	m := Compose(noon, time.UTC, storm, nil)
	assert.Less(t, len(m.Text), 1500)
	for _, part := range []string{"250 bags are dry", "250 bags are drying out", "250 bags have failing wicks", "250 sensors are silent", "and 242 more"} {
		assert.Contains(t, m.Text, part)
	}
}

// One of its kind is told by its own words in a summary: "1 bags are dry" is how
// no person counts.
func TestASummaryCountsAsPeopleDo(t *testing.T) {
	var all []Notice
	for i := range 4 {
		all = append(all, notice(model.Raised, "bag-dry", model.BagSubject(fmt.Sprint("a", i)), model.PriorityUrgent))
	}
	all = append(all, notice(model.Raised, "reservoir-low", "reservoir/tank", model.PriorityMedium),
		notice(model.Cleared, "leak", "reservoir/tank", model.PriorityUrgent))
	text := Compose(noon, time.UTC, all, nil).Text
	assert.Contains(t, text, "4 bags are dry (bag a0, bag a1, bag a2, bag a3)\n")
	assert.Contains(t, text, "raised reservoir/tank\n")
	assert.Contains(t, text, "over: cleared reservoir/tank\n")
	assert.NotContains(t, text, "1 reservoirs")
}
