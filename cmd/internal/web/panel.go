package web

import (
	"bytes"
	"fmt"
	"math"
	"time"

	"wickd/cmd/internal/plot"
)

// course is a figure at one time, and the span in which it lies: how sure it
// is, or how far the things it stands for differ.
type course struct {
	at             time.Time
	low, mid, high float64
}

func (c course) when() time.Time { return c.at }

// courses are points with their standard deviation to both sides.
func courses(points []Point) []course {
	return each(points, func(p Point) course { return course{p.Time, p.Value - p.SD, p.Value, p.Value + p.SD} })
}

// panel is a chart as it is drawn where no page can be shown.
func (ch chart) panel(c clock, f frame, all []course) plot.Panel {
	p := plot.Panel{
		X: plot.Axis{From: 0, To: f.hours(f.to), Ticks: f.clockTicks(c)},
		Y: plot.Axis{Name: ch.label(), From: f.least * ch.scale, To: f.most * ch.scale},
	}
	for _, run := range runs(all) {
		if len(run) < 2 {
			continue
		}
		var line plot.Line
		var band plot.Band
		for _, q := range run {
			x := f.hours(q.at)
			line.X, line.Y = append(line.X, x), append(line.Y, q.mid*ch.scale)
			band.Low, band.High = append(band.Low, q.low*ch.scale), append(band.High, q.high*ch.scale)
		}
		band.X = line.X
		p.Lines, p.Bands = append(p.Lines, line), append(p.Bands, band)
	}
	for _, l := range ch.limits {
		p.Rules = append(p.Rules, plot.Rule{Name: l.label + " " + ch.say(l.value), At: l.value * ch.scale})
	}
	if ch.now.Value != nil && len(p.Lines) > 0 {
		p.Rules = append(p.Rules, plot.Rule{Name: "now", At: f.hours(c.now), Upright: true})
		p.Marks = append(p.Marks, plot.Mark{Name: ch.say(*ch.now.Value), X: f.hours(c.now), Y: *ch.now.Value * ch.scale})
		ch.forecast(&p, f, c.now)
	}
	return p
}

// label names the axis of the values, with their unit.
func (ch chart) label() string {
	if ch.unit == "" {
		return ch.title
	}
	return ch.title + ", " + ch.unit
}

// forecast draws the way to the first limit, and the span in which it lies nine
// times in ten, like the page does.
func (ch chart) forecast(p *plot.Panel, f frame, now time.Time) {
	if ch.goal == nil || ch.goal.P50 == nil || !ch.goal.P50.After(now) {
		return
	}
	x, y, goal := f.hours(now), *ch.now.Value*ch.scale, ch.limits[0].value*ch.scale
	p.Lines = append(p.Lines, plot.Line{Stroke: plot.Dashed, X: []float64{x, f.hours(*ch.goal.P50)}, Y: []float64{y, goal}})
	if ch.goal.P05 == nil || ch.goal.P95 == nil || !ch.goal.P05.After(now) || !ch.goal.P95.After(*ch.goal.P05) {
		return
	}
	soon, late := f.hours(*ch.goal.P05), f.hours(*ch.goal.P95)
	meanwhile := y + (goal-y)*(soon-x)/(late-x) // of the late way, when the soon one ends
	p.Bands = append(p.Bands, plot.Band{
		X: []float64{x, soon, late}, Low: []float64{y, goal, goal}, High: []float64{y, meanwhile, goal},
	})
}

// hours are those since the frame begins.
func (f frame) hours(t time.Time) float64 { return t.Sub(f.from).Hours() }

// clockTicks are the local midnights, and the noons where there are few days.
func (f frame) clockTicks(c clock) []plot.Tick {
	const few = 5 * 24 // hours
	ticks := []plot.Tick{}
	first := f.from.In(c.zone)
	for half := 0; ; half++ {
		t := time.Date(first.Year(), first.Month(), first.Day(), 12*half, 0, 0, 0, c.zone)
		switch {
		case t.After(f.to):
			return ticks
		case t.Before(f.from):
		case half%2 == 0:
			ticks = append(ticks, plot.Tick{At: f.hours(t), Label: t.Format("Mon")})
		case f.hours(f.to) <= few:
			ticks = append(ticks, plot.Tick{At: f.hours(t), Label: "12"})
		}
	}
}

// around fits the values of a figure and its limits, with a little room.
func (f *frame) around(ch chart, all []course) {
	f.least, f.most = math.Inf(1), math.Inf(-1)
	for _, q := range all {
		f.least, f.most = min(f.least, q.low), max(f.most, q.high)
	}
	for _, l := range ch.limits {
		f.least, f.most = min(f.least, l.value), max(f.most, l.value)
	}
	if ch.now.Value != nil {
		f.least, f.most = min(f.least, *ch.now.Value), max(f.most, *ch.now.Value)
	}
	room := max((f.most-f.least)/12, math.Pow10(-ch.decimals)/ch.scale)
	f.least, f.most = f.least-room, f.most+room
}

// png draws panels for a phone; nil: there is nothing to draw.
func png(title, note string, panels []plot.Panel) ([]byte, error) {
	if len(panels) == 0 {
		return nil, nil
	}
	var out bytes.Buffer
	if err := (plot.Figure{Title: title, Note: note, Panels: panels, Narrow: true}).PNG(&out); err != nil {
		return nil, fmt.Errorf("draw a picture: %w", err)
	}
	return out.Bytes(), nil
}
