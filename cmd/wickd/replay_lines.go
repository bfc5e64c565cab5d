package main

import (
	"math"
	"slices"
	"time"

	"wickd/cmd/internal/plot"
	"wickd/model"
)

// z90 bounds the middle 90 % of a normal distribution.
const z90 = 1.645

// over adds a line through one figure of every hour; what is no number is left
// out.
func (g gallery) over(to *plot.Panel, name string, stroke plot.Stroke, figure func(s model.Snapshot) float64) {
	l := plot.Line{Name: name, Stroke: stroke}
	for _, s := range g.story.hours {
		if y := figure(s); finite(y) {
			l.X, l.Y = append(l.X, g.day(s.Time)), append(l.Y, y)
		}
	}
	addLine(to, l)
}

// estimate adds an estimate and the middle 90 % of where it may lie.
func (g gallery) estimate(to *plot.Panel, name string, scale float64, figure func(s model.Snapshot) model.Measured) {
	var b plot.Band
	for _, s := range g.story.hours {
		if m := figure(s); isKnown(m) {
			b.X = append(b.X, g.day(s.Time))
			b.Low, b.High = append(b.Low, scale*(m.Value-z90*m.SD)), append(b.High, scale*(m.Value+z90*m.SD))
		}
	}
	if len(b.X) >= 2 {
		to.Bands = append(to.Bands, b)
	}
	g.over(to, name, plot.Solid, func(s model.Snapshot) float64 { return value(figure(s), scale) })
}

func isKnown(m model.Measured) bool {
	return m.Quality != model.Unknown && finite(m.Value) && finite(m.SD)
}

// value is a figure that is known, or no number.
func value(m model.Measured, scale float64) float64 {
	if !isKnown(m) {
		return math.NaN()
	}
	return scale * m.Value
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// addLine adds a line that has two points or more.
func addLine(to *plot.Panel, l plot.Line) {
	if len(l.X) >= 2 {
		to.Lines = append(to.Lines, l)
	}
}

// heard adds the hourly means of a sensor's readings: a line for each stretch in
// which it was not silent for long.
func (g gallery) heard(to *plot.Panel, id model.Subject, scale float64) {
	const silence = 3 * time.Hour
	s := g.story.readings[id]
	if s == nil {
		return
	}
	var l plot.Line
	var last time.Time
	var lines []plot.Line
	for i := 0; i < len(s.at); {
		hour, sum, n := s.at[i].Truncate(time.Hour), 0.0, 0
		for ; i < len(s.at) && s.at[i].Truncate(time.Hour).Equal(hour); i++ {
			sum += s.values[i]
			n++
		}
		if hour.Sub(last) > silence && len(l.X) > 0 {
			lines, l = append(lines, l), plot.Line{}
		}
		l.X, l.Y, last = append(l.X, g.day(hour.Add(time.Hour/2))), append(l.Y, scale*sum/float64(n)), hour
	}
	lines = slices.DeleteFunc(append(lines, l), func(l plot.Line) bool { return len(l.X) < 2 })
	for i := range lines {
		lines[i].Stroke = plot.Dotted
		if i == len(lines)-1 { // its name stands at its end
			lines[i].Name = "readings"
		}
		to.Lines = append(to.Lines, lines[i])
	}
}

// so adds what was so: a line, or points where it was measured now and then.
func (g gallery) so(to *plot.Panel, s *series, scale float64) {
	const name, oftenEnough = "truth", 6 * time.Hour
	n := len(s.at)
	if n == 0 {
		return
	}
	if often := s.at[n-1].Sub(s.at[0]) <= oftenEnough*time.Duration(n-1); often && n >= 2 {
		l := plot.Line{Name: name, Stroke: plot.Dashed}
		for i, at := range s.at {
			l.X, l.Y = append(l.X, g.day(at)), append(l.Y, scale*s.values[i])
		}
		addLine(to, l)
		return
	}
	for i, at := range s.at {
		to.Marks = append(to.Marks, plot.Mark{X: g.day(at), Y: scale * s.values[i]})
	}
	to.Marks[len(to.Marks)-n].Name = name
}

// alerts adds those that are asked for as upright rules, with the time for which
// they stood shaded.
func (g gallery) alerts(to *plot.Panel, which func(t model.Transition) bool) {
	for _, t := range g.story.raised {
		if !which(t) {
			continue
		}
		to.Rules = append(to.Rules, plot.Rule{Name: string(t.Condition), At: g.day(t.Time), Upright: true})
		end, ok := g.story.cleared[t.Occurrence]
		if !ok {
			end = g.story.hours[len(g.story.hours)-1].Time
		}
		to.Areas = append(to.Areas, plot.Area{From: g.day(t.Time), To: g.day(end)})
	}
}
