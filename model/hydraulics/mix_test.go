package hydraulics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func mustTypical(name string) VanGenuchten {
	m, ok := Typical(name)
	if !ok {
		panic("no typical figures for " + name)
	}
	return m.Material
}

func houseParts() []Part {
	return []Part{
		{"perlite", 0.5, mustTypical("perlite")},
		{"coir", 0.3, mustTypical("coir")},
		{"peat", 0.2, mustTypical("peat")},
	}
}

// Mualem's integral taken numerically over one medium's curve must give van
// Genuchten's closed form of it (1980, eq. 8), an independent derivation.
func TestCompositeOfOneIsItself(t *testing.T) {
	for name, m := range map[string]VanGenuchten{"house": houseMix, "wedge": wedge, "loam": loam} {
		t.Run(name, func(t *testing.T) {
			mix, err := Mix([]Part{{"half", 0.5, m}, {"other half", 0.5, m}}, MixOptions{MeasuredShrink: true})
			require.NoError(t, err)
			for _, h := range []float64{0, -0.01, -0.5, -3, -10, -50, -300, -3000} {
				assert.InDelta(t, m.Theta(h), mix.Theta(h), 1e-12, "θ(%g)", h)
				assert.InEpsilon(t, m.Conductivity(h), mix.Conductivity(h), 2e-4, "K(%g)", h)
			}
		})
	}
}

// Solids are conserved: before and after, per volume of mix.
func TestMixKeepsSolids(t *testing.T) {
	mix, err := Mix(houseParts(), MixOptions{Shrink: 0.10})
	require.NoError(t, err)
	solids := 0.0
	for _, p := range mix.Parts() {
		solids += p.Fraction * (1 - p.Material.Saturated())
	}
	assert.InDelta(t, solids, mix.Yield()*(1-mix.Saturated()), 1e-12)
	shrink, typical := mix.Shrink()
	assert.Equal(t, 0.10, shrink)
	assert.False(t, typical)
}

// Unmeasured shrink is a typical figure, said to be one, and not zero.
func TestShrinkIsNeverSilentlyZero(t *testing.T) {
	mix, err := Mix(houseParts(), MixOptions{})
	require.NoError(t, err)
	shrink, typical := mix.Shrink()
	assert.Greater(t, shrink, 0.05)
	assert.True(t, typical)
	assert.True(t, mix.EstimatedKs())
	measured, err := Mix(houseParts(), MixOptions{MeasuredShrink: true, Ks: 330})
	require.NoError(t, err)
	shrink, typical = measured.Shrink()
	assert.Zero(t, shrink)
	assert.False(t, typical)
	assert.Equal(t, 330.0, measured.Conductivity(0))
	// Filling costs air, not the water that fine pores hold.
	assert.Less(t, AerationOf(mix).AirSpace, AerationOf(measured).AirSpace)
	assert.Greater(t, AerationOf(mix).Held, AerationOf(measured).Held)
}

func TestMixIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0.05, 0.95).Draw(t, "fraction")
		mix, err := Mix([]Part{{"a", f, drawMedium(t, "a")}, {"b", 1 - f, drawMedium(t, "b")}}, MixOptions{
			MeasuredShrink: rapid.Bool().Draw(t, "measured"), Shrink: rapid.Float64Range(0, 0.02).Draw(t, "shrink"),
		})
		require.NoError(t, err)
		theta, k := mix.Saturated(), mix.Conductivity(0)
		for u := -14.0; u < 16; u += 0.5 {
			a, c, b := mix.state(-math.Exp(u))
			require.False(t, bad(a) || bad(b) || bad(c))
			require.LessOrEqual(t, a, theta+1e-12)
			require.LessOrEqual(t, b, k*(1+1e-9))
			require.GreaterOrEqual(t, a, mix.Residual())
			require.GreaterOrEqual(t, c, 0.0)
			theta, k = a, b
		}
	})
}

func TestMixRefuses(t *testing.T) {
	tests := map[string]struct {
		parts   []Part
		options MixOptions
		want    string
	}{
		"nothing":       {nil, MixOptions{}, "no parts"},
		"not the whole": {[]Part{{"coir", 0.4, loam}}, MixOptions{}, "sum to 0.4"},
		"negative":      {[]Part{{"coir", -1, loam}}, MixOptions{}, "fraction -1"},
		"no figures":    {[]Part{{"coir", 1, VanGenuchten{}}}, MixOptions{}, `part "coir"`},
		"shrink":        {houseParts(), MixOptions{Shrink: 0.7}, "shrink 0.7"},
		"too much":      {houseParts(), MixOptions{Shrink: 0.4}, "half the drainable pores"},
		"conductivity":  {houseParts(), MixOptions{Ks: -1}, "conductivity"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, err := Mix(test.parts, test.options)
			require.ErrorContains(t, err, test.want)
		})
	}
}

// The ranges of the literature for retention parameters, typical order only
// [M]; coir's pore space and bulk density after Abad et al. 2005 [P].
func TestTypicalFiguresLieInTheirRanges(t *testing.T) {
	type span struct{ lo, hi float64 }
	tests := map[string]struct{ saturated, alpha, n span }{
		"peat":       {span{.88, .94}, span{.05, .15}, span{1.3, 1.8}},
		"coir":       {span{.85, .95}, span{.08, .3}, span{1.3, 2}},
		"perlite":    {span{.55, .75}, span{.1, .4}, span{1.3, 2.5}},
		"stone wool": {span{.92, .96}, span{.05, .2}, span{2, 4}},
	}
	in := func(t *testing.T, s span, x float64) {
		assert.True(t, x >= s.lo && x <= s.hi, "%g not in %v", x, s)
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			m := mustTypical(name)
			in(t, test.saturated, m.SaturatedTheta)
			in(t, test.alpha, m.Alpha)
			in(t, test.n, m.N)
		})
	}
	peat := mustTypical("peat")
	in(t, span{50, 500}, peat.Ks)
	coir, _ := Typical("Coir")
	in(t, span{.08, .12}, coir.BulkDensity)
	assert.Greater(t, coir.Material.SaturatedTheta, .919)
	assert.Len(t, TypicalNames(), 9)
	for _, name := range TypicalNames() {
		m, ok := Typical(name)
		require.True(t, ok)
		require.NoError(t, m.Material.Validate())
		assert.Contains(t, m.Origin, "typical")
	}
	_, ok := Typical("gravel")
	assert.False(t, ok)
}

// De Boodt & Verdonck 1972: an ideal medium has 20–30 % air, 20–30 % easily
// available water and 4–10 % buffer [M]. Coir and peat are what they had in
// mind; allow as much again on either side.
func TestAerationOfPottingMedia(t *testing.T) {
	for _, name := range []string{"coir", "peat"} {
		a := AerationOf(mustTypical(name))
		assert.InDelta(t, 0.25, a.AirSpace, 0.12, name)
		assert.InDelta(t, 0.25, a.EasilyAvailable, 0.10, name)
		assert.InDelta(t, 0.07, a.Buffer, 0.06, name)
		assert.InDelta(t, a.Porosity, a.AirSpace+a.EasilyAvailable+a.Buffer+a.Held, 1e-12)
	}
	// At 1, 5 and 10 kPa, by hand from the parameters of coir:
	// Se = (1+(0.20·10.197)^1.55)^−0.35484 = 0.6102, so air is 0.84·0.3898.
	assert.InDelta(t, 0.3274, AerationOf(mustTypical("coir")).AirSpace, 5e-4)
}

// A bag low over the water holds more water and less air than the laboratory's
// 1 kPa says, a high one less and more.
func TestAerationDependsOnTheLift(t *testing.T) {
	s := storeOf(t, Tube{12, 80, .97}, houseMix)
	low, high := s.Aeration(2), s.Aeration(20)
	assert.Less(t, low.AirSpace, AerationOf(houseMix).AirSpace)
	assert.Greater(t, high.AirSpace, AerationOf(houseMix).AirSpace)
	assert.Greater(t, low.EasilyAvailable, high.EasilyAvailable)
	assert.InDelta(t, s.EasilyAvailable(7), s.Storage(7)-s.Storage(EasySuction), 1e-9)
	dry := s.Aeration(80)
	assert.Zero(t, dry.EasilyAvailable)
	assert.Greater(t, dry.Buffer, 0.0)
}

// Packing: solids are conserved, pores shrink, less passes.
func TestPacking(t *testing.T) {
	loose, ok := Typical("coir")
	require.True(t, ok)
	firm, err := loose.AtDensity(1.3)
	require.NoError(t, err)
	assert.InDelta(t, 1.3*(1-loose.Material.SaturatedTheta), 1-firm.Material.SaturatedTheta, 1e-12)
	assert.InDelta(t, 1.3*loose.BulkDensity, firm.BulkDensity, 1e-12)
	assert.Less(t, firm.Material.Alpha, loose.Material.Alpha)
	assert.Less(t, firm.Material.Ks, loose.Material.Ks)
	assert.Less(t, AerationOf(firm.Material).AirSpace, AerationOf(loose.Material).AirSpace)
	assert.Contains(t, firm.Origin, "packed to 1.30")
	same, err := loose.AtDensity(1)
	require.NoError(t, err)
	assert.InDelta(t, loose.Material.Ks, same.Material.Ks, 1e-9)
	assert.Equal(t, loose.Origin, same.Origin)
	_, err = loose.AtDensity(13)
	require.ErrorContains(t, err, "must lie in")
}
