package sim

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func numbers(t *testing.T, payloads []string) []float64 {
	t.Helper()
	var out []float64
	for _, p := range payloads {
		x, err := strconv.ParseFloat(p, 64)
		require.NoError(t, err)
		out = append(out, x)
	}
	return out
}

func TestProbeFaults(t *testing.T) {
	const topic = "trial/bag/a1/moisture"
	sensor := model.Subject("bag/a1/moisture")
	heard := func(f Fault) []float64 {
		f.Subject, f.Start, f.End = sensor, at(12), at(24)
		s := begin(t, Options{Site: few("a1"), Seed: 11, Loss: -1, Faults: []Fault{f}})
		return numbers(t, on(run(t, s, 36), topic))
	}
	sound := numbers(t, on(run(t, begin(t, Options{Site: few("a1"), Seed: 11, Loss: -1}), 36), topic))
	require.Len(t, sound, 216)

	stuck := heard(Fault{Kind: ProbeStuck})
	assert.Equal(t, sound[:71], stuck[:71])
	for _, x := range stuck[71:143] {
		assert.Equal(t, sound[70], x)
	}
	assert.Equal(t, sound[143:], stuck[143:], "and free again")

	assert.Len(t, heard(Fault{Kind: ProbeSilent}), 216-72)

	gap := heard(Fault{Kind: ProbeLostContact, Size: 0.45})
	assert.InDelta(t, 0.45*mean(sound[71:143]), mean(gap[71:143]), 0.5)

	drift := heard(Fault{Kind: ProbeDrift, Size: 0.2})
	assert.InDelta(t, 20*71.0/144, drift[142]-sound[142], 0.15, "20 % vol a day, for 71 steps")

	failed := heard(Fault{Kind: ProbeError})
	for _, x := range failed[71:143] {
		assert.Equal(t, -127.0, x)
	}
}

// What jams trembles on by its noise.
func TestJammedSensor(t *testing.T) {
	const topic = "trial/air/temperature"
	heard := func(faults ...Fault) []float64 {
		s := begin(t, Options{Site: few("a1"), Seed: 11, Loss: -1, Faults: faults})
		return numbers(t, on(run(t, s, 24), topic))
	}
	sound := heard()
	jammed := heard(Fault{Kind: ProbeJammed, Subject: model.AirSubject(model.Temperature), Start: at(12), End: at(22)})
	assert.Equal(t, sound[:71], jammed[:71])
	assert.Equal(t, sound[131:], jammed[131:], "and free again")
	assert.Greater(t, math.Abs(mean(sound[71:77])-mean(sound[125:131])), 2.0, "K from noon to ten")
	assert.InDelta(t, mean(jammed[71:77]), mean(jammed[125:131]), 0.4)
	different := map[float64]bool{}
	for _, v := range jammed[71:131] {
		different[v] = true
	}
	assert.Greater(t, len(different), 5)
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func TestFaultsAreRefusedAtTheDoor(t *testing.T) {
	tests := map[string]struct {
		fault Fault
		says  string
	}{
		"no such kind":        {Fault{Kind: "meteorite", Start: start}, "no such fault"},
		"no such bag":         {Fault{Kind: PlantsGone, Subject: "bag/z9", Start: start}, "bag/z9"},
		"a bag's sensor":      {Fault{Kind: PlantsGone, Subject: "bag/a1/moisture", Start: start}, "bag/a1/moisture"},
		"no such sensor":      {Fault{Kind: ProbeStuck, Subject: "bag/a1", Start: start}, "no sensor"},
		"no subject":          {Fault{Kind: Leak, Start: start, Size: 1}, "reservoir"},
		"no size":             {Fault{Kind: Leak, Subject: "reservoir/tank", Start: start}, "size"},
		"health above 1":      {Fault{Kind: WickLostContact, Subject: "bag/a1", Start: start, Size: 2}, "size"},
		"not a number":        {Fault{Kind: WickClogging, Subject: "bag/a1", Start: start, Size: math.NaN()}, "size"},
		"floor above 1":       {Fault{Kind: WickClogging, Subject: "bag/a1", Start: start, Size: 1, Floor: 2}, "floor"},
		"no start":            {Fault{Kind: PlantsGone, Subject: "bag/a1"}, "start"},
		"ends before":         {Fault{Kind: PlantsGone, Subject: "bag/a1", Start: at(2), End: at(1)}, "end"},
		"event in the past":   {Fault{Kind: SaltDose, Subject: "reservoir/tank", Start: at(-1), Size: 1}, "before"},
		"heat somewhere":      {Fault{Kind: HeatWave, Subject: "bag/a1", Start: start, Size: 1}, "bag/a1"},
		"refill of a channel": {Fault{Kind: NoRefill, Subject: "channel/a", Start: start}, "channel/a"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := New(Options{Site: DemoSite(), Start: start, Faults: []Fault{tt.fault}})
			assert.ErrorContains(t, err, tt.says)
		})
	}
}

func TestEveryKindHasRequirements(t *testing.T) {
	for _, k := range []FaultKind{
		WickLostContact, WickClogging, ChannelDry, Leak, DemandChange, HeatWave, PlantsGone, ProbeStuck, ProbeJammed,
		ProbeLostContact, ProbeSilent, ProbeDrift, ProbeError, WrongRefill, SaltDose, PHDrift, ECDrift, NoRefill, WateredFromAbove,
	} {
		_, ok := k.requirements()
		assert.True(t, ok, k)
	}
}
