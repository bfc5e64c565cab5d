package main

import (
	"fmt"
	"math"
	"time"

	"wickd/cmd/internal/plot"
	"wickd/model"
)

// z90 bounds the middle 90 % of a normal distribution.
const z90 = 1.645

// over adds a line through one figure of every hour; what is no number is left
// out.
func (g gallery) over(to *plot.Panel, name string, stroke plot.Stroke, figure func(s model.Snapshot) float64) {
	var all []sample
	for _, s := range g.story.hours {
		if y := figure(s); finite(y) {
			all = append(all, sample{s.Time, y, y, y})
		}
	}
	l := plot.Line{Name: g.named(name), Stroke: stroke}
	for _, s := range thinned(all, g.from, g.step) {
		l.X, l.Y = append(l.X, g.day(s.at)), append(l.Y, s.mid)
	}
	addLine(to, l)
}

// estimate adds an estimate and the middle 90 % of where it may lie.
func (g gallery) estimate(to *plot.Panel, name string, scale float64, figure func(s model.Snapshot) model.Measured) {
	var all []sample
	for _, s := range g.story.hours {
		if m := figure(s); isKnown(m) {
			all = append(all, sample{s.Time, scale * (m.Value - z90*m.SD), scale * m.Value, scale * (m.Value + z90*m.SD)})
		}
	}
	var b plot.Band
	for _, s := range thinned(all, g.from, g.step) {
		b.X, b.Low, b.High = append(b.X, g.day(s.at)), append(b.Low, s.low), append(b.High, s.high)
	}
	if len(b.X) >= 2 {
		to.Bands = append(to.Bands, b)
	}
	g.over(to, name, plot.Solid, func(s model.Snapshot) float64 { return value(figure(s), scale) })
}

// named says of a line what one of its points stands for, if not for an hour.
func (g gallery) named(name string) string {
	if g.step <= time.Hour {
		return name
	}
	return fmt.Sprintf("%s, median of %s", name, every(g.step))
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

// heard adds single readings of a sensor as dots, as many as can be told apart.
func (g gallery) heard(to *plot.Panel, id model.Subject, scale float64) {
	s := g.story.readings[id]
	if s == nil {
		return
	}
	const most = 350 // dots beside each other
	step := stretch(g.length(), most)
	cloud, last := plot.Cloud{Name: "readings"}, int64(math.MinInt64)
	for i, at := range s.at {
		part := int64(at.Sub(g.from) / step)
		if part == last {
			cloud.Name = "readings, one every " + every(step)
			continue
		}
		last = part
		cloud.X, cloud.Y = append(cloud.X, g.day(at)), append(cloud.Y, scale*s.values[i])
	}
	to.Clouds = append(to.Clouds, cloud)
}

// so adds what was so: a line, or points where it was measured now and then.
func (g gallery) so(to *plot.Panel, s *series, scale float64) {
	const oftenEnough = 6 * time.Hour
	n := len(s.at)
	if n == 0 {
		return
	}
	name := "truth"
	if last := s.at[n-1]; g.last().Sub(last) > oftenEnough {
		name = "truth, to " + last.In(g.site.TimeZone).Format("2 Jan 15:04")
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
	to.Marks[len(to.Marks)-n].Name = "truth"
}
