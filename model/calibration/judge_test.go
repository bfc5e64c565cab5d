package calibration

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The slope of Anscombe's first set has t 4.24 and p 0.00217 with 9 degrees of
// freedom [M: printed with the sets by every package of statistics].
func TestChanceOfFlat(t *testing.T) {
	assert.InDelta(t, 0.00217, chanceOfFlat(0.66654, 11), 1e-5)
	assert.InDelta(t, 1, chanceOfFlat(0, 5), 1e-12)
	assert.Zero(t, chanceOfFlat(1, 5))
}

func TestMoistureUnfit(t *testing.T) {
	tests := map[string]struct {
		readings []Reading
		want     string // empty: it serves
	}{
		"a good dry-down": {[]Reading{{1150, 0.57}, {1480, 0.45}, {1930, 0.28}, {2380, 0.11}}, ""},
		"two points":      {[]Reading{{1150, 0.57}, {2380, 0.11}}, ""},
		"rough, but fit":  {[]Reading{{1150, 0.60}, {1480, 0.41}, {1930, 0.31}, {2160, 0.17}, {2380, 0.11}}, ""},
		"no slope":        {[]Reading{{1800, 0.52}, {1830, 0.40}, {1790, 0.33}, {1840, 0.25}, {1810, 0.18}}, "a flat line does as well"},
		"too few":         {[]Reading{{1150, 0.57}, {1480, 0.30}, {1930, 0.40}}, "a flat line does as well"},
		"scattered":       {[]Reading{{1150, 0.57}, {1300, 0.40}, {1480, 0.52}, {1700, 0.28}, {1930, 0.36}, {2160, 0.12}, {2380, 0.18}}, "reading 3 lies farthest off"},
		"does not move":   {[]Reading{{2040, 0.5}, {2044, 0.1}}, "moves by less than 1 %"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			m, err := FitMoisture(tt.readings)
			require.NoError(t, err)
			if tt.want == "" {
				assert.Empty(t, m.Unfit)
				return
			}
			assert.Contains(t, m.Unfit, tt.want)
			assert.Contains(t, m.Unfit, "weigh it on six days")
		})
	}
}

// A pot that hangs higher holds no more water: weights that say so were swapped,
// and within what weighing errs by they do not.
func TestDrainUnfit(t *testing.T) {
	pot := func(weights ...float64) DrainTest {
		d := DrainTest{Height: 15, Volume: 2.5, Saturated: 2585, Dry: 460}
		for i, w := range weights {
			d.Drained = append(d.Drained, Drained{Table: 10 * float64(i), Weight: w})
		}
		return d
	}
	for name, tt := range map[string]struct {
		test DrainTest
		want string
	}{
		"falls":    {pot(1987, 1374, 1126), ""},
		"levels":   {pot(1987, 1374, 1384), ""},
		"swapped":  {pot(1374, 1987, 1126), "a pot cannot gain water"},
		"no curve": {pot(2560, 2540, 600), "no retention curve comes nearer"},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := FitDrain(tt.test)
			require.NoError(t, err)
			if tt.want == "" {
				assert.Empty(t, m.Unfit)
				return
			}
			assert.Contains(t, m.Unfit, tt.want)
		})
	}
}
