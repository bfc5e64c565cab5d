package plot

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// drawing is a panel made ready to be painted.
type drawing struct {
	panel Panel
	plot  *plot.Plot
}

func (p Panel) prepare() (drawing, error) {
	g := plot.New()
	g.BackgroundColor = nil
	xlow, xhigh := limits(p.X, p.across())
	ylow, yhigh := limits(p.Y, p.up())
	g.Add(background{p}, clouds(p.Clouds))
	for _, l := range p.Lines {
		drawn, err := plotter.NewLine(points(l))
		if err != nil {
			return drawing{}, fmt.Errorf("line %q: %w", l.Name, err)
		}
		drawn.LineStyle = pen(l.Stroke)
		g.Add(drawn)
	}
	dress(&g.X, p.X, xlow, xhigh)
	dress(&g.Y, p.Y, ylow, yhigh)
	return drawing{p, g}, nil
}

// left is where the data begins in a canvas.
func (d drawing) left(c draw.Canvas) vg.Length { return d.plot.DataCanvas(c).Min.X }

// paint draws a panel into its canvas with its data beginning at left, and the
// gutter for names at its right; without one, limits are named inside.
func (d drawing) paint(c draw.Canvas, left, gutter vg.Length, narrow bool) {
	area := draw.Crop(c, 0, -gutter, 0, 0)
	area.Min.X += left - d.left(area)
	data := d.plot.DataCanvas(area)
	x, _ := d.plot.Transforms(&data)
	flags := d.panel.flags(x, data.Max.X+gutter)
	lanes := d.panel.lanes(gutter)
	area.Max.Y -= flagHeight*vg.Length(flags.rows()) + lanes.height()
	d.plot.Draw(area)
	data = d.plot.DataCanvas(area)
	x, y := d.plot.Transforms(&data)
	lanes.draw(data, x)
	flags.draw(draw.Crop(data, 0, 0, 0, lanes.height()))
	d.panel.drawBeside(data, x, y)
	d.panel.drawMarks(data, x, y)
	if narrow {
		d.panel.drawInside(data, y)
		return
	}
	d.panel.drawNames(data, x, y, c.Max.X)
}

func points(l Line) plotter.XYs {
	out := make(plotter.XYs, len(l.X))
	for i := range l.X {
		out[i].X, out[i].Y = l.X[i], l.Y[i]
	}
	return out
}

// background is drawn under the lines: shaded areas, the grid, rules.
type background struct{ panel Panel }

// Plot implements plot.Plotter.
func (b background) Plot(c draw.Canvas, g *plot.Plot) {
	x, y := g.Transforms(&c)
	for _, a := range b.panel.Areas {
		left, right, low, high := c.Min.X, c.Max.X, c.Min.Y, c.Max.Y
		if a.OfY {
			low, high = clamp(y(a.From), low, high), clamp(y(a.To), low, high)
		} else {
			left, right = clamp(x(a.From), left, right), clamp(x(a.To), left, right)
		}
		c.FillPolygon(shade(), []vg.Point{{X: left, Y: low}, {X: right, Y: low}, {X: right, Y: high}, {X: left, Y: high}})
		if right > left && high > low {
			c.FillText(lettering(8, faint(), text.XLeft, text.YTop), vg.Point{X: left + vg.Points(3), Y: high - vg.Points(3)}, a.Name)
		}
	}
	for _, band := range b.panel.Bands {
		c.FillPolygon(haze(), c.ClipPolygonXY(band.outline(x, y)))
	}
	line := draw.LineStyle{Color: grid(), Width: vg.Points(0.5)}
	for _, t := range g.Y.Tick.Marker.Ticks(g.Y.Min, g.Y.Max) {
		c.StrokeLine2(line, c.Min.X, y(t.Value), c.Max.X, y(t.Value))
	}
	for _, r := range b.panel.Rules {
		if r.Upright {
			at := x(r.At)
			c.StrokeLine2(rulePen(), at, c.Min.Y, at, c.Max.Y)
			continue
		}
		c.StrokeLine2(rulePen(), c.Min.X, y(r.At), c.Max.X, y(r.At))
	}
}

// outline goes along the upper curve and back along the lower one.
func (b Band) outline(x, y func(float64) vg.Length) []vg.Point {
	out := make([]vg.Point, 0, 2*len(b.X))
	for i := range b.X {
		out = append(out, vg.Point{X: x(b.X[i]), Y: y(b.High[i])})
	}
	for i := len(b.X) - 1; i >= 0; i-- {
		out = append(out, vg.Point{X: x(b.X[i]), Y: y(b.Low[i])})
	}
	return out
}

func clamp(v, low, high vg.Length) vg.Length { return max(low, min(high, v)) }

// drawMarks draws points with their names beside them.
func (p Panel) drawMarks(c draw.Canvas, x, y func(float64) vg.Length) {
	for _, m := range p.Marks {
		at := vg.Point{X: x(m.X), Y: y(m.Y)}
		if !c.Contains(at) {
			continue
		}
		c.DrawGlyph(draw.GlyphStyle{Color: ink(), Radius: vg.Points(3), Shape: draw.CircleGlyph{}}, at)
		style := lettering(8.5, ink(), text.XLeft, text.YBottom)
		place := vg.Point{X: at.X + vg.Points(5), Y: at.Y + vg.Points(3)}
		if at.X+style.Width(m.Name) > c.Max.X {
			style.XAlign, place.X = text.XRight, at.X-vg.Points(5)
		}
		c.FillText(style, place, m.Name)
	}
}
