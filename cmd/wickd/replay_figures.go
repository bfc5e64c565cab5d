package main

import (
	"slices"
	"time"

	"wickd/alerts"
	"wickd/cmd/internal/plot"
	"wickd/model"
)

const inPercent = 100

func (g gallery) bag(i int, b model.Bag) plot.Figure {
	subject := model.BagSubject(b.ID)
	content := func(s model.Snapshot) model.Measured { return s.Bags[i].WaterContent }
	water := plot.Panel{X: g.days(), Y: plot.Axis{Name: "water content, %"}}
	g.alerts(&water, func(t model.Transition) bool {
		return t.Subject.Owner() == subject || t.Subject == model.ChannelSubject(b.Channel)
	})
	g.heard(&water, subject.Sensor(model.Moisture), inPercent)
	g.estimate(&water, "estimate", inPercent, content)
	g.dryAndWet(&water, i)
	uptake := plot.Panel{X: g.days(), Y: plot.Axis{Name: "uptake, L a day"}}
	g.estimate(&uptake, "estimate", 1, func(s model.Snapshot) model.Measured { return s.Bags[i].UptakePerDay })
	wicks := plot.Panel{X: g.days(), Y: plot.Axis{Name: "wick health, % of as built"}}
	g.estimate(&wicks, "wick health", inPercent, func(s model.Snapshot) model.Measured { return s.Bags[i].WickHealth })
	said := ""
	if so := g.truth; so != nil && so.water[b.ID] != nil {
		g.so(&water, so.water[b.ID], inPercent)
		g.so(&uptake, so.uptake[b.ID].perDay(24*time.Hour), 1)
		said = g.against("water content", "% of the volume", inPercent, so.water[b.ID], content) +
			g.taken(so.uptake[b.ID], func(s model.Snapshot) float64 { return s.Bags[i].Uptake })
	}
	return plot.Figure{Title: "Bag " + b.ID, Note: galleryNote + said, Panels: []plot.Panel{water, uptake, wicks}}
}

const galleryNote = "Lines: hourly estimates, in the band within which what is so lies nine times in ten. Dots: single readings. Bars over a panel, and shades in it: alerts while they stood; hollow bars were kept back, for another alert explains them."

// dissolved is a figure of the solution, its probe, and the alerts that are about
// it.
type dissolved struct {
	name     string
	quantity model.Quantity
	so       *series
	of       []model.Condition
	band     func(t model.Target) (target, half float64)
	figure   func(s model.Snapshot) model.Measured
}

func (g gallery) solution(i int, so *truth) []dissolved {
	return []dissolved{
		{"EC, mS/cm", model.EC, so.ec, []model.Condition{alerts.ECOffTarget, alerts.ECDrift}, ecBand, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].EC }},
		{"pH", model.PH, so.ph, []model.Condition{alerts.PHOffTarget}, phBand, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].PH }},
	}
}

func (g gallery) reservoir(i int, v model.Reservoir) plot.Figure {
	subject := model.ReservoirSubject(v.ID)
	held := func(s model.Snapshot) model.Measured { return s.Reservoirs[i].Volume }
	so := g.truth
	if so == nil {
		so = newTruth()
	}
	volume := plot.Panel{X: g.days(), Y: plot.Axis{Name: "volume, L"}}
	g.estimate(&volume, "estimate", 1, held)
	g.so(&volume, so.volume, 1)
	g.marks(&volume, i)
	draw := plot.Panel{X: g.days(), Y: plot.Axis{Name: "L a day"}}
	g.estimate(&draw, "unexplained", 1, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].Unexplained })
	g.over(&draw, "draw", plot.DashDot, func(s model.Snapshot) float64 { return value(s.Reservoirs[i].DrawPerDay, 1) })
	g.so(&draw, so.leaked.perDay(time.Hour), 1)
	panels, apart := []plot.Panel{volume, draw}, map[model.Condition]bool{}
	for _, d := range g.solution(i, so) {
		if g.story.readings[subject.Sensor(d.quantity)] == nil {
			continue
		}
		panels = append(panels, g.dissolved(d, subject, v.Target))
		for _, c := range d.of {
			apart[c] = true
		}
	}
	g.alerts(&panels[0], func(t model.Transition) bool { return t.Subject.Owner() == subject && !apart[t.Condition] })
	return plot.Figure{Title: "Reservoir " + v.ID, Note: galleryNote + g.against("volume", "L", 1, so.volume, held), Panels: panels}
}

func (g gallery) dissolved(d dissolved, of model.Subject, target model.Target) plot.Panel {
	p := plot.Panel{X: g.days(), Y: plot.Axis{Name: d.name}}
	g.alerts(&p, func(t model.Transition) bool { return t.Subject == of && slices.Contains(d.of, t.Condition) })
	g.heard(&p, of.Sensor(d.quantity), 1)
	g.step = max(time.Hour, stretch(g.length(), mostCalmPoints))
	g.estimate(&p, "estimate", 1, d.figure)
	g.so(&p, d.so, 1)
	stated, half := d.band(target)
	band(&p, stated, half)
	return p
}
