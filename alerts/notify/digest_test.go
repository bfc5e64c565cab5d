package notify

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func week() Digest {
	d := Digest{
		From: noon.AddDate(0, 0, -7), To: noon,
		Drinks: []Drink{{"sweet pepper", 8, 61.6}, {"basil", 0, 3}},
		Raised: 3, Open: 1, Sensors: 12, Troubled: []string{"moisture probe of bag a2 (silent)"}, Waiting: 1,
	}
	c := Course{Reservoir: "tank"}
	for _, ec := range []float64{1.8, math.NaN(), 2.1, 1.6, 1.7} {
		c.EC.Add(ec)
	}
	d.Solutions = []Course{c, {Reservoir: "drum"}}
	return d
}

func TestADigestSaysHowTheWeekWas(t *testing.T) {
	m := week().message(time.UTC)
	assert.Equal(t, "The week: 3 alerts, 1 open now", m.Headline)
	for _, want := range []string{
		"From Tue 26 May to Tue 2 Jun.", "sweet pepper: 7.7 L a plant, 62 L in all.",
		"tank: EC 1.8 to 1.7 mS/cm (1.6–2.1).",
		"12 sensors watched, 1 in trouble: moisture probe of bag a2 (silent). 1 message could not be delivered yet.",
	} {
		assert.Contains(t, m.Why, want)
	}
	assert.NotContains(t, m.Why, "drum", "of what nothing is known nothing is said")
	assert.NotContains(t, m.Why, "basil", "nor of plants that are not there")
	assert.Contains(t, m.Action, "weekly test")
}

// A digest planned again, after a crash or by the next look, has the same keys;
// that of another week has others.
func TestADigestIsSentOnce(t *testing.T) {
	strict := person("strict")
	strict.MinPriority = model.PriorityUrgent
	recipients := []Recipient{person("phone"), strict, later("second", time.Hour)}
	outbox := &shelf{}
	for _, at := range []time.Duration{0, time.Hour} {
		planned, err := Weekly(noon.Add(at), time.UTC, week(), recipients)
		require.NoError(t, err)
		outbox.put(planned)
	}
	require.Len(t, outbox.rows, 3, "everybody, because it is the test that messages arrive")
	next := week()
	next.To = next.To.AddDate(0, 0, 7)
	planned, err := Weekly(noon, time.UTC, next, recipients)
	require.NoError(t, err)
	outbox.put(planned)
	assert.Len(t, outbox.rows, 6)
}

func TestADigestWaitsForTheEndOfQuietHours(t *testing.T) {
	r := person("sleeper")
	r.Quiet = &QuietHours{From: 11 * time.Hour, To: 14 * time.Hour, Zone: time.UTC}
	planned, err := Weekly(noon, time.UTC, week(), []Recipient{r})
	require.NoError(t, err)
	assert.Equal(t, noon.Add(2*time.Hour), planned[0].NotBefore)
}

// An alert is not joined to a digest, nor held up by it.
func TestAnAlertGoesBeforeADigest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		planned, err := Weekly(noon, time.UTC, week(), h.recipients)
		require.NoError(t, err)
		h.outbox.put(planned)
		h.open()
		h.tell(raised("bag/a1", model.PriorityHigh))
		time.Sleep(time.Hour)
		got := h.post.to("phone")
		require.Len(t, got, 2)
		var titles []string
		for _, m := range got {
			titles = append(titles, m.Title)
			assert.Equal(t, 1, m.Notices)
		}
		assert.ElementsMatch(t, []string{"raised bag/a1", "The week: 3 alerts, 1 open now"}, titles)
		h.stop()
	})
}

func TestADigestOfManyTroublesIsShort(t *testing.T) {
	d := week()
	for range 500 {
		d.Troubled = append(d.Troubled, "moisture probe of bag a2 (silent)")
	}
	planned, err := Weekly(noon, time.UTC, d, []Recipient{person("phone")})
	require.NoError(t, err)
	var n Notice
	require.NoError(t, json.Unmarshal(planned[0].Body, &n))
	assert.Less(t, len(n.Message.Text()), 1500)
	assert.True(t, strings.Contains(n.Message.Why, "and 493 more"))
}
