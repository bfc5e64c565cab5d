package notify

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// Each recipient gets a link of their own, to what can still be answered.
func TestAMessageCarriesItsLink(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"), person("mail"))
		h.options.Links = func(n Notice, recipient string, _ time.Time) Links {
			return Links{Page: "https://yard.example/alert/" + recipient + "/" + string(n.Subject)}
		}
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent), raised("bag/a2", model.PriorityUrgent))
		time.Sleep(time.Minute)
		h.tell(transition(model.Cleared, "bag-dry", "bag/a1", model.PriorityUrgent))
		time.Sleep(time.Hour)
		for _, id := range []string{"phone", "mail"} {
			got := h.post.to(id)
			require.Len(t, got, 2)
			for _, bag := range []string{"a1", "a2"} {
				assert.Contains(t, got[0].Text, "Do this.\nhttps://yard.example/alert/"+id+"/bag/"+bag)
			}
			assert.NotContains(t, got[0].Title, "https")
			assert.NotContains(t, got[1].Text, "https", "what is over needs no answer")
		}
		h.stop()
	})
}

func TestAFloodNamesWhatCameFirst(t *testing.T) {
	var flood []Notice
	for i := range 8 {
		n := notice(model.Raised, "bag-dry", model.BagSubject(string(rune('a'+i))), model.PriorityUrgent)
		n.Time = noon.Add(time.Duration(i) * time.Minute)
		flood = append(flood, n)
	}
	cause := notice(model.Raised, "reservoir-low", "reservoir/tank", model.PriorityMedium)
	cause.Time = noon.Add(-time.Minute)
	m := Compose(noon.Add(10*time.Minute), time.UTC, append(flood, cause), nil)
	assert.Contains(t, m.Text, "The first came at 11:59: raised reservoir/tank.")
	alone := Compose(noon.Add(10*time.Minute), time.UTC, flood, nil)
	assert.False(t, strings.Contains(alone.Text, "The first came"), "the first is told in full")
}
