package sim

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
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
		{Kind: ECDrift, Subject: "reservoir/tank", Start: at(24), End: at(36), Size: 0.2},
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
	assert.InDelta(t, dosed.EC+0.1, s.Truth().Reservoirs[0].EC, 1e-6, "half a day of it; wicks take the solution as it is")
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
