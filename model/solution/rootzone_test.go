package solution

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func zone(t require.TestingT, water, ec, sd float64) RootZone {
	z, err := NewRootZone(water, ec, sd)
	require.NoError(t, err)
	return z
}

// By hand: 1.5 L a day of 2.0 mS/cm in, plants take 1.2 of it: 1.2 mS/cm·L a day
// into 4 L is 0.3 mS/cm a day; from 2.0 to a limit of 3.5 takes 5 days.
func TestRootZoneByHand(t *testing.T) {
	flow := Flow{Inflow: 1.5, Uptake: 1.5, EC: 2.0, Days: 1, Feeding: Feeding{Concentration: 1.2}}
	z := zone(t, 4, 2.0, 0)
	assert.InDelta(t, 1.2, z.Rate(flow), 1e-9)
	assert.InDelta(t, 5, z.DaysUntil(3.5, flow), 1e-9)
	for range 5 {
		var err error
		z, err = z.Step(flow)
		require.NoError(t, err)
	}
	ec, _ := z.EC()
	assert.InDelta(t, 3.5, ec, 1e-9)
	assert.InDelta(t, 0, z.DaysUntil(3.5, flow), 1e-9)
	assert.InDelta(t, 1.2, z.WeakerFeed(flow), 1e-9)
	flow.EC = 1.2
	assert.True(t, math.IsInf(z.DaysUntil(4, flow), 1), "fed at what they take it stands")
}

// The standard deviation of a lasting error of the uptake concentration grows
// with the water drunk: 10 days · 1.5 L · 0.3 mS/cm = 4.5 mS/cm·L.
func TestRootZoneUncertainty(t *testing.T) {
	z := zone(t, 4, 2, 0)
	for range 10 {
		var err error
		z, err = z.Step(Flow{Inflow: 1.5, Uptake: 1.5, EC: 2, Days: 1, Feeding: Feeding{1.2, 0.3}})
		require.NoError(t, err)
	}
	assert.InDelta(t, 4.5, z.SaltSD, 1e-6)
	ec, sd := z.EC()
	assert.InDelta(t, 0.5, z.Above(ec), 1e-9)
	assert.InDelta(t, 0.8413, z.Above(ec-sd), 1e-4) // normal table
	assert.Less(t, z.Above(ec+3*sd), 0.002)
}

// A sample tells of the salt and of what the plants take, as much as Bayes' rule makes of
// draws of both that are weighed by it.
func TestASampleOfTheRootZone(t *testing.T) {
	const days, in, feed, measured, sd = 10, 1.5, 2.0, 2.4, 0.4
	usual := Feeding{Concentration: 1.2, SD: 0.3}
	z := zone(t, 4, 2, 0)
	for range days {
		var err error
		z, err = z.Step(Flow{Inflow: in, Uptake: in, EC: feed, Days: 1, Feeding: usual})
		require.NoError(t, err)
	}
	after, told, err := z.Measure(measured, sd, usual)
	require.NoError(t, err)

	var weights, salt, taken, salt2, taken2, both float64
	rng := rand.New(rand.NewPCG(1, 2))
	for range 400_000 {
		c := usual.Concentration + usual.SD*rng.NormFloat64()
		m := 4*2 + days*in*(feed-c)
		w := math.Exp(-math.Pow((m/4-measured)/sd, 2) / 2)
		weights, salt, taken = weights+w, salt+w*m, taken+w*c
		salt2, taken2, both = salt2+w*m*m, taken2+w*c*c, both+w*m*c
	}
	salt, taken = salt/weights, taken/weights
	assert.InDelta(t, salt, after.Salt, 0.03)
	assert.InDelta(t, taken, told.Concentration, 0.005)
	assert.InDelta(t, math.Sqrt(salt2/weights-salt*salt), after.SaltSD, 0.02)
	assert.InDelta(t, math.Sqrt(taken2/weights-taken*taken), told.SD, 0.003)
	assert.InDelta(t, -(both/weights - salt*taken), after.Fed*told.SD*told.SD, 0.03, "and what they go together by yet")

	for _, bad := range [][2]float64{{math.NaN(), 1}, {-1, 1}, {2, 0}} {
		_, _, err := z.Measure(bad[0], bad[1], usual)
		assert.ErrorContains(t, err, "measure a root zone")
	}
}

// Complete mixing: to halve the excess over the flush takes W·ln 2, and half as
// much again for channels.
func TestFlush(t *testing.T) {
	litres, err := zone(t, 4, 3.4, 0).Flush(0.4, 1.9)
	require.NoError(t, err)
	assert.InDelta(t, 1.5*4*math.Ln2, litres, 1e-9)
	_, err = zone(t, 4, 3.4, 0).Flush(2, 1.9)
	assert.ErrorContains(t, err, "take weaker")
	litres, err = zone(t, 4, 1.0, 0).Flush(0.4, 1.9)
	require.NoError(t, err)
	assert.Zero(t, litres)
}

// Whatever flows: water is conserved, what comes in brings its salt and nothing
// else, what siphons back takes the solution as it is, and plants take salt no
// stronger than it is there, so that they never thin it.
func TestRootZoneConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := zone(t, rapid.Float64Range(1, 10).Draw(t, "W"), rapid.Float64Range(0.5, 4).Draw(t, "EC"), 0.1)
		step := func(f Flow) (from, to RootZone) {
			f.InflowSD, f.ECSD = 0.01, 0.02
			from = z
			var err error
			z, err = z.Step(f)
			require.NoError(t, err)
			require.InDelta(t, from.Water+f.Inflow-f.Uptake, z.Water, 1e-9)
			require.GreaterOrEqual(t, z.Salt, 0.0)
			require.GreaterOrEqual(t, z.SaltSD, 0.0)
			return from, z
		}
		ec := func(z RootZone) float64 {
			v, _ := z.EC()
			return v
		}
		for range rapid.IntRange(1, 50).Draw(t, "steps") {
			litres, feed := rapid.Float64Range(0, 0.2).Draw(t, "litres"), rapid.Float64Range(0.5, 3).Draw(t, "feed")
			before, after := step(Flow{Inflow: litres, EC: feed, Feeding: UsualFeeding()})
			require.InDelta(t, before.Salt+litres*feed, after.Salt, 1e-9)
			before, after = step(Flow{Uptake: litres, EC: feed, Feeding: UsualFeeding()})
			require.LessOrEqual(t, after.Salt, before.Salt)
			require.GreaterOrEqual(t, ec(after), ec(before)-1e-9)
			before, after = step(Flow{Uptake: litres / 2, EC: feed})
			require.InDelta(t, before.Salt, after.Salt, 1e-9, "who takes no salt leaves it")
			before, after = step(Flow{Inflow: -litres / 4, EC: feed, Feeding: UsualFeeding()})
			require.InDelta(t, ec(before), ec(after), 1e-9)
			step(Flow{Inflow: litres, EC: feed, Feeding: UsualFeeding()})
		}
	})
}

func TestRootZoneRefuses(t *testing.T) {
	_, err := NewRootZone(0, 1, 1)
	assert.ErrorContains(t, err, "above 0")
	z := zone(t, 4, 2, 0.1)
	same, err := z.Step(Flow{Inflow: math.NaN()})
	assert.ErrorContains(t, err, "not a number")
	assert.Equal(t, z, same)
}

// EN 25814 [P]: 10 11.3, 15 10.1, 20 9.09, 25 8.26, 30 7.56 mg/L at 101.325 kPa.
func TestOxygenSaturation(t *testing.T) {
	for celsius, want := range map[float64]float64{10: 11.3, 15: 10.1, 20: 9.09, 25: 8.26, 30: 7.56} {
		got, err := OxygenSaturation(celsius, 101.325)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 0.05)
	}
	// At 1600 m (83.5 kPa) and 20 °C: 7.5 mg/L (tables of field handbooks [M]).
	high, err := OxygenSaturation(20, 83.5)
	require.NoError(t, err)
	assert.InDelta(t, 7.5, high, 0.1)
	for _, x := range [][2]float64{{-1, 101}, {50, 101}, {20, 20}, {math.NaN(), 101}} {
		_, err := OxygenSaturation(x[0], x[1])
		assert.Error(t, err)
	}
	held, err := OxygenSaturation(30, 101.325)
	require.NoError(t, err)
	assert.InDelta(t, 7.56, held, 0.05)
}

func TestEvaporation(t *testing.T) {
	// 0.5 m² half covered at 4 mm: 1.05 · 0.5 · 4 · 0.5 = 1.05 L.
	assert.InDelta(t, 1.05, Evaporation(0.5, 4, 0.5), 1e-9)
	assert.Zero(t, Evaporation(0.5, -1, 0.5))
}
