package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/sim"
)

// Huber's bound: the square up to 3 standard deviations, linear beyond, and
// smooth where they meet (Huber 1964) [D].
func TestHuber(t *testing.T) {
	for square, want := range map[float64]float64{0: 0, 4: 4, 9: 9, 36: 27, 100: 51} {
		assert.InDelta(t, want, huber(square), 1e-12)
	}
}

func TestWeightOfReadings(t *testing.T) {
	assert.InDelta(t, 0.5, weight(10*time.Minute), 1e-12)
	assert.InDelta(t, 0.5, weight(time.Hour), 1e-12)
	assert.InDelta(t, 0.0625, weight(time.Minute), 1e-12)
	perHour := func(gap time.Duration) float64 { return weight(gap) * float64(time.Hour/gap) }
	assert.InDelta(t, perHour(time.Minute), perHour(4*time.Minute), 1e-9, "more readings of the same hour are no more evidence")
}

// Of rivals that explain the readings about equally well the youngest counts:
// it began nearest to what happened.
func TestBestIsTheYoungestOfEquals(t *testing.T) {
	at := func(h int) time.Time { return noon.Add(time.Duration(h) * time.Hour) }
	lost := model.CauseWickLostContact
	b := &bag{Rivals: []rival{
		{Start: at(0), Kind: lost, LLR: 12}, {Start: at(2), Kind: lost, LLR: 13}, {Start: at(4), Kind: lost, LLR: 11.5},
		{Start: at(6), Kind: lost, LLR: 3}, {Start: at(6), Kind: model.CauseNotDrinking, LLR: 20},
	}}
	r, ok := b.best(lost)
	require.True(t, ok)
	assert.Equal(t, at(4), r.Start)
	assert.InDelta(t, 13, r.LLR, 0)
	_, ok = b.best(causeRestored)
	assert.False(t, ok)
}

// Where the filter is right — every reading lies about what it expects with the
// variance that it expects — no rival takes over. Wald's bound (1947, Sequential
// Analysis) for a ratio of e^12 to one, at the four thousand chances a year that a
// bag offers: 2.5 % a bag-year, and here is half of one.
func TestNoFalseTakeOver(t *testing.T) {
	long(t)
	const bags, span = 6, 30
	s := newScene(t, small(bags, 70), 3)
	rng := rand.New(rand.NewPCG(5, 5))
	byProbe := map[model.Subject]*bag{}
	for _, b := range s.e.bags {
		byProbe[b.physics.Bag.Moisture.ID] = b
	}
	s.skew = func(r model.Reading) float64 {
		b := byProbe[r.Sensor]
		if b == nil || b.Readings == 0 {
			return 0
		}
		nu, variance := b.innovation(b.advance(b.Base, r.Time, driftHealth), r.Value)
		return math.Sqrt(variance)*rng.NormFloat64() - nu
	}
	weighed, largest := 0, 0.0
	s.each = func(e model.Snapshot, _ sim.Truth) {
		for i, b := range s.e.bags {
			assert.Empty(t, e.Bags[i].Cause, "%s at %s", e.Bags[i].Bag, e.Time)
			assert.False(t, b.Lost)
			for _, r := range b.Rivals {
				weighed, largest = weighed+1, math.Max(largest, r.LLR)
			}
		}
		assert.False(t, e.Channels[0].Dry)
	}
	s.live(days(span))
	assert.Greater(t, weighed, 100000, "rivals did compete")
	assert.Greater(t, largest, 1.0, "and were not far from nothing")
}

// What a filter booked as thirst while a supply was gone unseen is booked anew
// once that is known: the hours before stay, those since are scaled to what the
// rival's bag took.
func TestTakeOverBooksUptakeAnew(t *testing.T) {
	at := func(h int) time.Time { return noon.Add(time.Duration(h) * time.Hour) }
	b := &bag{}
	for h, litres := range []float64{1, 2, 3, 4} {
		b.History.record(at(h), litres, 2*litres, 0)
	}
	s := state{Uptake: 5, Potential: 10}
	r := rival{Start: at(1), Booked: uptakes{2, 4}, Taken: uptakes{1.5, 3}}
	b.rebook(&s, r)
	assert.InDelta(t, 3.5, s.Uptake, 1e-12)
	assert.InDelta(t, 7, s.Potential, 1e-12)
	for i, want := range []float64{1, 2, 2.5, 3} {
		assert.InDelta(t, want, b.History.Hours[i].Uptake, 1e-12)
		assert.InDelta(t, 2*want, b.History.Hours[i].Potential, 1e-12)
	}
	b.rebook(&s, rival{Start: at(1), Taken: uptakes{1, 1}})
	assert.InDelta(t, 3.5, s.Uptake, 1e-12, "a copy of another time is not taken over")
}

// A rival begins where the filter is, also with the first reading after hours without
// one: what was drunk meanwhile is neither lost nor still in the bag.
func TestARivalBeginsWhereTheFilterIs(t *testing.T) {
	s := newScene(t, small(2, 110), 1)
	s.live(days(2.4)) // in the morning
	from := s.sim.Now()
	s.deaf = func(id model.Subject, at time.Time) bool {
		return id.Kind() == model.KindBag && at.Before(from.Add(10*time.Hour))
	}
	s.live(10*time.Hour + pace)
	b := s.e.bags[0]
	begun := 0
	for _, r := range b.Rivals {
		if r.Start.Equal(b.Base.Time) {
			begun++
			assert.InDelta(t, b.Base.X[iStorage], r.From, 1e-9)
			assert.Equal(t, uptakes{b.Base.Uptake, b.Base.Potential}, r.Booked)
		}
	}
	assert.Equal(t, 2, begun, "wicks that lost contact, and a dry channel")
}

// Readings in quick succession count as little while they are doubted as when they are
// believed.
func TestDoubtedReadingsCountAsOthers(t *testing.T) {
	s := newScene(t, small(2, 110), 1)
	s.live(days(1))
	b := s.e.bags[0]
	b.Cause = model.CauseWickLostContact
	b.Rivals = []rival{b.asIs(b.Base.Time).assume(causeRestored)}
	said := 0.0
	for minute := range 8 {
		at := b.Base.Time.Add(time.Duration(minute+1) * time.Minute)
		state := b.advance(b.Base, at, driftHealth)
		y := b.row(at).dot(state.X) + 0.1
		nu, variance := b.innovation(state, y)
		b.weigh(at, y, nu, variance)
		r := b.Rivals[0]
		miss := y - b.reads(r)
		said += weight(time.Minute) * (huber(nu*nu/variance) - huber(miss*miss/variance)) / 2
		assert.InDelta(t, said, r.LLR, 1e-9, "after %d minutes", minute+1)
	}
}
