package plot

import (
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

// luminance after WCAG 2 (relative luminance of sRGB) [P].
func luminance(c color.NRGBA) float64 {
	linear := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// WCAG 2 asks text for a contrast of 4.5 with its ground [P].
func TestTonesReadAsTextOnWhite(t *testing.T) {
	for s := Solid; s <= DashDot; s++ {
		contrast := 1.05 / (luminance(tone(s)) + 0.05)
		assert.GreaterOrEqual(t, contrast, 4.5, "stroke %d", s)
	}
	for _, c := range []color.NRGBA{ink(), faint()} {
		assert.GreaterOrEqual(t, 1.05/(luminance(c)+0.05), 4.5)
	}
}

// Without any colour the pattern of the stroke tells lines apart.
func TestStrokesDifferWithoutColour(t *testing.T) {
	seen := map[string]bool{}
	for s := Solid; s <= DashDot; s++ {
		key := ""
		for _, d := range pen(s).Dashes {
			key += string(rune('a' + int(d.Points())))
		}
		require.False(t, seen[key], "two strokes with the pattern %q", key)
		seen[key] = true
	}
}

// Names never overlap, stay in their order and inside the panel, as long as
// there is room for them at all.
func TestNamesMoveApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const low, high, height = 0, 200, 12
		n := rapid.IntRange(1, 12).Draw(t, "names")
		names := make([]name, n)
		heights := make([]vg.Length, n)
		at := 0.0
		for i := range names {
			at = math.Min(high, at+rapid.Float64Range(0, 30).Draw(t, "gap"))
			names[i].y, heights[i] = vg.Length(at), height
		}
		spread(names, heights, low, high)
		for i := range names {
			if names[i].y < low+height/2-0.5 || names[i].y > high-height/2+0.5 {
				t.Fatalf("name %d at %g leaves the panel", i, names[i].y)
			}
			if i > 0 && names[i].y-names[i-1].y < height-1 {
				t.Fatalf("names %d and %d overlap: %g, %g", i-1, i, names[i-1].y, names[i].y)
			}
		}
	})
}

// From a line that ends in the middle of a panel nothing leads to its name: it
// would look like more of the line.
func TestALineThatEndsEarlyHasNoLeader(t *testing.T) {
	assert.True(t, name{x: 400}.reaches(400))
	assert.True(t, name{x: 395}.reaches(400), "the last hour is not whole")
	assert.False(t, name{x: 200}.reaches(400))
}

func TestTicks(t *testing.T) {
	tests := map[string]struct {
		every, low, high float64
		want             []string
	}{
		"chosen":    {0, 0, 1, []string{"0.0", "0.2", "0.4", "0.6", "0.8", "1.0"}},
		"asked for": {3, 0, 9, []string{"0", "3", "6", "9"}},
		"below 0":   {0, -10, 10, []string{"-10", "-5", "0", "5", "10"}},
		"large":     {0, 0, 1200, []string{"0", "200", "400", "600", "800", "1000", "1200"}},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			var got []string
			for _, tick := range ticks(c.every, c.low, c.high) {
				got = append(got, tick.Label)
			}
			assert.Equal(t, c.want, got)
		})
	}
}

func TestLimits(t *testing.T) {
	low, high := limits(Axis{}, []float64{40, 42})
	assert.Less(t, low, 40.0)
	assert.Greater(t, high, 42.0)
	low, _ = limits(Axis{}, []float64{0.1, 5})
	assert.Zero(t, low, "from nothing, where that is near")
	low, high = limits(Axis{}, []float64{3, 3})
	assert.Less(t, low, high)
	low, high = limits(Axis{From: 0, To: 24}, []float64{5, 90})
	assert.Equal(t, []float64{0, 24}, []float64{low, high})
}
