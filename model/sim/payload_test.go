package sim

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// mixed is the demo site with sensors of every form.
func mixed() *model.Site {
	site := few("a1", "b1")
	site.Air[0].Topic, site.Air[0].Pointer = "yard/air", "/now/temperature"
	site.Air[1].Topic, site.Air[1].Pointer = "yard/air", "/now/a~1b~0c"
	tank := site.Reservoirs[0].Sensors
	tank[1].Topic, tank[1].Record = "yard/probe", "ec"
	tank[3].Topic, tank[3].Record = "yard/probe", "temperature"
	return site
}

func TestForms(t *testing.T) {
	s := begin(t, Options{Site: mixed(), Seed: 2, Loss: -1, Faults: []Fault{
		{Kind: ProbeSilent, Subject: "reservoir/tank/ec", Start: at(1)},
		{Kind: ProbeSilent, Subject: "air/temperature", Start: at(1)},
		{Kind: ProbeSilent, Subject: "air/humidity", Start: at(2)},
	}})
	messages := run(t, s, 3)

	air := on(messages, "yard/air")
	require.Len(t, air, 11, "silent once both sensors are")
	var whole struct {
		Now map[string]float64 `json:"now"`
	}
	require.NoError(t, json.Unmarshal([]byte(air[0]), &whole))
	assert.InDelta(t, 15, whole.Now["temperature"], 15)
	assert.InDelta(t, 60, whole.Now["a/b~c"], 40, "RFC 6901 section 4: ~1 is /, ~0 is ~")
	assert.NotContains(t, air[5], "temperature", "the silent one is left out")

	probe := on(messages, "yard/probe")
	var pack []struct {
		Name  string  `json:"n"`
		Value float64 `json:"v"`
	}
	require.NoError(t, json.Unmarshal([]byte(probe[0]), &pack))
	require.Len(t, pack, 2)
	assert.Equal(t, "ec", pack[0].Name)
	assert.InDelta(t, 1.8, pack[0].Value, 0.3)
	require.NoError(t, json.Unmarshal([]byte(probe[17]), &pack))
	require.Len(t, pack, 1)
	assert.Equal(t, "temperature", pack[0].Name)
}

func TestTopicsThatCannotBeServed(t *testing.T) {
	tests := map[string]func(*model.Site){
		"two bare numbers": func(s *model.Site) { s.Air[1].Topic = s.Air[0].Topic },
		"two forms":        func(s *model.Site) { s.Air[1].Topic, s.Air[1].Pointer = s.Air[0].Topic, "/x" },
		"one pointer":      func(s *model.Site) { share(s, "/x", "/x") },
		"within another":   func(s *model.Site) { share(s, "/x", "/x/y") },
		"around another":   func(s *model.Site) { share(s, "/x/y", "/x") },
		"no pointer":       func(s *model.Site) { share(s, "x", "/y") },
		"unit":             func(s *model.Site) { s.Air[0].Unit = "furlong" },
		"nothing there":    func(s *model.Site) { s.Air[0].ID = "cellar/temperature" },
		"no such quantity": func(s *model.Site) { s.Air[0].Quantity = "mood" },
	}
	for name, spoil := range tests {
		t.Run(name, func(t *testing.T) {
			site := few("a1")
			spoil(site)
			_, err := New(Options{Site: site, Start: start})
			require.Error(t, err)
			assert.True(t, strings.HasPrefix(err.Error(), "simulate site: sensor "), err)
		})
	}
}

func share(s *model.Site, first, second string) {
	s.Air[1].Topic = s.Air[0].Topic
	s.Air[0].Pointer, s.Air[1].Pointer = first, second
}

func TestMessagesKeepTheOrderOfTheSite(t *testing.T) {
	s := begin(t, Options{Loss: -1})
	now, messages := s.Advance()
	assert.Equal(t, at(1.0/6), now)
	require.Len(t, messages, 9)
	assert.Equal(t, "trial/air/temperature", messages[0].Topic)
	assert.Equal(t, "trial/bag/b1/moisture", messages[8].Topic)
	for _, m := range messages {
		assert.Equal(t, now, m.Time)
	}
}
