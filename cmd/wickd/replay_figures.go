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
	water.Rules = append(water.Rules, plot.Rule{Name: "dry limit", At: inPercent * g.story.hours[0].Bags[i].DryLimit})
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

const galleryNote = "Hourly estimates with their middle 90 %; alerts are upright lines, shaded while they stood."

func (g gallery) reservoir(i int, v model.Reservoir) plot.Figure {
	subject := model.ReservoirSubject(v.ID)
	held := func(s model.Snapshot) model.Measured { return s.Reservoirs[i].Volume }
	so := g.truth
	if so == nil {
		so = newTruth()
	}
	solution := []struct {
		name, unit string
		quantity   model.Quantity
		so         *series
		of         []model.Condition
		figure     func(s model.Snapshot) model.Measured
	}{
		{"EC", ", mS/cm", model.EC, so.ec, []model.Condition{alerts.ECOffTarget, alerts.ECDrift}, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].EC }},
		{"pH", "", model.PH, so.ph, []model.Condition{alerts.PHOffTarget}, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].PH }},
	}
	volume := plot.Panel{X: g.days(), Y: plot.Axis{Name: "volume, L"}}
	g.estimate(&volume, "estimate", 1, held)
	g.so(&volume, so.volume, 1)
	draw := plot.Panel{X: g.days(), Y: plot.Axis{Name: "L a day"}}
	g.estimate(&draw, "unexplained", 1, func(s model.Snapshot) model.Measured { return s.Reservoirs[i].Unexplained })
	g.over(&draw, "draw", plot.DashDot, func(s model.Snapshot) float64 { return value(s.Reservoirs[i].DrawPerDay, 1) })
	g.so(&draw, so.leaked.perDay(time.Hour), 1)
	panels, apart := []plot.Panel{volume, draw}, map[model.Condition]bool{}
	for _, q := range solution {
		if g.story.readings[subject.Sensor(q.quantity)] == nil {
			continue
		}
		p := plot.Panel{X: g.days(), Y: plot.Axis{Name: q.name + q.unit}}
		g.alerts(&p, func(t model.Transition) bool {
			return t.Subject == subject && slices.Contains(q.of, t.Condition)
		})
		g.heard(&p, subject.Sensor(q.quantity), 1)
		g.estimate(&p, "estimate", 1, q.figure)
		g.so(&p, q.so, 1)
		panels = append(panels, p)
		for _, c := range q.of {
			apart[c] = true
		}
	}
	g.alerts(&panels[0], func(t model.Transition) bool { return t.Subject.Owner() == subject && !apart[t.Condition] })
	return plot.Figure{Title: "Reservoir " + v.ID, Note: galleryNote + g.against("volume", "L", 1, so.volume, held), Panels: panels}
}
