package main

import (
	"fmt"
	"math"

	"wickd/cmd/internal/plot"
	"wickd/model/design"
)

// profileFigure is the water over the height of a bag.
func (s subject) profileFigure(b *design.Bag) plot.Figure {
	store := b.Hydraulic.Store
	height := store.Tube().Height()
	atLimit := store.Suction(b.DryLimit * store.Volume())
	rest, limit := plot.Beside{Share: 0.8, Side: plot.Right}, plot.Beside{Share: 0.4, Side: plot.Left}
	if atLimit < b.Lift { // dry at rest: the curves have changed sides
		rest.Side, limit.Side = plot.Left, plot.Right
	}
	profile := func(suction float64, name string, stroke plot.Stroke, beside plot.Beside) plot.Line {
		line := plot.Line{Name: name, Stroke: stroke, Beside: beside}
		for i := range 61 {
			z := height * float64(i) / 60
			line.X = append(line.X, 100*store.Material().Theta(-(suction+z)))
			line.Y = append(line.Y, 10*z)
		}
		return line
	}
	full := 100 * b.Saturated
	return plot.Figure{
		Title: "Water over the height of a bag: " + s.one(b),
		Note: fmt.Sprintf("%s, lift %.0f mm. At rest the bag holds %.0f %% water and %.0f %% air on average; it is dry at %.0f %%.",
			b.Bag.Media, 10*b.Lift, 100*b.Equilibrium(), 100*(b.Saturated-b.Equilibrium()), 100*b.DryLimit),
		Panels: []plot.Panel{{
			X:     plot.Axis{Name: "water, % of the volume", From: 0, To: math.Min(100, 10*math.Ceil(full/10)+5), Every: 10},
			Y:     plot.Axis{Name: "height above the base, mm"},
			Areas: []plot.Area{{Name: "solids", From: full, To: 100}},
			Lines: []plot.Line{
				profile(b.Lift, "at rest over the channel", plot.Solid, rest),
				profile(atLimit, "at the dry limit", plot.Dashed, limit),
			},
			Rules: []plot.Rule{{Name: "all pores full", At: full, Upright: true}},
		}},
	}
}

// peakFigure is a peak day hour by hour.
func (s subject) peakFigure(b *design.Bag, r design.BagReport, run design.PeakRun) plot.Figure {
	asked := steps("plants ask for", run.Demand, plot.Solid)
	lifted := steps("wicks lift", run.Lifted, plot.Dashed)
	flows := []plot.Line{asked, lifted}
	if run.Met < 0.99 {
		flows = append(flows, steps("plants get", run.Taken, plot.Dotted))
	}
	water := plot.Line{Name: "water in the bag", Stroke: plot.Solid}
	for h, c := range run.WaterContent {
		water.X, water.Y = append(water.X, float64(h)), append(water.Y, 100*c)
	}
	hours := plot.Axis{Name: "hours after solar midnight", From: 0, To: 24, Every: 3}
	return plot.Figure{
		Title: "A peak day: " + s.one(b),
		Note: fmt.Sprintf("%s, %.1f mm of reference evapotranspiration, repeated until one day is like the next. The plants ask for %.1f L and get %.0f %%; at the dry limit the wicks could lift %.1f L.",
			capital(s.where), s.peak.Day, r.PeakDemand, 100*run.Met, r.Supply),
		Panels: []plot.Panel{
			{X: hours, Y: plot.Axis{Name: "L in an hour"}, Lines: flows},
			{
				X: hours, Y: plot.Axis{Name: "water, % of the volume"}, Lines: []plot.Line{water},
				Rules: []plot.Rule{
					{Name: "at rest", At: 100 * b.Equilibrium()},
					{Name: "dry limit", At: 100 * b.DryLimit},
				},
			},
		},
	}
}

// steps draws what happened in each hour at the middle of the hour.
func steps(name string, hours [24]float64, stroke plot.Stroke) plot.Line {
	line := plot.Line{Name: name, Stroke: stroke}
	for h, v := range hours {
		line.X, line.Y = append(line.X, float64(h)+0.5), append(line.Y, v)
	}
	return line
}
