package sim

import (
	"flag"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model"
)

// balance is all water and all salt, less what came in, plus what went out:
// what must stay the same.
func balance(t Truth) (water, salt float64) {
	for _, r := range t.Reservoirs {
		water += r.Volume + r.Standing + r.Leaked + r.Evaporated - r.Refilled
		salt += r.Salt + r.SaltLeaked - r.SaltAdded
	}
	for _, b := range t.Bags {
		water += b.Storage + b.WickStorage + b.Uptake - b.Watered
		salt += b.Salt + b.SaltTaken - b.SaltAdded
	}
	return water, salt
}

func TestWaterAndSaltAreConservedOverTwoWeeks(t *testing.T) {
	s := begin(t, Options{
		Seed: 3, Fill: 0.3, OpenWater: 0.2,
		Faults: []Fault{
			{Kind: Leak, Subject: "reservoir/tank", Start: at(50), End: at(150), Size: 0.3},
			{Kind: WickLostContact, Subject: "bag/a1", Start: at(100), Size: 0.2},
			{Kind: WateredFromAbove, Subject: "bag/a1", Start: at(220), Size: 1.5},
			{Kind: WrongRefill, Subject: "reservoir/tank", Start: at(300), Size: 3},
		},
	})
	water, salt := balance(s.Truth())
	run(t, s, 14*24)
	end := s.Truth()
	waterEnd, saltEnd := balance(end)
	assert.InEpsilon(t, water, waterEnd, 1e-6, "water")
	assert.InEpsilon(t, salt, saltEnd, 1e-6, "salt")
	tank := end.Reservoirs[0]
	assert.Positive(t, tank.Leaked)
	assert.Positive(t, tank.Evaporated)
	assert.Positive(t, tank.Refilled)
	lifted := 0.0
	for _, b := range end.Bags {
		lifted += b.Wicked
	}
	assert.InEpsilon(t, tank.Drawn, lifted, 1e-9, "what the tank gave is what the wicks lifted")
}

// atTimes is a site whose channels stand on what they hold.
func atTimes(site *model.Site, litres float64) *model.Site {
	site.Reservoirs[0].FeedsAtTimes = true
	for i := range site.Channels {
		site.Channels[i].Holds = litres
	}
	return site
}

func TestChannelsThatAreFilledAtTimes(t *testing.T) {
	s := begin(t, Options{Seed: 3, Fill: 0.9, Site: atTimes(few("a1", "a2", "b1"), 4)})
	water, salt := balance(s.Truth())
	before := s.Truth().Reservoirs[0]
	fell := map[int]float64{} // L, by the hour of the day
	for range 2 * 24 * 6 {
		now, _ := s.Advance()
		tank := s.Truth().Reservoirs[0]
		if d := before.Volume - tank.Volume; d > 0 {
			fell[now.Hour()] += d
			assert.InDelta(t, 8, tank.Standing, 0.5, "both channels are full")
		}
		before = tank
	}
	waterEnd, saltEnd := balance(s.Truth())
	assert.InEpsilon(t, water, waterEnd, 1e-6, "water")
	assert.InEpsilon(t, salt, saltEnd, 1e-6, "salt")
	assert.Len(t, fell, len(fillHours), "the level stands but where somebody comes by")
	assert.Positive(t, fell[fillHours[0]])
	assert.Positive(t, fell[fillHours[1]])
}

func TestAChannelThatIsNotFilledInTimeRunsDry(t *testing.T) {
	s := begin(t, Options{Seed: 3, Fill: 0.9, Site: atTimes(few("a1", "b1"), 0.3)})
	hours := map[int]bool{} // of the day, in which nothing was fed
	for range 3 * 24 * 6 {
		now, _ := s.Advance()
		if !bagOf(s, "a1").Fed {
			hours[now.Hour()] = true
		}
	}
	assert.True(t, hours[17], "%v", hours)
	assert.False(t, hours[9], "%v", hours)
}

// faultGenerator draws faults that a real site could have, in the first day.
func faultGenerator(site *model.Site) *rapid.Generator[Fault] {
	size := map[FaultKind]*rapid.Generator[float64]{
		WickLostContact: rapid.Float64Range(0, 1), WickClogging: rapid.Float64Range(0.01, 2),
		ChannelDry: rapid.Just(0.0), Leak: rapid.Float64Range(0.01, 20),
		DemandChange: rapid.Float64Range(0, 4), HeatWave: rapid.Float64Range(0, 15),
		PlantsGone: rapid.Just(0.0), WateredFromAbove: rapid.Float64Range(0.01, 10),
		WrongRefill: rapid.Float64Range(0, 10), SaltDose: rapid.Float64Range(0, 500),
		NoRefill: rapid.Just(0.0), PHDrift: rapid.Float64Range(-2, 2),
		ECDrift: rapid.Float64Range(-2, 2),
	}
	kinds := []FaultKind{
		WickLostContact, WickClogging, ChannelDry, Leak, DemandChange, HeatWave,
		PlantsGone, WateredFromAbove, WrongRefill, SaltDose, NoRefill, PHDrift, ECDrift,
	}
	return rapid.Custom(func(t *rapid.T) Fault {
		f := Fault{Kind: rapid.SampledFrom(kinds).Draw(t, "kind")}
		f.Size = size[f.Kind].Draw(t, "size")
		from := rapid.Float64Range(0, 24).Draw(t, "from")
		f.Start = at(from)
		if rapid.Bool().Draw(t, "mended") {
			f.End = at(from + rapid.Float64Range(0.1, 12).Draw(t, "for"))
		}
		switch r, _ := f.Kind.requirements(); r.subject {
		case model.KindBag:
			f.Subject = model.BagSubject(rapid.SampledFrom(site.Bags).Draw(t, "bag").ID)
		case model.KindChannel:
			f.Subject = model.ChannelSubject(rapid.SampledFrom(site.Channels).Draw(t, "channel").ID)
		case model.KindReservoir:
			f.Subject = model.ReservoirSubject("tank")
		}
		return f
	})
}

// Whatever goes wrong, nothing is lost, nothing is below 0, and two runs agree.
//
// Each case is a day of a site, so fewer are drawn than rapid would; ask for
// more with -rapid.checks.
func TestConservationUnderAnyFaults(t *testing.T) {
	if checks := flag.Lookup("rapid.checks"); checks.Value.String() == checks.DefValue {
		require.NoError(t, checks.Value.Set("15"))
		defer func() { require.NoError(t, checks.Value.Set(checks.DefValue)) }()
	}
	site := few("a1", "b1")
	sites := []*model.Site{site, atTimes(few("a1", "b1"), 1.5)}
	rapid.Check(t, func(t *rapid.T) {
		o := Options{
			Site: rapid.SampledFrom(sites).Draw(t, "site"), Start: start, Step: 30 * time.Minute,
			Seed:   rapid.Uint64().Draw(t, "seed"),
			Fill:   rapid.Float64Range(0.001, 1).Draw(t, "fill"),
			Refill: rapid.SampledFrom([]RefillPolicy{RefillAtLow, RefillNever}).Draw(t, "policy"),
			Faults: rapid.SliceOfN(faultGenerator(site), 0, 5).Draw(t, "faults"),
		}
		s, err := New(o)
		require.NoError(t, err)
		water, salt := balance(s.Truth())
		for range 60 {
			s.Advance()
			holds(t, s.Truth())
		}
		require.NoError(t, s.Err())
		waterEnd, saltEnd := balance(s.Truth())
		if math.Abs(waterEnd-water) > 1e-6*water || math.Abs(saltEnd-salt) > 1e-6*(1+math.Abs(salt)) {
			t.Fatalf("water %v → %v L, salt %v → %v", water, waterEnd, salt, saltEnd)
		}
	})
}

// holds checks what is so at any time.
func holds(t *rapid.T, truth Truth) {
	for _, b := range truth.Bags {
		ok := b.WaterContent > 0 && b.WaterContent <= 0.76 && b.Uptake >= 0 && b.Salt >= 0 &&
			b.Uptake <= b.Wanted*(1+1e-6)+1e-9 && b.WickHealth >= 0
		if !ok {
			t.Fatalf("impossible bag %+v", b)
		}
	}
	for _, r := range truth.Reservoirs {
		if !(r.Volume >= 0 && r.EC >= 0 && r.Level >= 0 && r.PH >= lowestPH && r.PH <= highestPH) {
			t.Fatalf("impossible reservoir %+v", r)
		}
	}
}
