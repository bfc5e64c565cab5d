package solution

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// tapRequest is a 200 L tank, half empty and gone strong, hard tap water and a
// pair of stocks of the usual strength.
func tapRequest(t require.TestingT) Request {
	acid := reagent(t, "phosphoric", 85)
	base := reagent(t, "potassium hydroxide", 10)
	return Request{
		Mode: TopUp, Volume: 120, EC: 1.6, PH: 6.4, Temperature: 20, Capacity: 200,
		TargetEC: 1.4, TargetPH: 5.8,
		Water:  Water{EC: 0.4, PH: 7.6, Alkalinity: 3},
		Stocks: []Stock{{Name: "A", Strength: 0.11}, {Name: "B", Strength: 0.09, Phosphate: 0.1}},
		Acid:   &acid, Base: &base,
	}
}

// Worked by hand: 200·1.4 − 120·1.6 − 80·0.4 = 56 mS/cm·L are short; a mL of
// each stock brings 0.2 and takes the place of 2 mL of water (0.0008), so
// 56/0.1992 = 281.1 mL of each and 80 − 0.562 = 79.44 L of water.
func TestTopUpByHand(t *testing.T) {
	p, err := tapRequest(t).Plan()
	require.NoError(t, err)
	require.Len(t, p.Doses, 2)
	// Phosphoric acid in place of bicarbonate conducts a little less, which the
	// stocks make up for.
	assert.InDelta(t, 281.1, p.Doses[0].ML, 15)
	assert.Equal(t, p.Doses[0].ML, p.Doses[1].ML)
	assert.InDelta(t, 79.44, p.Water, 0.03)
	r := tapRequest(t)
	r.TargetPH = 0
	bare, err := r.Plan()
	require.NoError(t, err)
	assert.InDelta(t, 281.1, bare.Doses[0].ML, 0.1)
	assert.InDelta(t, 79.44, bare.Water, 0.01)
	assert.InDelta(t, 5.8, p.Expected.PH, 1e-3)
	// The acid neutralises most of the alkalinity of 80 L, 240 meq; phosphoric
	// acid of 85 % has 14.7 meq/mL, so some 16 mL, and the tank's own surplus.
	assert.InDelta(t, 16, p.Amount, 5)
	assert.Greater(t, p.Expected.PHAired, p.Expected.PH, "carbon dioxide leaves")
}

func TestCorrectByHand(t *testing.T) {
	r := tapRequest(t)
	r.Mode, r.TargetPH = Correct, 0
	// 120·(1.6−0.4)/(1.4−0.4) = 144 L: 24 L of water.
	p, err := r.Plan()
	require.NoError(t, err)
	assert.InDelta(t, 24, p.Water, 1e-9)
	assert.Zero(t, p.Discard)
	// Full, it has to let out: keep 200·1.0/1.2 = 166.67 L.
	r.Volume = 200
	p, err = r.Plan()
	require.NoError(t, err)
	assert.InDelta(t, 33.33, p.Discard, 0.01)
	assert.InDelta(t, 33.33, p.Water, 0.01)
	assert.InDelta(t, 1.4, p.Expected.EC, 1e-9)
}

func TestPlanRefuses(t *testing.T) {
	tests := map[string]struct {
		change func(*Request)
		want   string
	}{
		"salty water":       {func(r *Request) { r.Water.EC = 1.5 }, "the water alone has 1.50 mS/cm"},
		"too strong":        {func(r *Request) { r.EC = 3 }, "nothing but water it would still have 1.96 mS/cm"},
		"no concentrate":    {func(r *Request) { r.Stocks = nil }, "name the stocks"},
		"a weak acid":       {func(r *Request) { a, _ := NewReagentMolar("nitric", 0.02); r.Acid = &a }, "use a stronger one"},
		"bicarbonate":       {func(r *Request) { b := reagent(t, "bicarbonate", 0); r.Acid = &b }, "raises pH"},
		"acid as base":      {func(r *Request) { b := reagent(t, "nitric", 38); r.Base = &b }, "lowers pH"},
		"overfull":          {func(r *Request) { r.Volume = 300 }, "more than the reservoir holds"},
		"fill below volume": {func(r *Request) { r.Fill = 50 }, "already"},
		"pH of vinegar":     {func(r *Request) { r.TargetPH = 2.5 }, "target pH"},
		"pH not measured":   {func(r *Request) { r.PH = 0 }, "measure it"},
		"not a number":      {func(r *Request) { r.EC = math.NaN() }, "EC of NaN"},
		"uS for mS":         {func(r *Request) { r.EC = 1600 }, "EC of 1600"},
		"no mode":           {func(r *Request) { r.Mode = "stir" }, "not a mode"},
		"correct an empty":  {func(r *Request) { r.Mode, r.Volume, r.PH = Correct, 0, 0 }, "use change"},
		"hardly thins":      {func(r *Request) { r.Mode, r.Water.EC, r.TargetEC = Correct, 1.395, 1.4 }, "hardly thins"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			r := tapRequest(t)
			tt.change(&r)
			p, err := r.Plan()
			assert.ErrorContains(t, err, tt.want)
			assert.Equal(t, Plan{}, p)
		})
	}
}

// Too low a pH takes base, and the plan says what it feeds.
func TestBaseRaises(t *testing.T) {
	r := tapRequest(t)
	r.Mode, r.PH, r.EC = Correct, 4.8, 1.4
	p, err := r.Plan()
	require.NoError(t, err)
	require.NotNil(t, p.Reagent)
	assert.True(t, p.Reagent.Base)
	assert.Less(t, p.Demand, 0.0)
	assert.InDelta(t, 5.8, p.Expected.PH, 1e-3)
	assert.Equal(t, "K", p.Expected.Fed)
}

// Dosed for tomorrow, the pH meets the target once carbon dioxide has left, and
// takes more acid than for today.
func TestAired(t *testing.T) {
	r := tapRequest(t)
	today, err := r.Plan()
	require.NoError(t, err)
	r.Aired = true
	p, err := r.Plan()
	require.NoError(t, err)
	assert.InDelta(t, r.TargetPH, p.Expected.PHAired, 1e-3)
	assert.Less(t, p.Expected.PH, r.TargetPH)
	assert.Greater(t, p.Amount, today.Amount)
}

func TestPlanWithoutAcidStatesTheDemand(t *testing.T) {
	r := tapRequest(t)
	r.Acid = nil
	p, err := r.Plan()
	require.NoError(t, err)
	assert.Nil(t, p.Reagent)
	assert.Contains(t, p.Notes[0], "Name your acid with its strength")
}

func drawRequest(t *rapid.T) Request {
	f := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	r := tapRequest(t)
	r.Mode = rapid.SampledFrom([]Mode{TopUp, Correct, Change}).Draw(t, "mode")
	r.Capacity = f("capacity", 20, 500)
	r.Volume = r.Capacity * f("share", 0.1, 1)
	r.EC, r.PH, r.Temperature = f("EC", 0.6, 3), f("pH", 4.5, 7.5), f("T", 10, 30)
	r.Water = Water{PH: f("water pH", 6.8, 8.2), Alkalinity: f("alkalinity", 0.2, 5)}
	r.Water.EC = 0.1*r.Water.Alkalinity + f("other salts", 0, 0.3) // bicarbonate conducts
	r.TargetEC, r.TargetPH = f("target EC", 0.8, 2.5), f("target pH", 5.3, 6.5)
	return r
}

// A plan that is given meets its target and the reservoir: nothing negative,
// nothing over the brim, water and salt as its own sums say.
func TestPlansMeetTheirTarget(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRequest(t)
		p, err := r.Plan()
		if err != nil {
			t.Skip(err)
		}
		require.GreaterOrEqual(t, p.Discard, 0.0)
		require.GreaterOrEqual(t, p.Water, 0.0)
		require.GreaterOrEqual(t, p.Amount, 0.0)
		require.LessOrEqual(t, p.Expected.Volume, r.Capacity*1.021) // acid comes on top
		require.InEpsilon(t, r.TargetEC, p.Expected.EC, 0.02)
		if p.Reagent != nil {
			require.InDelta(t, r.TargetPH, p.Expected.PH, 1e-3)
		}
		salt := (r.Volume-p.Discard)*r.EC + p.Water*r.Water.EC
		poured := r.Volume - p.Discard + p.Water
		for _, d := range p.Doses {
			salt += d.ML * d.Stock.Strength
			poured += d.ML / 1000
		}
		if p.Reagent != nil {
			salt += p.Amount * p.Reagent.Molarity * p.Reagent.Conducts
			poured += p.Amount / 1000
		}
		require.InEpsilon(t, p.Expected.EC, salt/poured, 1e-6)
	})
}

// The round trip: volumes are off by up to 0.7 %, EC and stocks by half a per
// cent, the alkalinity by 10 %, the phosphate, which was guessed, by 35 % and the
// carbon dioxide by 60 %. Done as the plan says, half of the acid at
// first and most of the rest after measuring, in at most eight goes and mostly two
// or three, the tank ends within 2 % of the EC and 0.1 of the pH.
func TestRoundTripWithWrongInputs(t *testing.T) {
	const ecTolerance, pHTolerance, mostGoes = 0.02, 0.1, 7
	rapid.Check(t, func(t *rapid.T) {
		r := drawRequest(t)
		off := func(name string, by float64) float64 { return 1 + rapid.Float64Range(-by, by).Draw(t, name) }
		p, err := r.Plan()
		if err != nil {
			t.Skip(err)
		}
		carbon, err := restingCarbon(r.EC, r.PH, standingCO2*off("co2", 0.6), r.Temperature)
		require.NoError(t, err)
		standing, err := Standing(r.Volume*off("volume", 0.007), r.EC*off("ec", 0.004), r.PH,
			Totals{Phosphate: r.StandingPhosphate() * off("phosphate", 0.35), Carbon: carbon}, r.Temperature)
		require.NoError(t, err)
		actual := r.Water
		actual.Alkalinity *= off("alkalinity", 0.1)
		water, err := FillWith(actual, p.Water*off("hose", 0.007), r.Temperature)
		require.NoError(t, err)
		for i := range p.Doses {
			p.Doses[i].Stock.Strength *= off("stock", 0.005)
			p.Doses[i].Stock.Phosphate *= off("stock phosphate", 0.35)
		}
		tank := p.Begin().Carry(standing, water)
		// Until it is within 0.1, each time the part that the plan then says.
		next := p
		goes, ec := 0, r.TargetEC
		for ; math.Abs(measuredPH(t, tank)-r.TargetPH) > pHTolerance; goes++ {
			require.Less(t, goes, mostGoes, "pH %.2f", measuredPH(t, tank))
			if r.Tried == nil {
				r.Carbon, r.Phosphate = next.Expected.FirstTotals.Carbon, next.Expected.FirstTotals.Phosphate
			}
			r.PH = measuredPH(t, tank)
			r.Mode, r.TargetEC = Correct, 0
			next, tank = remeasured(t, r, tank)
			if r.Tried = r.After(next); r.Tried != nil {
				r.Tried.ProbeChecked = true // it lives, as measuredPH says
			}
		}
		require.InEpsilon(t, ec, tank.EC(), ecTolerance)
	})
}

func measuredPH(t *rapid.T, tank Tank) float64 {
	pH, err := tank.PH()
	require.NoError(t, err)
	return pH
}

// remeasured corrects the pH by what the plan for what a meter shows says.
func remeasured(t *rapid.T, r Request, tank Tank) (Plan, Tank) {
	r.Mode, r.Volume, r.EC, r.PH = Correct, tank.Volume, tank.EC(), measuredPH(t, tank)
	r.TargetEC, r.Capacity = 0, tank.Volume
	next, err := r.Plan()
	require.NoError(t, err)
	return next, next.Begin().Carry(tank, Tank{})
}

// What is uncertain grows with what is not known: a plan whose acid works on a
// well buffered tank is surer than one that fills with hard water.
func TestExpectedUncertainty(t *testing.T) {
	r := tapRequest(t)
	hard, err := r.Plan()
	require.NoError(t, err)
	assert.Greater(t, hard.Expected.ECSD, 0.01)
	assert.Less(t, hard.Expected.ECSD, 0.06)
	assert.Greater(t, hard.Expected.PHSD, 0.03)
	r.Water.Alkalinity = 0.2
	soft, err := r.Plan()
	require.NoError(t, err)
	assert.Less(t, soft.Amount, hard.Amount)
}
