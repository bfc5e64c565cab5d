package design

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/model"
)

func reservoir(t require.TestingT, r model.Reservoir) *Reservoir {
	built, err := newReservoir(r)
	require.NoError(t, err)
	return built
}

// A lying cylinder's share of its volume against its filled height: engineering
// handbooks' table of horizontal tanks [M]; a quarter and a half in closed form,
// 1/3 − √3/(4π) and 1/2 [D].
func TestLyingCylinder(t *testing.T) {
	r := reservoir(t, model.Reservoir{Shape: model.Shape{Kind: model.LyingCylinder, Diameter: 580, Length: 880}, Full: 540, Empty: 60})
	full := math.Pi / 4 * 0.58 * 0.58 * 0.88 * 1000 // L
	tests := map[string]struct{ height, share, within float64 }{
		"empty":     {0, 0, 1e-12},
		"a tenth":   {0.1, 0.0520, 1e-4},
		"a quarter": {0.25, 1.0/3 - math.Sqrt(3)/(4*math.Pi), 1e-12},
		"three":     {0.3, 0.2523, 1e-4},
		"half":      {0.5, 0.5, 1e-12},
		"nine":      {0.9, 0.9480, 1e-4},
		"full":      {1, 1, 1e-12},
		"over":      {1.2, 1, 1e-12},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			assert.InDelta(t, c.share, r.Volume(c.height*580)/full, c.within)
		})
	}
	assert.InDelta(t, r.Full()-r.Empty(), r.Usable(), 1e-12)
	assert.InDelta(t, 0.58*0.88, r.AreaAt(290), 1e-5, "widest in the middle, m²")
}

func TestUprightShapes(t *testing.T) {
	box := reservoir(t, model.Reservoir{Shape: model.Shape{Kind: model.Box, Length: 800, Width: 600}, Full: 375, Empty: 50})
	assert.InDelta(t, 180, box.Full(), 1e-9, "8 dm × 6 dm × 3.75 dm")
	assert.InDelta(t, 156, box.Usable(), 1e-9)
	assert.InDelta(t, 0.48, box.Area, 1e-9)
	drum := reservoir(t, model.Reservoir{Shape: model.Shape{Kind: model.UprightCylinder, Diameter: 580}, Full: 800})
	assert.InDelta(t, 211.4, drum.Full(), 0.05, "π/4·5.8²·8 dm³ [D]")
	assert.Zero(t, drum.Volume(-20))
}

func TestTableOfLevels(t *testing.T) {
	r := reservoir(t, model.Reservoir{Shape: model.Shape{Kind: model.Table, Table: []model.LevelVolume{{Level: 100, Volume: 30}, {Level: 200, Volume: 71}, {Level: 400, Volume: 160}}}})
	for level, want := range map[float64]float64{0: 0, 50: 15, 100: 30, 150: 50.5, 300: 115.5, 400: 160, 900: 160} {
		assert.InDelta(t, want, r.Volume(level), 1e-9, "at %g mm", level)
	}
	_, err := newReservoir(model.Reservoir{Shape: model.Shape{Kind: model.Table, Table: []model.LevelVolume{{Level: 1, Volume: 1}}}})
	assert.ErrorContains(t, err, "two rows")
	_, err = newReservoir(model.Reservoir{Shape: model.Shape{Kind: "sack"}})
	assert.ErrorContains(t, err, `"sack"`)
}

// anyReservoir draws a shape with a floor, walls and a lid.
func anyReservoir(t *rapid.T) *Reservoir {
	size := rapid.Float64Range(50, 3000)
	r := model.Reservoir{Full: 300, Empty: 20}
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		r.Shape = model.Shape{Kind: model.Box, Length: size.Draw(t, "length"), Width: size.Draw(t, "width")}
	case 1:
		r.Shape = model.Shape{Kind: model.UprightCylinder, Diameter: size.Draw(t, "diameter")}
	case 2:
		r.Shape = model.Shape{Kind: model.LyingCylinder, Diameter: size.Draw(t, "diameter"), Length: size.Draw(t, "length")}
	default:
		r.Shape.Kind = model.Table
		level, volume := 0.0, 0.0
		for range rapid.IntRange(2, 8).Draw(t, "rows") {
			r.Shape.Table = append(r.Shape.Table, model.LevelVolume{Level: level, Volume: volume})
			level += rapid.Float64Range(5, 200).Draw(t, "rise")
			volume += rapid.Float64Range(1, 200).Draw(t, "more")
		}
	}
	return reservoir(t, r)
}

func TestVolumeRisesWithLevelAndLevelUndoesVolume(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyReservoir(t)
		top := math.Min(r.Top, 1000)
		level := rapid.Float64Range(0.001, 0.999).Draw(t, "share") * top
		volume := r.Volume(level)
		if above := r.Volume(level + top*1e-3); above < volume {
			t.Fatalf("volume falls from %g to %g L", volume, above)
		}
		if back := r.Level(volume); math.Abs(back-level) > 1e-3*top {
			t.Fatalf("level %g mm holds %g L, and that stands at %g mm", level, volume, back)
		}
		if area := r.AreaAt(level); area <= 0 {
			t.Fatalf("surface of %g m²", area)
		}
	})
}
