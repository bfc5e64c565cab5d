package plot

import (
	"image/color"
	"sort"
	"strings"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// name is what stands in the gutter beside the end of a line.
type name struct {
	text string
	ends vg.Length // height at which the line ends
	y    vg.Length // height at which the name is put
	x    vg.Length // where the line ends
	pen  draw.LineStyle
	dots bool // it is of a cloud
}

// drawNames names lines and level rules at the right of the panel.
func (p Panel) drawNames(c draw.Canvas, x, y func(float64) vg.Length, right vg.Length) {
	style := lettering(8.5, ink(), text.XLeft, text.YCenter)
	left := c.Max.X + lead + sample + vg.Points(4)
	width := right - left
	names := p.names(c, x, y)
	heights := make([]vg.Length, len(names))
	for i := range names {
		names[i].text = wrap(style, names[i].text, width)
		heights[i] = style.Height(names[i].text) + vg.Points(3)
	}
	spread(names, heights, c.Min.Y, c.Max.Y)
	for _, n := range names {
		if n.reaches(c.Max.X) {
			thin := draw.LineStyle{Color: faint(), Width: vg.Points(0.4)}
			c.StrokeLine2(thin, n.x+vg.Points(1), n.ends, c.Max.X+lead-vg.Points(2), n.y)
		}
		n.drawSample(c, c.Max.X+lead)
		s := style
		s.Color = n.pen.Color
		c.FillText(s, vg.Point{X: left, Y: n.y}, n.text)
	}
}

// reaches says that what is named ends at the right, and not so far from there
// that a line to its name would look like a part of it.
func (n name) reaches(right vg.Length) bool { return right-n.x <= vg.Points(12) }

// drawSample shows the stroke of what is named, or dots.
func (n name) drawSample(c draw.Canvas, left vg.Length) {
	if !n.dots {
		c.StrokeLine2(n.pen, left, n.y, left+sample, n.y)
		return
	}
	for _, share := range []vg.Length{0.1, 0.4, 0.65, 0.9} {
		c.DrawGlyphNoClip(dot(), vg.Point{X: left + share*sample, Y: n.y})
	}
}

// drawInside names level rules on their line, at the left.
func (p Panel) drawInside(c draw.Canvas, y func(float64) vg.Length) {
	style := lettering(8.5, faint(), text.XLeft, text.YBottom)
	for _, r := range p.Rules {
		if at := y(r.At); !r.Upright && r.Name != "" && at >= c.Min.Y && at <= c.Max.Y {
			c.FillText(style, vg.Point{X: c.Min.X + vg.Points(3), Y: at + vg.Points(1)}, r.Name)
		}
	}
}

// names lists what the gutter holds, from the bottom up.
func (p Panel) names(c draw.Canvas, x, y func(float64) vg.Length) []name {
	var out []name
	for _, l := range p.Lines {
		if l.Name == "" || l.Beside.Side != AtEnd {
			continue
		}
		last := len(l.X) - 1
		ends := clamp(y(l.Y[last]), c.Min.Y, c.Max.Y)
		out = append(out, name{text: l.Name, ends: ends, y: ends, x: clamp(x(l.X[last]), c.Min.X, c.Max.X), pen: pen(l.Stroke)})
	}
	for _, l := range p.Clouds {
		if l.Name == "" {
			continue
		}
		last := len(l.X) - 1
		ends := clamp(y(l.Y[last]), c.Min.Y, c.Max.Y)
		out = append(out, name{text: l.Name, ends: ends, y: ends, x: clamp(x(l.X[last]), c.Min.X, c.Max.X), pen: draw.LineStyle{Color: dot().Color}, dots: true})
	}
	for _, r := range p.Rules {
		if !r.Upright && r.Name != "" {
			at := clamp(y(r.At), c.Min.Y, c.Max.Y)
			out = append(out, name{text: r.Name, ends: at, y: at, x: c.Max.X, pen: rulePen()})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].ends < out[j].ends })
	return out
}

// drawBeside names lines beside one of their points, on white so that what lies
// behind does not disturb, and on the other side where there is no room.
func (p Panel) drawBeside(c draw.Canvas, x, y func(float64) vg.Length) {
	const away = 6
	for _, l := range p.Lines {
		if l.Name == "" || l.Beside.Side == AtEnd {
			continue
		}
		i := int(l.Beside.Share * float64(len(l.X)-1))
		i = max(0, min(len(l.X)-1, i))
		at := vg.Point{X: x(l.X[i]), Y: clamp(y(l.Y[i]), c.Min.Y, c.Max.Y)}
		style := lettering(8.5, tone(l.Stroke), text.XLeft, text.YCenter)
		width, half := style.Width(l.Name), style.Height(l.Name)/2+vg.Points(1)
		left := at.X + vg.Points(away)
		if over := at.X - vg.Points(away) - width; l.Beside.Side == Left && over > c.Min.X || left+width > c.Max.X {
			left = over
		}
		c.FillPolygon(color.White, []vg.Point{
			{X: left - vg.Points(1), Y: at.Y - half}, {X: left + width + vg.Points(1), Y: at.Y - half},
			{X: left + width + vg.Points(1), Y: at.Y + half}, {X: left - vg.Points(1), Y: at.Y + half},
		})
		c.FillText(style, vg.Point{X: left, Y: at.Y}, l.Name)
	}
}

// spread moves names apart that would overlap, as little as it can, within low
// and high: blocks of names that touch share their displacement.
func spread(names []name, heights []vg.Length, low, high vg.Length) {
	inside := func() {
		for i := range names {
			names[i].y = clamp(names[i].y, low+heights[i]/2, max(low, high-heights[i]/2))
		}
	}
	inside()
	const rounds, touching = 200, 0.05 // points
	for range rounds {
		moved := false
		for i := 1; i < len(names); i++ {
			gap := (heights[i] + heights[i-1]) / 2
			if over := names[i-1].y + gap - names[i].y; over > vg.Points(touching) {
				names[i-1].y -= over / 2
				names[i].y += over / 2
				moved = true
			}
		}
		if !moved {
			return
		}
		inside()
	}
}

// wrap breaks a text at spaces, but not at those that hold together, so that no line is wider than width, unless a
// single word is.
func wrap(s text.Style, words string, width vg.Length) string {
	out, line := "", ""
	for _, w := range strings.FieldsFunc(words, func(r rune) bool { return r == ' ' || r == '\n' }) {
		next := w
		if line != "" {
			next = line + " " + w
		}
		if line != "" && s.Width(next) > width {
			out += line + "\n"
			next = w
		}
		line = next
	}
	return out + line
}
