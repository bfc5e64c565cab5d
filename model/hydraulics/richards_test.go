package hydraulics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// celia is the medium of Celia, Bouloutas & Zarba 1990, Water Resour. Res.
// 26:1483, their case for New Mexico [P].
var celia = VanGenuchten{ResidualTheta: 0.102, SaturatedTheta: 0.368, Alpha: 0.0335, N: 2, Ks: 0.00922 * 3600}

// balanced is the mass balance this package promises, relative to what passed.
const balanced = 1e-6

func requireBalanced(t require.TestingT, b Balance) {
	passed := math.Abs(b.Bottom) + math.Abs(b.Top) + b.TakenUp + math.Abs(b.Stored)
	require.LessOrEqual(t, math.Abs(b.Error()), balanced*passed+1e-9)
}

// Infiltration into a dry soil: 100 cm, initial and bottom −1000 cm, top
// −75 cm, 1 day. Heads on a fine grid [D].
func TestCelia1990(t *testing.T) {
	c, err := NewColumn(uniformColumn(celia, 100, 100, -1000))
	require.NoError(t, err)
	b, err := c.Advance(24, Forcing{Bottom: Boundary{FixedHead, -1000}, Top: Boundary{FixedHead, -75}})
	require.NoError(t, err)
	requireBalanced(t, b)
	for depth, want := range map[float64]float64{10: -76.87, 20: -80.28, 30: -86.72} {
		assert.InDelta(t, want, headAt(c, 100-depth), 0.1, "depth %g", depth)
	}
	assert.InDelta(t, -142.85, headAt(c, 50), 1.5, "the front")
}

// Infiltration into sand: Haverkamp et al. 1977, 40 cm, initial and bottom
// −61.5, top −20.7 cm, 360 s. Heads [D]; at the front they stand for its place
// to within 2 cm.
func TestHaverkamp1977(t *testing.T) {
	sand := haverkamp{.075, .287, 1.611e6, 3.96, .00944 * 3600, 1.175e6, 4.74}
	c, err := NewColumn(uniformColumn(sand, 40, 160, -61.5))
	require.NoError(t, err)
	b, err := c.Advance(0.1, Forcing{Bottom: Boundary{FixedHead, -61.5}, Top: Boundary{FixedHead, -20.7}})
	require.NoError(t, err)
	requireBalanced(t, b)
	assert.InDelta(t, -21.60, headAt(c, 36), 0.1)
	assert.InDelta(t, -23.42, headAt(c, 32), 0.15)
	assert.InDelta(t, -27.80, headAt(c, 28), 0.4)
	assert.InDelta(t, -42.99, headAt(c, 24), 2)
}

// Srivastava & Yeh 1991, Water Resour. Res. 27:753, homogeneous: surface head
// −23.022 cm at rest under 0.1 cm/h, then under 0.9 cm/h −1.913 at 10 h and
// −1.081 at 40 h [P]; in the end ln(0.9)/0.1 = −1.05361 [D].
func TestSrivastavaYeh1991(t *testing.T) {
	m := gardner{.06, .40, .1, 1}
	o := uniformColumn(m, 100, 100, 0)
	z := 0.5
	for i := range o.Initial {
		// K = e^αh satisfies d(K)/dz = −α(K − 0.1) over the water table.
		o.Initial[i] = 10 * math.Log(0.1+0.9*math.Exp(-0.1*z))
		z++
	}
	o.MaxStep = 0.05
	c, err := NewColumn(o)
	require.NoError(t, err)
	f := Forcing{Bottom: Boundary{FixedHead, 0}, Top: Boundary{Value: -0.1}}
	b, err := c.Advance(5, f)
	require.NoError(t, err)
	requireBalanced(t, b)
	assert.InDelta(t, -23.022, surfaceHead(c, 0.1, m), 0.01)
	f.Top.Value = -0.9
	for _, step := range []struct{ hours, want, within float64 }{{10, -1.913, 0.01}, {30, -1.081, 0.005}, {100, -1.05361, 0.003}} {
		b, err = c.Advance(step.hours, f)
		require.NoError(t, err)
		requireBalanced(t, b)
		assert.InDelta(t, step.want, surfaceHead(c, 0.9, m), step.within)
	}
}

// surfaceHead extrapolates from the last node to the surface by Darcy's law,
// under a flux q downward.
func surfaceHead(c *Column, q float64, m Material) float64 {
	n := len(c.cells)
	h := c.h[n-1]
	return h + (q/m.Conductivity(h)-1)*c.cells[n-1].Thickness/2
}

// A column drawn on from above comes to the flux of the height integral, which
// the solver knows nothing of.
func TestSteadyRiseAgreesWithTheIntegral(t *testing.T) {
	tests := map[string]struct {
		material Material
		lift     float64
		suction  float64
	}{
		"stone wool, low":   {wedge, 7, 12},
		"stone wool, high":  {wedge, 14, 60},
		"loam":              {loam, 50, 300},
		"drains back":       {wedge, 7, 4},
		"polyester felt":    {mustTypical("polyester felt"), 10, 40},
		"standing in water": {wedge, 7, -2},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			o := ColumnOptions{}
			for _, d := range graded(test.lift, 80, 0.96) {
				o.Cells = append(o.Cells, Cell{Thickness: d, Area: 1, Material: test.material})
				o.Initial = append(o.Initial, -test.suction/2)
			}
			o.MaxStep = 100
			c, err := NewColumn(o)
			require.NoError(t, err)
			f := Forcing{Bottom: Boundary{FixedHead, 0}, Top: Boundary{FixedHead, -test.suction}}
			_, err = c.Advance(5000, f)
			require.NoError(t, err)
			b, err := c.Advance(1, f)
			require.NoError(t, err)
			s, err := NewSupply(Wick{test.material, 1, 1, test.lift})
			require.NoError(t, err)
			assert.InEpsilon(t, s.Flux(test.suction), b.Bottom, 2e-3)
		})
	}
}

// A layered column of varying width at rest stays at rest, and its storage is
// the Store's, which was integrated in another way.
func TestBagColumnAtRest(t *testing.T) {
	tube, w := Tube{13, 70, 0.97}, Wick{wedge, 6, 4, 7}
	c, err := BagColumn(tube, houseMix, w, BagColumnOptions{})
	require.NoError(t, err)
	st, err := NewStore(tube, houseMix)
	require.NoError(t, err)
	assert.InEpsilon(t, st.Equilibrium(7), c.BagStorage(), 2e-4)
	before := c.Heads()
	b, err := c.Advance(100, Forcing{Bottom: Boundary{FixedHead, 0}, Contact: 1})
	require.NoError(t, err)
	assert.InDelta(t, 0, b.Bottom, 1e-6)
	assert.InDeltaSlice(t, before, c.Heads(), 1e-4)
}

// A flooded bag drains through its wicks to rest over the water table.
func TestFloodedBagDrains(t *testing.T) {
	tube, w := Tube{13, 70, 0.97}, Wick{wedge, 6, 4, 7}
	c, err := BagColumn(tube, houseMix, w, BagColumnOptions{Suction: -14})
	require.NoError(t, err)
	st, err := NewStore(tube, houseMix)
	require.NoError(t, err)
	assert.InEpsilon(t, st.Max(), c.BagStorage(), 2e-5, "but for the elastic share")
	b, err := c.Advance(200, Forcing{Bottom: Boundary{FixedHead, 0}, Contact: 1})
	require.NoError(t, err)
	requireBalanced(t, b)
	assert.InEpsilon(t, st.Equilibrium(7), c.BagStorage(), 1e-3)
}

// A dry channel: nothing enters, roots draw the bag down, and what they drew
// is what went.
func TestDryChannel(t *testing.T) {
	c, err := BagColumn(Tube{12, 80, 0.97}, houseMix, Wick{wedge, 6, 4, 8}, BagColumnOptions{Stress: Feddes{200, 8000}.Factor})
	require.NoError(t, err)
	before := c.Storage()
	b, err := c.Advance(72, Forcing{Demand: 60})
	require.NoError(t, err)
	requireBalanced(t, b)
	assert.Zero(t, b.Bottom)
	assert.InDelta(t, before-b.TakenUp, c.Storage(), 1e-3)
	assert.Less(t, b.TakenUp, 60*72.0, "stress holds roots back")
}

func TestColumnRefuses(t *testing.T) {
	good := func() ColumnOptions { return uniformColumn(loam, 10, 4, -50) }
	tests := map[string]struct {
		change func(*ColumnOptions)
		want   string
	}{
		"one cell":       {func(o *ColumnOptions) { o.Cells, o.Initial = o.Cells[:1], o.Initial[:1] }, "two cells"},
		"heads missing":  {func(o *ColumnOptions) { o.Initial = nil }, "initial heads"},
		"no thickness":   {func(o *ColumnOptions) { o.Cells[2].Thickness = 0 }, "cell 2"},
		"roots too many": {func(o *ColumnOptions) { o.Cells[0].Roots, o.Cells[1].Roots = 1, 1 }, "sum to 2"},
		"no material":    {func(o *ColumnOptions) { o.Cells[3].Material = nil }, "no material"},
		"head NaN":       {func(o *ColumnOptions) { o.Initial[1] = math.NaN() }, "not a number"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			o := good()
			test.change(&o)
			_, err := NewColumn(o)
			require.ErrorContains(t, err, test.want)
		})
	}
	c, err := NewColumn(good())
	require.NoError(t, err)
	_, err = c.Advance(math.NaN(), Forcing{})
	require.Error(t, err)
	_, err = c.Advance(1, Forcing{Demand: -1})
	require.Error(t, err)
}

// Water is conserved whatever the bag, the wick and the demand.
func TestColumnConservesWater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tube := Tube{rapid.Float64Range(6, 25).Draw(t, "diameter"), rapid.Float64Range(20, 200).Draw(t, "length"), rapid.Float64Range(0.5, 1).Draw(t, "fill")}
		w := Wick{mustTypical(rapid.SampledFrom([]string{"stone wool", "wool felt", "polyester felt"}).Draw(t, "wick")), rapid.Float64Range(0.5, 10).Draw(t, "section"), rapid.IntRange(1, 6).Draw(t, "count"), rapid.Float64Range(1, 25).Draw(t, "lift")}
		m := mustTypical(rapid.SampledFrom([]string{"coir", "peat", "perlite", "potting soil"}).Draw(t, "medium"))
		c, err := BagColumn(tube, m, w, BagColumnOptions{BagCells: 8, WickCells: 8, Suction: rapid.Float64Range(-10, 200).Draw(t, "suction"), Stress: Feddes{200, 8000}.Factor})
		require.NoError(t, err)
		b, err := c.Advance(4, Forcing{Bottom: Boundary{FixedHead, 0}, Demand: rapid.Float64Range(0, 300).Draw(t, "demand"), Contact: rapid.Float64Range(0, 1.5).Draw(t, "contact")})
		require.NoError(t, err)
		requireBalanced(t, b)
		for i, theta := range c.Thetas() {
			require.GreaterOrEqual(t, theta, c.cells[i].Material.Residual())
			require.LessOrEqual(t, theta, c.cells[i].Material.Saturated())
		}
	})
}
