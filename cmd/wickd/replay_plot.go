package main

import (
	"fmt"
	"math"
	"time"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/plot"
	"wickd/model"
)

// z90 bounds the middle 90 % of a normal distribution.
const z90 = 1.645

// draw writes a picture of every bag and reservoir, and a report that shows
// them, into the directory asked for.
func (r replayCommand) draw(site *config.Config, story *chronicle, c console) error {
	if r.Plot == "" {
		return nil
	}
	if len(story.hours) < 2 {
		note(c, "too little to draw: estimates come on the hour, and the recording holds %s; pictures need two, and days to show anything. The records are written",
			plural(len(story.hours), "full hour", "full hours"))
		return nil
	}
	g := gallery{site: site.Site, story: story, from: story.hours[0].Time}
	var pictures []picture
	for i, b := range site.Site.Bags {
		pictures = append(pictures, picture{"bag-" + fileName(b.ID), g.bag(i, b)})
	}
	for i, v := range site.Site.Reservoirs {
		pictures = append(pictures, picture{"reservoir-" + fileName(v.ID), g.reservoir(i, v)})
	}
	if _, err := writePictures(r.Plot, pictures); err != nil {
		return err
	}
	path, err := g.report(r.Plot, pictures)
	if err != nil {
		return err
	}
	if !r.Quiet {
		fmt.Fprintf(c.err, "report: %s\n", path)
	}
	return nil
}

// gallery draws what a replay found.
type gallery struct {
	site  *model.Site
	story *chronicle
	from  time.Time
}

// day is a time as days from the first hour.
func (g gallery) day(t time.Time) float64 { return t.Sub(g.from).Hours() / 24 }

func (g gallery) days() plot.Axis {
	last := g.story.hours[len(g.story.hours)-1].Time
	return plot.Axis{Name: "days from " + g.from.In(g.site.TimeZone).Format("2 January 2006, 15:04"), To: g.day(last)}
}

// over is a line through one figure of every hour; what is no number is left
// out.
func (g gallery) over(name string, stroke plot.Stroke, figure func(s model.Snapshot) float64) plot.Line {
	l := plot.Line{Name: name, Stroke: stroke}
	for _, s := range g.story.hours {
		if y := figure(s); !math.IsNaN(y) && !math.IsInf(y, 0) {
			l.X, l.Y = append(l.X, g.day(s.Time)), append(l.Y, y)
		}
	}
	return l
}

// band are an estimate and the bounds of its middle 90 %.
func (g gallery) band(name string, scale float64, figure func(s model.Snapshot) model.Measured) []plot.Line {
	at := func(z float64) func(model.Snapshot) float64 {
		return func(s model.Snapshot) float64 { m := figure(s); return scale * (m.Value + z*m.SD) }
	}
	return []plot.Line{
		g.over(name, plot.Solid, at(0)), g.over("", plot.DashDot, at(z90)), g.over("", plot.DashDot, at(-z90)),
	}
}

// heard is a line through the hourly means of a sensor's readings.
func (g gallery) heard(id model.Subject, scale float64) []plot.Line {
	s := g.story.readings[id]
	if s == nil {
		return nil
	}
	l := plot.Line{Name: "readings", Stroke: plot.Dotted}
	for i := 0; i < len(s.at); {
		hour, sum, n := s.at[i].Truncate(time.Hour), 0.0, 0
		for ; i < len(s.at) && s.at[i].Truncate(time.Hour).Equal(hour); i++ {
			sum += s.values[i]
			n++
		}
		l.X, l.Y = append(l.X, g.day(hour.Add(time.Hour/2))), append(l.Y, scale*sum/float64(n))
	}
	return drawable(l)
}

// drawable are the lines that have two points or more.
func drawable(lines ...plot.Line) []plot.Line {
	var out []plot.Line
	for _, l := range lines {
		if len(l.X) >= 2 {
			out = append(out, l)
		}
	}
	return out
}

// alerts of a subject and its sensors, as upright rules.
func (g gallery) alerts(subject model.Subject) []plot.Rule {
	var out []plot.Rule
	for _, t := range g.story.raised {
		if t.Subject.Owner() == subject {
			out = append(out, plot.Rule{Name: string(t.Condition), At: g.day(t.Time), Upright: true})
		}
	}
	return out
}

func (g gallery) bag(i int, b model.Bag) plot.Figure {
	const percent = 100
	subject := model.BagSubject(b.ID)
	water := plot.Panel{X: g.days(), Y: plot.Axis{Name: "water content, %"}, Rules: g.alerts(subject)}
	water.Lines = append(g.heard(subject.Sensor(model.Moisture), percent),
		g.band("estimate", percent, func(s model.Snapshot) model.Measured { return s.Bags[i].WaterContent })...)
	water.Rules = append(water.Rules, plot.Rule{Name: "dry limit", At: percent * g.story.hours[0].Bags[i].DryLimit})
	wicks := plot.Panel{X: g.days(), Y: plot.Axis{Name: "wick health, % of as built"}}
	wicks.Lines = g.band("wick health", percent, func(s model.Snapshot) model.Measured { return s.Bags[i].WickHealth })
	return plot.Figure{
		Title: "Bag " + b.ID, Note: "Estimates on the hour with their middle 90 %; upright lines are alerts.",
		Panels: []plot.Panel{water, wicks},
	}
}

func (g gallery) reservoir(i int, v model.Reservoir) plot.Figure {
	subject := model.ReservoirSubject(v.ID)
	volume := plot.Panel{X: g.days(), Y: plot.Axis{Name: "volume, L"}, Rules: g.alerts(subject)}
	volume.Lines = g.band("estimate", 1, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].Volume })
	draw := plot.Panel{X: g.days(), Y: plot.Axis{Name: "L a day"}}
	draw.Lines = g.band("unexplained", 1, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].Unexplained })
	draw.Lines = append(draw.Lines, drawable(g.over("draw", plot.Dashed, func(s model.Snapshot) float64 { return s.Reservoirs[i].DrawPerDay.Value }))...)
	return plot.Figure{
		Title: "Reservoir " + v.ID, Note: "Estimates on the hour with their middle 90 %; upright lines are alerts.",
		Panels: []plot.Panel{volume, draw},
	}
}
