package estimate

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
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

// Wald's bound: under the truth, a likelihood ratio of e^a to one against it is
// reached with a probability of at most e^−a, however long one watches (Wald
// 1947, Sequential Analysis). A rival that assumes a shift of half a standard
// deviation is tried on noise alone, at a = 3: at most 5.0 % of the runs.
func TestFalseTakeOverIsBounded(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	const runs, long, shift, decided = 4000, 600, 0.5, 3.0
	crossed := 0
	for range runs {
		llr := 0.0
		for range long {
			z := rng.NormFloat64()
			llr += (huber(z*z) - huber((z-shift)*(z-shift))) / 2
			if llr > decided {
				crossed++
				break
			}
		}
	}
	share := float64(crossed) / runs
	assert.Less(t, share, math.Exp(-decided)+0.01)
	assert.Greater(t, share, 0.01, "it can be crossed at all")
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
