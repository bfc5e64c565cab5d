package plot_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/plot"
)

func curve(name string, stroke plot.Stroke, lift float64) plot.Line {
	l := plot.Line{Name: name, Stroke: stroke}
	for i := range 25 {
		x := float64(i)
		l.X, l.Y = append(l.X, x), append(l.Y, lift+math.Exp(-x/8))
	}
	return l
}

func figure() plot.Figure {
	return plot.Figure{
		Title: "A peak day", Note: "in the middle of June",
		Panels: []plot.Panel{
			{
				X: plot.Axis{Name: "hours", From: 0, To: 24, Every: 3}, Y: plot.Axis{Name: "L"},
				Lines: []plot.Line{curve("demand", plot.Solid, 0), curve("supply", plot.Dashed, 0), curve("uptake", plot.Dotted, 0), curve("store", plot.DashDot, 0)},
				Rules: []plot.Rule{{Name: "dry limit", At: 0.1}, {Name: "noon", At: 12, Upright: true}},
				Areas: []plot.Area{{Name: "night", From: 0, To: 5}},
				Marks: []plot.Mark{{Name: "p1", X: 6, Y: 0.5}, {Name: "a bag with a long name at the edge", X: 23, Y: 0.2}},
			},
			{X: plot.Axis{Name: "hours"}, Y: plot.Axis{Name: "water, %"}, Lines: []plot.Line{curve("water", plot.Solid, 40)}},
		},
	}
}

// texts are the words in an SVG, read by an XML parser of its own.
func texts(t *testing.T, svg []byte) []string {
	t.Helper()
	var words []string
	d := xml.NewDecoder(bytes.NewReader(svg))
	d.Strict = true
	inside := false
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return words
		}
		require.NoError(t, err)
		switch e := token.(type) {
		case xml.StartElement:
			inside = e.Name.Local == "text"
		case xml.EndElement:
			inside = false
		case xml.CharData:
			if inside {
				words = append(words, string(bytes.TrimSpace(e)))
			}
		}
	}
}

// Every line, rule, area and mark is named in the picture itself, and the SVG is
// well-formed.
func TestEverythingIsNamed(t *testing.T) {
	var svg bytes.Buffer
	require.NoError(t, figure().SVG(&svg))
	words := texts(t, svg.Bytes())
	for _, want := range []string{"A peak day", "in the middle of June", "demand", "supply", "uptake", "store", "dry limit", "noon", "night", "p1", "hours", "water, %"} {
		assert.Contains(t, words, want)
	}
	assert.NotContains(t, words, "-0")
	assert.Contains(t, words, "21", "a tick every three hours, as asked for")
	assert.NotContains(t, words, "22")
}

func TestWriteBothForms(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "pictures")
	files, err := figure().Write(dir, "day")
	require.NoError(t, err)
	require.Equal(t, []string{filepath.Join(dir, "day.png"), filepath.Join(dir, "day.svg")}, files)
	f, err := os.Open(files[0])
	require.NoError(t, err)
	defer f.Close()
	picture, err := png.Decode(f)
	require.NoError(t, err)
	assert.Greater(t, picture.Bounds().Dx(), 1000, "fine enough for print")
	r, g, b, a := picture.At(2, 2).RGBA()
	assert.Equal(t, []uint32{0xffff, 0xffff, 0xffff, 0xffff}, []uint32{r, g, b, a}, "on white paper, not on nothing")
}

// The same figure gives the same bytes.
func TestDrawingIsDeterministic(t *testing.T) {
	var one, two bytes.Buffer
	require.NoError(t, figure().SVG(&one))
	require.NoError(t, figure().SVG(&two))
	assert.Equal(t, one.String(), two.String())
}

func TestWhatCannotBeDrawn(t *testing.T) {
	tests := map[string]struct {
		change func(f *plot.Figure)
		says   string
	}{
		"nothing":  {func(f *plot.Figure) { f.Panels = nil }, "no panel"},
		"no line":  {func(f *plot.Figure) { f.Panels[0].Lines = nil }, "no line"},
		"NaN":      {func(f *plot.Figure) { f.Panels[0].Lines[1].Y[3] = math.NaN() }, `"supply"`},
		"infinite": {func(f *plot.Figure) { f.Panels[0].Rules[0].At = math.Inf(1) }, `"dry limit"`},
		"uneven":   {func(f *plot.Figure) { f.Panels[0].Lines[0].X = f.Panels[0].Lines[0].X[:4] }, `"demand"`},
		"a point":  {func(f *plot.Figure) { f.Panels[0].Lines[0] = plot.Line{Name: "dot", X: []float64{1}, Y: []float64{1}} }, `"dot"`},
		"mark":     {func(f *plot.Figure) { f.Panels[0].Marks[0].X = math.NaN() }, `"p1"`},
		"area":     {func(f *plot.Figure) { f.Panels[0].Areas[0].To = math.NaN() }, `"night"`},
		"stroke":   {func(f *plot.Figure) { f.Panels[0].Lines[0].Stroke = 9 }, "stroke"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			f := figure()
			c.change(&f)
			dir := t.TempDir()
			_, err := f.Write(dir, "x")
			require.ErrorContains(t, err, c.says)
			left, err := os.ReadDir(dir)
			require.NoError(t, err)
			assert.Empty(t, left, "nothing half written")
		})
	}
}

func TestAPlaceThatCannotBeWritten(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := figure().Write(file, "x")
	assert.ErrorContains(t, err, "write pictures")
}

// A narrow figure names its limits inside, has the ticks that were asked for,
// and shades what lies between two curves.
func TestNarrow(t *testing.T) {
	f := plot.Figure{Title: "Water", Narrow: true, Panels: []plot.Panel{{
		X:     plot.Axis{From: 0, To: 24, Ticks: []plot.Tick{{At: 6, Label: "Tue"}, {At: 18, Label: "Wed"}}},
		Y:     plot.Axis{Name: "water, %", From: 0, To: 2},
		Lines: []plot.Line{curve("estimate", plot.Solid, 0)},
		Bands: []plot.Band{{X: []float64{0, 12, 24}, Low: []float64{0.2, 0.2, 0.2}, High: []float64{0.8, 0.8, 0.8}}},
		Rules: []plot.Rule{{Name: "dry 31 %", At: 1}, {Name: "beyond", At: 5}},
	}}}
	var svg bytes.Buffer
	require.NoError(t, f.SVG(&svg))
	words := texts(t, svg.Bytes())
	for _, want := range []string{"Tue", "Wed", "dry 31 %", "water, %"} {
		assert.Contains(t, words, want)
	}
	for _, no := range []string{"estimate", "beyond", "12"} {
		assert.NotContains(t, words, no)
	}
	var image bytes.Buffer
	require.NoError(t, f.PNG(&image))
	img, err := png.Decode(&image)
	require.NoError(t, err)
	assert.Less(t, img.Bounds().Dx(), 900)
	shaded := color.NRGBA{R: 0xc9, G: 0xd9, B: 0xe4, A: 0xff}
	assert.Equal(t, shaded, color.NRGBAModel.Convert(img.At(img.Bounds().Dx()/2, img.Bounds().Dy()*2/3)), "within the band")
}

func TestBandsAreChecked(t *testing.T) {
	for name, b := range map[string]plot.Band{
		"one point":  {X: []float64{0}, Low: []float64{0}, High: []float64{1}},
		"too short":  {X: []float64{0, 1}, Low: []float64{0}, High: []float64{1, 1}},
		"not finite": {X: []float64{0, 1}, Low: []float64{0, math.NaN()}, High: []float64{1, 1}},
	} {
		f := figure()
		f.Panels[0].Bands = []plot.Band{b}
		assert.ErrorContains(t, f.Validate(), "band 1", name)
	}
}
