package sim

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSeed(t *testing.T) {
	first := begin(t, Options{Seed: 7})
	again := begin(t, Options{Seed: 7})
	other := begin(t, Options{Seed: 8})
	a, b, c := run(t, first, 24), run(t, again, 24), run(t, other, 24)
	assert.Equal(t, a, b, "one seed, one run, byte for byte")
	assert.Equal(t, first.Truth(), again.Truth())
	assert.NotEqual(t, a, c)
	assert.NotEqual(t, first.Truth().Air, other.Truth().Air)
}

// A fault in one place must leave the noise, the losses and the weather
// elsewhere alone, or runs with and without it could not be compared.
func TestFaultChangesNothingElse(t *testing.T) {
	sound := run(t, begin(t, Options{Seed: 7}), 24)
	faulty := run(t, begin(t, Options{Seed: 7, Faults: []Fault{
		{Kind: ProbeSilent, Subject: "bag/a1/moisture", Start: at(5)},
		{Kind: WickLostContact, Subject: "bag/a1", Start: at(5)},
		{Kind: ProbeError, Subject: "air/temperature", Start: at(5)},
	}}), 24)
	for _, topic := range []string{"trial/bag/b1/moisture", "trial/air/radiation", "trial/reservoir/tank/ph", "trial/reservoir/tank/temperature"} {
		assert.Equal(t, on(sound, topic), on(faulty, topic), topic)
	}
	assert.NotEqual(t, on(sound, "trial/bag/a1/moisture"), on(faulty, "trial/bag/a1/moisture"))
}

func TestTruthIsACopy(t *testing.T) {
	s := begin(t, Options{Seed: 1})
	s.Truth().Bags[0].Uptake = 99
	assert.Zero(t, s.Truth().Bags[0].Uptake)
}
