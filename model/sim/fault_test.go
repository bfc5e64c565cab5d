package sim

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// pair runs one seed with and without faults for some hours.
func pair(t *testing.T, hours float64, faults ...Fault) (sound, faulty *Sim) {
	t.Helper()
	sound = begin(t, Options{Seed: 11})
	faulty = begin(t, Options{Seed: 11, Faults: faults})
	run(t, sound, hours)
	run(t, faulty, hours)
	return sound, faulty
}

func TestLostWickDriesTheBag(t *testing.T) {
	sound, faulty := pair(t, 96, Fault{Kind: WickLostContact, Subject: "bag/a1", Start: at(24), Size: 0.02})
	was, is := bagOf(sound, "a1"), bagOf(faulty, "a1")
	assert.InEpsilon(t, 0.02*was.WickHealth, is.WickHealth, 1e-9)
	assert.Less(t, is.WaterContent, was.WaterContent-0.05)
	assert.Less(t, is.Wicked, was.Wicked)
	assert.InDelta(t, bagOf(sound, "b1").WaterContent, bagOf(faulty, "b1").WaterContent, 1e-9, "the neighbour is well")
}

func TestMendedWickFillsTheBagAgain(t *testing.T) {
	faulty := begin(t, Options{Seed: 11, Faults: []Fault{{Kind: WickLostContact, Subject: "bag/a1", Start: at(24), End: at(96), Size: 0}}})
	rest := bagOf(faulty, "a1").WaterContent
	run(t, faulty, 96)
	assert.Less(t, bagOf(faulty, "a1").WaterContent, rest-0.05)
	run(t, faulty, 240)
	assert.InDelta(t, rest, bagOf(faulty, "a1").WaterContent, 0.02)
}

func TestCloggingStopsAtItsFloor(t *testing.T) {
	s := begin(t, Options{Seed: 11, Faults: []Fault{{Kind: WickClogging, Subject: "bag/a1", Start: at(0), Size: 0.05, Floor: 0.1}}})
	whole := bagOf(s, "a1").WickHealth
	run(t, s, 20)
	// A rate of 0.05/h leaves e⁻¹ after 20 h, give or take a step.
	assert.InDelta(t, math.Exp(-1), bagOf(s, "a1").WickHealth/whole, 0.005)
	run(t, s, 80)
	assert.InDelta(t, 0.1, bagOf(s, "a1").WickHealth/whole, 1e-9)
}

func TestDryChannelFeedsNoneOfItsBags(t *testing.T) {
	s := begin(t, Options{Site: few("a1", "a2", "b1"), Seed: 11, Faults: []Fault{{Kind: ChannelDry, Subject: "channel/a", Start: at(24), End: at(48)}}})
	run(t, s, 24)
	before := s.Truth()
	run(t, s, 48)
	for i, b := range s.Truth().Bags {
		was := before.Bags[i]
		assert.Equal(t, b.Channel != "a", b.Fed, b.ID)
		if b.Channel == "a" {
			assert.Equal(t, was.Wicked, b.Wicked, b.ID)
			assert.Less(t, b.Storage, was.Storage, b.ID)
		} else {
			assert.Greater(t, b.Wicked, was.Wicked, b.ID)
		}
	}
	run(t, s, 49)
	assert.True(t, bagOf(s, "a1").Fed, "water is back")
}

func TestLeak(t *testing.T) {
	sound, faulty := pair(t, 48, Fault{Kind: Leak, Subject: "reservoir/tank", Start: at(10), End: at(30), Size: 0.4})
	is := faulty.Truth().Reservoirs[0]
	assert.InDelta(t, 20*0.4, is.Leaked, 1e-9)
	assert.InDelta(t, sound.Truth().Reservoirs[0].Volume-8, is.Volume, 1e-6)
	assert.InEpsilon(t, sound.Truth().Reservoirs[0].EC, is.EC, 1e-9, "what leaks takes its salt along")
}

func TestDemandFaults(t *testing.T) {
	sound, doubled := pair(t, 48, Fault{Kind: DemandChange, Subject: "bag/a1", Start: at(24), Size: 2})
	first := begin(t, Options{Seed: 11})
	run(t, first, 24)
	day := bagOf(sound, "a1").Wanted - bagOf(first, "a1").Wanted
	assert.InEpsilon(t, 2*day, bagOf(doubled, "a1").Wanted-bagOf(first, "a1").Wanted, 1e-9)

	_, gone := pair(t, 48, Fault{Kind: PlantsGone, Subject: "bag/a1", Start: at(24)})
	assert.Equal(t, bagOf(first, "a1").Uptake, bagOf(gone, "a1").Uptake)

	_, everybody := pair(t, 48, Fault{Kind: DemandChange, Start: at(24), Size: 0.5})
	for _, id := range []string{"a1", "b1"} {
		assert.Less(t, bagOf(everybody, id).Wanted, bagOf(sound, id).Wanted, id)
	}
}

func TestHeatWaveMakesEverybodyThirsty(t *testing.T) {
	before := begin(t, Options{Seed: 11})
	run(t, before, 24)
	sound, hot := pair(t, 39, Fault{Kind: HeatWave, Start: at(24), Size: 8})
	assert.InDelta(t, 8, hot.Truth().Air.Temperature-sound.Truth().Air.Temperature, 3, "8 K and some sun")
	assert.Less(t, hot.Truth().Air.Humidity, sound.Truth().Air.Humidity)
	for _, id := range []string{"a1", "b1"} {
		day := bagOf(sound, id).Wanted - bagOf(before, id).Wanted
		assert.Greater(t, bagOf(hot, id).Wanted-bagOf(before, id).Wanted, 1.15*day, id)
	}
}

func TestReservoirFaults(t *testing.T) {
	s := begin(t, Options{Seed: 11, Fill: 0.5, Faults: []Fault{
		{Kind: WrongRefill, Subject: "reservoir/tank", Start: at(10), Size: 3.1},
		{Kind: SaltDose, Subject: "reservoir/tank", Start: at(20), Size: 60},
		{Kind: PHDrift, Subject: "reservoir/tank", Start: at(24), End: at(48), Size: -1},
	}})
	run(t, s, 10)
	assert.InDelta(t, 1.8, s.Truth().Reservoirs[0].EC, 0.15)
	s.Advance()
	refilled := s.Truth().Reservoirs[0]
	assert.InDelta(t, 3.1, refilled.EC, 1e-9)
	assert.InDelta(t, 375, refilled.Level, 0.01)
	assert.Equal(t, 1, refilled.Refills)
	run(t, s, 24)
	dosed := s.Truth().Reservoirs[0]
	assert.InDelta(t, 3.1+60/180.0, dosed.EC, 0.01, "60 mS/cm·L in 180 L")
	run(t, s, 48)
	assert.InDelta(t, -1+alkaline, s.Truth().Reservoirs[0].PH-dosed.PH, 1e-6)
}

func TestWateringFromAbove(t *testing.T) {
	lost := Fault{Kind: WickLostContact, Subject: "bag/a1", Start: at(0), Size: 0}
	_, dry := pair(t, 30, lost)
	_, wet := pair(t, 30, lost, Fault{Kind: WateredFromAbove, Subject: "bag/a1", Start: at(29), Size: 0.5})
	assert.InDelta(t, 0.5, bagOf(wet, "a1").Watered, 1e-6)
	assert.InDelta(t, 0.5, bagOf(wet, "a1").Storage-bagOf(dry, "a1").Storage, 0.05, "less the little that runs down into the wicks")
	_, soaked := pair(t, 30, Fault{Kind: WateredFromAbove, Subject: "bag/a1", Start: at(29), Size: 50})
	assert.Less(t, bagOf(soaked, "a1").Watered, 3.0, "what finds no room runs off")
}

func TestRunOut(t *testing.T) {
	s := begin(t, Options{Seed: 11, Site: few("a1", "a2", "b1"), Fill: 0.01, Refill: RefillNever})
	run(t, s, 72)
	tank := s.Truth().Reservoirs[0]
	assert.LessOrEqual(t, tank.Level, 50.0)
	assert.Greater(t, tank.Level, 49.0, "no more than a step's draw below empty")
	assert.False(t, bagOf(s, "a1").Fed)
}

func TestRefillComesAtNine(t *testing.T) {
	tests := map[string]struct {
		faults  []Fault
		refills [4]int // by 8:50 and 9:00 of the first morning and of the fourth
	}{
		"somebody is there": {nil, [4]int{0, 1, 1, 1}},
		"nobody comes":      {[]Fault{{Kind: NoRefill, Subject: "reservoir/tank", Start: at(0), End: at(60)}}, [4]int{0, 0, 0, 1}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			s := begin(t, Options{Seed: 11, Fill: 0.2, Faults: tt.faults})
			for i, hours := range []float64{8.8, 9, 80.8, 81} {
				run(t, s, hours)
				assert.Equal(t, tt.refills[i], s.Truth().Reservoirs[0].Refills, "after %v h", hours)
			}
		})
	}
}

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
		WickLostContact, WickClogging, ChannelDry, Leak, DemandChange, HeatWave, PlantsGone, ProbeStuck,
		ProbeLostContact, ProbeSilent, ProbeDrift, ProbeError, WrongRefill, SaltDose, PHDrift, NoRefill, WateredFromAbove,
	} {
		_, ok := k.requirements()
		assert.True(t, ok, k)
	}
}
