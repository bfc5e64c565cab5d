package sim

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model/design"
	"wickd/model/hydraulics"
)

func testColumn(t *testing.T, n cut) (column, *design.Bag) {
	t.Helper()
	site, err := design.Build(DemoSite())
	require.NoError(t, err)
	b := site.Bags[0]
	even := func(float64) float64 { return 1 }
	c, err := newColumn(b.Hydraulic.Store.Tube(), b.Hydraulic.Store.Material(), b.Wick, b.Hydraulic.Feddes, even, n)
	require.NoError(t, err)
	return c, b
}

// At rest every pore's suction is its height over the water, so the bag's
// content is an integral of the retention curve over the ellipse, taken here
// by the midpoint rule, apart from any code of the model: van Genuchten (1980)
// eq 3 and the chord of an ellipse.
func TestRestIsHydrostatic(t *testing.T) {
	c, b := testColumn(t, cut{bagCells, wickCells})
	balance, err := c.Advance(48, hydraulics.Forcing{Bottom: hydraulics.Boundary{Kind: hydraulics.FixedHead}, Contact: 1})
	require.NoError(t, err)
	height := b.Hydraulic.Store.Tube().Height()
	const n = 20000
	held, area := 0.0, 0.0
	for i := range n {
		u := (float64(i) + 0.5) / n
		suction := 7 + u*height
		theta := 0.09 + 0.65*math.Pow(1+math.Pow(0.12*suction, 1.52), -(1-1/1.52))
		chord := math.Sqrt(1 - (2*u-1)*(2*u-1))
		held += theta * chord
		area += chord
	}
	assert.InDelta(t, held/area, c.BagStorage()/1000/b.Volume(), 0.001)
	assert.InDelta(t, 0, balance.Stored/1000/b.Volume(), 0.001, "it stands at rest from the start")
}

// The cut is fine enough when a much finer one says the same of two hot days
// with poor wicks.
func TestCutIsFineEnough(t *testing.T) {
	days := func(n cut) (content, lifted float64) {
		c, b := testColumn(t, n)
		for i := range 48 {
			demand := math.Max(0, 260*math.Sin(2*math.Pi*(float64(i%24)-6)/24)) // cm³/h: 2 L a day
			balance, err := c.Advance(1, hydraulics.Forcing{
				Bottom: hydraulics.Boundary{Kind: hydraulics.FixedHead}, Contact: 0.15, Demand: demand,
			})
			require.NoError(t, err)
			lifted += balance.Bottom
		}
		return c.BagStorage() / 1000 / b.Volume(), lifted
	}
	coarse, liftedCoarse := days(cut{bagCells, wickCells})
	fine, liftedFine := days(cut{3 * bagCells, 3 * wickCells})
	t.Logf("content %.5f against %.5f, lifted %.1f against %.1f cm³", coarse, fine, liftedCoarse, liftedFine)
	assert.InDelta(t, fine, coarse, 0.001)
	assert.InEpsilon(t, liftedFine, liftedCoarse, 0.005)
}
