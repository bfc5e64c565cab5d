package main

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/web"
	"wickd/model"
)

// The salt at the roots stands beside the water of each bag: how much, how sure,
// what the crop bears and how long there is. What is not known is a dash, and of
// what is known of no bag there is no column.
func TestStatusShowsSalt(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	at, limit, sd := now.Add(11*24*time.Hour+time.Hour), 3.0, 0.31
	salty := web.BagDoc{Bag: "p1", SaltLimit: &limit, SaltLimitAt: &at, Salt: figureOf(2.46, model.Fresh), Temperature: figureOf(24.3, model.Fresh)}
	salty.Salt.SD = &sd
	tank := web.ReservoirDoc{Reservoir: "tank", Temperature: figureOf(18.5, model.Fresh)}
	warm := 25.0
	tank.Temperature.SD, tank.TemperatureLimit = &sd, &warm
	over := salty
	past := now.Add(-time.Hour)
	over.Bag, over.SaltLimitAt = "p2", &past
	text := statusText(web.Document{Now: now, Ready: true, Bags: []web.BagDoc{salty, over, {Bag: "p3"}}, Reservoirs: []web.ReservoirDoc{tank}}, "")
	words := strings.Join(strings.Fields(text), " ")
	assert.Contains(t, words, "p1 2.5 0.3 3.0 12 d 24.3")
	assert.Contains(t, words, "p2 2.5 0.3 3.0 now 24.3")
	assert.Contains(t, words, "p3 – – – – –")
	assert.Contains(t, words, "18.5 ± 0.3 °C (limit 25)")
	for _, line := range strings.Split(text, "\n") {
		assert.LessOrEqual(t, len([]rune(line)), 100, line)
	}
}

// What no reading holds up is not shown as if one did.
func TestStatusNamesWhatIsInDoubt(t *testing.T) {
	age := 144.0
	stale := web.Figure{Value: figureOf(0.43, model.Stale).Value, AgeSeconds: &age, Quality: model.Stale}
	good := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	doc := web.Document{Ready: true, Bags: []web.BagDoc{{Bag: "p1", WaterContent: stale}, {Bag: "p2", WaterContent: figureOf(0.5, model.Fresh)}, {Bag: "p3"}},
		Reservoirs: []web.ReservoirDoc{{Reservoir: "tank", Volume: stale, PH: stale, EC: figureOf(1.4, model.Fresh)}},
		Sensors: []web.SensorDoc{
			{Sensor: "bag/p1/moisture", Implausible: true, Evidence: "it reads 99 %"}, {Sensor: "bag/p2/moisture"},
			{Sensor: "reservoir/tank/ec", Silent: true}, {Sensor: "reservoir/tank/ph", Silent: true, LastGood: &good}, {Sensor: "air/humidity", Stuck: true},
		}}
	_, doubt, ok := strings.Cut(statusText(doc, ""), "In doubt:\n")
	require.True(t, ok)
	assert.Equal(t, []string{
		"  water of bag p1 is what the model makes of it alone: the last good reading came 2 min ago",
		"  volume of tank is what the model makes of it alone: the last good reading came 2 min ago",
		"  pH of tank is what was measured last: the last good reading came 2 min ago",
		"  bag/p1/moisture is not believed: it reads 99 %", "  reservoir/tank/ec has never sent a good reading",
		"  reservoir/tank/ph is silent", "  air/humidity is stuck on one value", "",
	}, strings.Split(doubt, "\n"))
	assert.NotContains(t, statusText(web.Document{Bags: []web.BagDoc{{Bag: "p2", WaterContent: figureOf(0.5, model.Fresh)}}}, ""), "In doubt")
}

// A status says once on which clock its times are, the site's own, and what can
// still be said about each alert.
func TestStatusOfAlerts(t *testing.T) {
	now := time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)
	ago := func(d time.Duration) *time.Time { at := now.Add(-d); return &at }
	alert := func(state, by string) web.AlertDoc {
		return web.AlertDoc{
			Occurrence: "bag-dry|bag/p1|" + state, Condition: "bag-dry", Subject: "bag/p1", Priority: model.PriorityUrgent, State: state, By: by,
			Since: ago(26 * time.Hour), Until: ago(-20 * time.Hour), Message: model.Message{Headline: "Bag p1 is dry", Why: "One.\nTwo."},
		}
	}
	doc := web.Document{Site: "Kestrel Yard", Version: "1.0", TimeZone: "Europe/Zurich", Now: now, Time: ago(25 * time.Minute), Ready: true}
	tests := map[string]struct {
		alert web.AlertDoc
		want  string
		ack   bool
	}{
		"nobody has": {alert("unacknowledged", ""), `since Sun 31 May 12:00; to acknowledge: wickd ack "bag-dry|bag/p1|unacknowledged"`, true},
		"it is over": {alert("returned-unacknowledged", ""), `it is over, and nobody has seen it; to acknowledge`, true},
		"somebody":   {alert("acknowledged", "caretaker"), "since Sun 31 May 12:00; acknowledged by caretaker", false},
		"put aside":  {alert("shelved", "caretaker"), `put aside until Tue 2 Jun 10:00; to take it up again: wickd shelve --off "bag-dry|bag/p1|shelved"`, false},
		"below":      {alert("suppressed", ""), "since Sun 31 May 12:00; nobody is told of it while what explains it stands, or has just gone", false},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			doc := doc
			doc.Alerts = []web.AlertDoc{tt.alert}
			text := statusText(doc, "")
			assert.Contains(t, text, "Kestrel Yard, wickd 1.0, as of Mon 1 Jun 13:35, 25 min ago (times are those of Europe/Zurich)\n")
			assert.Contains(t, text, "\n  "+tt.want)
			assert.Contains(t, text, "\n  One.\n  Two.\n")
			assert.Equal(t, tt.ack, strings.Contains(text, "wickd ack"), text)
			elsewhere := strings.NewReplacer("wickd ack ", "wickd ack --daemon http://yard:80 ", "wickd shelve ", "wickd shelve --daemon http://yard:80 ")
			assert.Contains(t, statusText(doc, daemonAddress{"http://yard:80"}.flag()), elsewhere.Replace(tt.want))
			assert.NotContains(t, text, "Nothing is wrong")
		})
	}
	assert.Contains(t, statusText(doc, ""), "no bag is known: none has sent a good reading yet")
	doc.Bags = []web.BagDoc{{Bag: "p1", WaterContent: figureOf(0.5, model.Fresh)}}
	assert.Contains(t, statusText(doc, ""), "Nothing is wrong.")
	assert.NotContains(t, statusText(doc, ""), "do not reach")
	doc.Daemon.Undelivered = []web.UndeliveredDoc{{Recipient: "keeper", Since: now, Waiting: 1, Reason: "timeout", Why: "no answer in time"}}
	assert.Contains(t, statusText(doc, ""), "messages do not reach keeper since Mon 1 Jun 14:00: 1 message waiting; no answer in time\n")
	doc.Time = nil
	assert.Contains(t, statusText(doc, ""), "nothing is evaluated yet")
	assert.NotContains(t, statusText(doc, ""), "Nothing is wrong.")
	doc.TimeZone = "no such place"
	assert.Equal(t, time.UTC, answered(doc).zone)
}

// An alert can be called by what it is about where that leaves no doubt.
func TestAlertsAreCalledByWhatTheyAreAbout(t *testing.T) {
	r := answered(web.Document{
		Bags: []web.BagDoc{{Bag: "p1"}, {Bag: "p2"}, {Bag: "p3"}},
		Alerts: []web.AlertDoc{
			{Occurrence: "bag-dry|bag/p1|x", Condition: "bag-dry", Subject: "bag/p1", Message: model.Message{Headline: "Bag p1 is dry"}},
			{Occurrence: "sensor-silent|bag/p2/moisture|x", Condition: "sensor-silent", Subject: "bag/p2/moisture"},
			{Occurrence: "bag-dry|bag/p2|x", Condition: "bag-dry", Subject: "bag/p2"},
		},
	})
	for word, want := range map[string]string{
		"bag-dry|bag/p1|x": "bag-dry|bag/p1|x", "p1": "bag-dry|bag/p1|x", "P1": "bag-dry|bag/p1|x", "bag/p1": "bag-dry|bag/p1|x",
		"bag/p2/moisture": "sensor-silent|bag/p2/moisture|x", "sensor-silent": "sensor-silent|bag/p2/moisture|x",
	} {
		got, err := r.named(word)
		require.NoError(t, err, word)
		assert.Equal(t, want, got.Occurrence, word)
	}
	_, err := r.named("p2")
	assert.ErrorContains(t, err, "may mean several")
	_, err = r.named("a1")
	assert.ErrorContains(t, err, "no open alert is called \"a1\"; open:\n  \"bag-dry|bag/p1|x\": Bag p1 is dry")
	_, err = answered(web.Document{}).named("a1")
	assert.ErrorContains(t, err, "none is open")
	whole, err := r.shelved("bag/p2")
	require.NoError(t, err)
	assert.Equal(t, "bag/p2", whole, "the bag and all of it, not one alert")
	calm, err := r.shelved("P3")
	require.NoError(t, err)
	assert.Equal(t, "bag/p3", calm, "nothing is open about it")
	_, err = r.shelved("p2")
	assert.ErrorContains(t, err, "may mean several", "one of its alerts may be meant")
	early, err := answered(web.Document{}).shelved("bag/p2")
	require.NoError(t, err, "before anything is evaluated, too")
	assert.Equal(t, "bag/p2", early)
	assert.ErrorContains(t, r.explain(web.ErrNoAlert, "bag/p9"), "the site has no bag/p9, and no open alert is about it (it has bag/p1, bag/p2 and bag/p3); open:")
}

func TestSpanFlag(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"90m": 90 * time.Minute, "1h30m": 90 * time.Minute, "8h": 8 * time.Hour, "2d": 48 * time.Hour, "2 d": 48 * time.Hour,
		"30d": 720 * time.Hour, "90 min": 90 * time.Minute,
	} {
		var f spanFlag
		require.NoError(t, f.UnmarshalText([]byte(text)), text)
		assert.Equal(t, want, f.Duration, text)
	}
	for _, text := range []string{"", "0", "0s", "-1h", "20", "never", "2 mm", "d"} {
		var f spanFlag
		assert.Error(t, f.UnmarshalText([]byte(text)), text)
	}
}

// A command that status gives asks the daemon that status asked.
func TestCommandsToComeNameTheDaemon(t *testing.T) {
	t.Setenv("WICKD_DAEMON", "")
	assert.Empty(t, daemonAddress{"http://127.0.0.1:9920"}.flag())
	assert.Equal(t, " --daemon http://yard:80", daemonAddress{"http://yard:80"}.flag())
	t.Setenv("WICKD_DAEMON", "http://yard:80")
	assert.Empty(t, daemonAddress{"http://yard:80"}.flag())
	assert.Equal(t, " --daemon http://shed:80", daemonAddress{"http://shed:80"}.flag())
	assert.Equal(t, " --daemon http://127.0.0.1:9920", daemonAddress{"http://127.0.0.1:9920"}.flag())
}
