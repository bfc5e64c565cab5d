package plot

import (
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// clouds are drawn under the lines.
type clouds []Cloud

// Plot implements plot.Plotter.
func (all clouds) Plot(c draw.Canvas, g *plot.Plot) {
	x, y := g.Transforms(&c)
	for _, l := range all {
		for i := range l.X {
			if at := (vg.Point{X: x(l.X[i]), Y: y(l.Y[i])}); c.Contains(at) {
				c.DrawGlyph(dot(), at)
			}
		}
	}
}
