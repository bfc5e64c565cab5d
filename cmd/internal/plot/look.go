package plot

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Sizes on paper: a picture is as wide as the text of an A4 page.
const (
	pageWidth   = 17 * vg.Centimeter
	panelHeight = 8 * vg.Centimeter
	headHeight  = 1.5 * vg.Centimeter
	nameWidth   = 4.6 * vg.Centimeter // for names at the right
	margin      = 0.35 * vg.Centimeter
	lead        = vg.Length(10)       // from the right of a panel to what stands beside it
	sample      = 0.7 * vg.Centimeter // of a stroke beside its name
	pixelsInch  = 160
)

// Sizes of a narrow picture: that of the screen of a phone, with more pixels,
// since it is looked at from nearer than paper.
const (
	phoneWidth  = 9 * vg.Centimeter
	phoneHeight = 5.4 * vg.Centimeter // of a panel
	phonePixels = 230                 // to the inch
)

// Tones: dark enough to read as text on white, and apart in lightness and in
// the blue–yellow direction, which nearly everybody sees. The pattern of a
// stroke tells it apart without any.
func tone(s Stroke) color.NRGBA {
	switch s {
	case Dashed:
		return color.NRGBA{R: 0x9c, G: 0x4f, B: 0x00, A: 0xff} // burnt clay
	case Dotted:
		return color.NRGBA{R: 0x4a, G: 0x2c, B: 0x5e, A: 0xff} // aubergine
	case DashDot:
		return color.NRGBA{R: 0x3f, G: 0x6b, B: 0x2a, A: 0xff} // basil
	}
	return color.NRGBA{R: 0x0b, G: 0x3c, B: 0x5d, A: 0xff} // deep water
}

func ink() color.NRGBA   { return color.NRGBA{R: 0x22, G: 0x22, B: 0x22, A: 0xff} }
func faint() color.NRGBA { return color.NRGBA{R: 0x66, G: 0x66, B: 0x66, A: 0xff} }
func grid() color.NRGBA  { return color.NRGBA{R: 0xe4, G: 0xe4, B: 0xe0, A: 0xff} }
func haze() color.NRGBA  { return color.NRGBA{R: 0xc9, G: 0xd9, B: 0xe4, A: 0xff} }
func shade() color.NRGBA { return color.NRGBA{R: 0xee, G: 0xec, B: 0xe2, A: 0xff} }

func pen(s Stroke) draw.LineStyle {
	style := draw.LineStyle{Color: tone(s), Width: vg.Points(1.8)}
	switch s {
	case Dashed:
		style.Dashes = []vg.Length{vg.Points(7), vg.Points(3)}
	case Dotted:
		style.Dashes = []vg.Length{vg.Points(1.8), vg.Points(2.4)}
		style.Width = vg.Points(2.2)
	case DashDot:
		style.Dashes = []vg.Length{vg.Points(8), vg.Points(2.5), vg.Points(1.8), vg.Points(2.5)}
	}
	return style
}

// dot is a single reading: small, so that many together show where most are.
func dot() draw.GlyphStyle {
	return draw.GlyphStyle{Color: tone(Dotted), Radius: vg.Points(0.7), Shape: draw.CircleGlyph{}}
}

func rulePen() draw.LineStyle {
	return draw.LineStyle{Color: faint(), Width: vg.Points(0.8)}
}

// lettering is a text style of a size in points, placed by its alignments.
func lettering(size float64, c color.Color, x text.XAlignment, y text.YAlignment) text.Style {
	f := font.From(plot.DefaultFont, vg.Points(size))
	f.Variant = "Sans"
	return text.Style{Color: c, Font: f, XAlign: x, YAlign: y, Handler: plot.DefaultTextHandler}
}

// boldWeight is the bold of the x/image font weights, by which gonum names its
// faces.
const boldWeight = 3

func bold(s text.Style) text.Style {
	s.Font.Weight = boldWeight
	return s
}
