package plot

import (
	"image/color"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

const (
	barHeight = vg.Length(5) // of a span in its lane, points
	// leastBar is the width of what lasted for a moment.
	leastBar = vg.Length(2)
	laneRoom = vg.Length(3) // between the names of two lanes
	lanePad  = vg.Length(4) // between the lanes and the panel
)

// strip is a lane made ready to be painted: its name broken into lines.
type strip struct {
	lane   Lane
	name   string
	height vg.Length
}

type strips []strip

func laneStyle() text.Style { return lettering(8.5, ink(), text.XLeft, text.YCenter) }

// lanes are a panel's; where there is no gutter they stay without names.
func (p Panel) lanes(gutter vg.Length) strips {
	style := laneStyle()
	var out strips
	for _, l := range p.Lanes {
		s := strip{lane: l, height: barHeight + laneRoom}
		if gutter > 0 {
			s.name = wrap(style, l.Name, gutter-lead)
			s.height = max(s.height, style.Height(s.name)+laneRoom)
		}
		out = append(out, s)
	}
	return out
}

// height is what all of them take over the panel.
func (s strips) height() vg.Length {
	if len(s) == 0 {
		return 0
	}
	h := lanePad
	for _, one := range s {
		h += one.height
	}
	return h
}

// draw puts them over what is drawn in c.
func (s strips) draw(c draw.Canvas, x func(float64) vg.Length) {
	top := c.Max.Y + s.height()
	for _, one := range s {
		middle := top - one.height/2
		c.StrokeLine2(draw.LineStyle{Color: grid(), Width: vg.Points(0.5)}, c.Min.X, middle, c.Max.X, middle)
		for _, span := range one.lane.Spans {
			left, right := clamp(x(span.From), c.Min.X, c.Max.X-leastBar), clamp(x(span.To), c.Min.X, c.Max.X)
			drawBar(c, left, max(right, left+leastBar), middle, span.Hollow)
		}
		c.FillText(laneStyle(), vg.Point{X: c.Max.X + lead, Y: middle}, one.name)
		top -= one.height
	}
}

// drawBar fills what was so, and outlines what was hollow.
func drawBar(c draw.Canvas, left, right, middle vg.Length, hollow bool) {
	low, high := middle-barHeight/2, middle+barHeight/2
	corners := []vg.Point{{X: left, Y: low}, {X: right, Y: low}, {X: right, Y: high}, {X: left, Y: high}}
	if !hollow {
		c.FillPolygon(ink(), corners)
		return
	}
	c.FillPolygon(color.White, corners)
	c.StrokeLines(draw.LineStyle{Color: ink(), Width: vg.Points(0.8)}, append(corners, corners[0]))
}
