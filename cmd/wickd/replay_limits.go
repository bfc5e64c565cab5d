package main

import (
	"fmt"

	"wickd/cmd/internal/plot"
	"wickd/model"
)

// limit adds a rule that is named with its value.
func limit(to *plot.Panel, at float64, format string) {
	to.Rules = append(to.Rules, plot.Rule{Name: fmt.Sprintf(format, at), At: at})
}

// marks adds the levels that the site file names, as volumes.
func (g gallery) marks(to *plot.Panel, i int) {
	built := g.physics.Reservoirs[i]
	r := built.Reservoir
	limit(to, built.Full(), "full, %.0f L")
	if r.Low > r.Empty {
		limit(to, built.Volume(r.Low), "low, %.0f L")
	}
	limit(to, built.Empty(), "empty, %.0f L")
}

// band adds the two ends of what a figure is to stay within; not where no target
// is stated.
func band(to *plot.Panel, target, half float64) {
	if target <= 0 {
		return
	}
	limit(to, target+half, "target, at most %.3g")
	limit(to, target-half, "target, at least %.3g")
}

// dryAndWet adds what the water of a bag is to stay between.
func (g gallery) dryAndWet(to *plot.Panel, i int) {
	b := g.story.hours[0].Bags[i]
	limit(to, inPercent*b.WetLimit, "wet limit, %.0f %%")
	limit(to, inPercent*b.DryLimit, "dry limit, %.0f %%")
}

// ecBand and phBand are what a reservoir's solution is to stay within.
func ecBand(t model.Target) (target, half float64) { return t.EC, t.ECBand() }
func phBand(t model.Target) (target, half float64) { return t.PH, t.PHBand() }
