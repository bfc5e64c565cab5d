package plot_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/plot"
)

// drawn is a figure as it is seen.
func drawn(t *testing.T, f plot.Figure) image.Image {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, f.PNG(&out))
	picture, err := png.Decode(&out)
	require.NoError(t, err)
	return picture
}

// dark counts the dark pixels over the panel.
func dark(picture image.Image) (n int) {
	for y := range picture.Bounds().Dy() / 3 {
		for x := range picture.Bounds().Dx() {
			if g := color.GrayModel.Convert(picture.At(x, y)).(color.Gray); g.Y < 60 {
				n++
			}
		}
	}
	return n
}

func laned(spans ...plot.Span) plot.Figure {
	return plot.Figure{Title: "Bag", Panels: []plot.Panel{{
		X: plot.Axis{Name: "days", From: 0, To: 24}, Y: plot.Axis{Name: "water"},
		Lines: []plot.Line{{X: []float64{0, 24}, Y: []float64{1, 2}}},
		Lanes: []plot.Lane{{Name: "a wick that has lost its contact with the mix", Spans: spans}, {Name: "bag dry"}},
	}}}
}

// What stood has a lane of its own, with its name; what was kept back is told
// from it without colour: it is hollow. The lanes make the picture
// higher, and do not take the room of the panel.
func TestLanes(t *testing.T) {
	t.Parallel()
	var svg bytes.Buffer
	require.NoError(t, laned(plot.Span{From: 3, To: 20}).SVG(&svg))
	words := texts(t, svg.Bytes())
	assert.Contains(t, words, "bag dry")
	assert.Contains(t, words, "with the mix", "a long name is broken")

	none, filled, hollow := drawn(t, laned()), drawn(t, laned(plot.Span{From: 0, To: 24})), drawn(t, laned(plot.Span{From: 0, To: 24, Hollow: true}))
	bare := laned()
	bare.Panels[0].Lanes = nil
	assert.Greater(t, none.Bounds().Dy(), drawn(t, bare).Bounds().Dy())
	assert.Greater(t, dark(hollow), dark(none))
	assert.Greater(t, dark(filled)-dark(none), 2*(dark(hollow)-dark(none)))
	moment := drawn(t, laned(plot.Span{From: 12, To: 12}))
	assert.Greater(t, dark(moment), dark(none), "what lasted for a moment is seen")
	assert.ErrorContains(t, laned(plot.Span{From: math.NaN()}).Validate(), "lane")
}

// Single readings are dots with a name, under the lines.
func TestClouds(t *testing.T) {
	t.Parallel()
	f := laned()
	f.Panels[0].Clouds = []plot.Cloud{{Name: "readings", X: []float64{3, 9}, Y: []float64{1.4, 1.6}}}
	var svg bytes.Buffer
	require.NoError(t, f.SVG(&svg))
	assert.Contains(t, texts(t, svg.Bytes()), "readings")
	f.Panels[0].Clouds[0].Y = []float64{1.4}
	assert.ErrorContains(t, f.Validate(), "cloud")
	f.Panels[0].Clouds[0].Y = []float64{1.4, math.Inf(1)}
	assert.ErrorContains(t, f.Validate(), "cloud")
}

// A note of any length leaves the panels their room.
func TestALongNoteHasRoom(t *testing.T) {
	t.Parallel()
	short, long := laned(), laned()
	for range 40 {
		long.Note += "more is to be said "
	}
	assert.Greater(t, drawn(t, long).Bounds().Dy(), drawn(t, short).Bounds().Dy()+50)
}
