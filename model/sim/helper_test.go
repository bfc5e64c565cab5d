package sim

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/model"
)

var start = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)

func at(hours float64) time.Time {
	return start.Add(time.Duration(hours * float64(time.Hour)))
}

// few is the demo site with the given bags only, which is as many times faster.
func few(ids ...string) *model.Site {
	site := DemoSite()
	var bags []model.Bag
	for _, id := range ids {
		b, _ := site.BagByID(id)
		bags = append(bags, b)
	}
	site.Bags = bags
	return site
}

func begin(t testing.TB, o Options) *Sim {
	t.Helper()
	if o.Site == nil {
		o.Site = few("a1", "b1")
	}
	if o.Start.IsZero() {
		o.Start = start
	}
	s, err := New(o)
	require.NoError(t, err)
	return s
}

// run advances until hours after the start.
func run(t testing.TB, s *Sim, hours float64) []Message {
	t.Helper()
	var all []Message
	for s.Now().Before(at(hours)) {
		_, m := s.Advance()
		all = append(all, m...)
	}
	require.NoError(t, s.Err())
	return all
}

// on keeps the payloads of one topic.
func on(messages []Message, topic string) []string {
	var found []string
	for _, m := range messages {
		if m.Topic == topic {
			found = append(found, string(m.Payload))
		}
	}
	return found
}

func bagOf(s *Sim, id string) BagTruth {
	for _, b := range s.Truth().Bags {
		if b.ID == id {
			return b
		}
	}
	return BagTruth{}
}
