package main

import (
	"fmt"
	"math"
	"strings"

	"wickd/alerts"
	"wickd/model"
)

const (
	// misfitBags is the share of the bags that an alert is about which is no mishap of
	// some of them.
	misfitBags = 0.75
	// misfitHealth is how far wicks may be from their figures before that tells of a
	// wrong site file: batches of a material differ by less (common practice).
	misfitHealth = 1.5
	// misfitResets is how much more often a model has to begin afresh than another,
	// before that is no chance.
	misfitResets = 3
	// screenColumns is what a comparison is set for.
	screenColumns = 80
)

// misfit says by what the second of two site files explains a recording less well than
// the first; none where nothing speaks for it. A model that does not fit makes alerts of
// what it cannot explain: they are no forecast of what a site built so would do.
func misfit(a, b sender) (by []string) {
	for _, c := range []model.Condition{alerts.BagNotDrinking, alerts.WickFailing} {
		bags := b.probed()
		n := b.told(c, bags)
		if len(bags) < 2 || float64(n) < misfitBags*float64(len(bags)) || a.told(c, a.probed()) > 0 {
			continue
		}
		which := "every bag"
		if n < len(bags) {
			which = fmt.Sprintf("%d of %d bags", n, len(bags))
		}
		by = append(by, fmt.Sprintf("it has %s in %s, A in none", conditionWords(c), which))
	}
	ours, known := a.wicks()
	theirs, knownToo := b.wicks()
	if known && knownToo && away(theirs) >= misfitHealth && away(theirs) >= misfitHealth*away(ours) {
		by = append(by, fmt.Sprintf("its wicks lift %.1f times what their figures say, A's %.1f times", theirs, ours))
	}
	if b.resets >= misfitResets*max(a.resets, 1) {
		by = append(by, fmt.Sprintf("it had to begin afresh %s with a bag or a reservoir, A %s", plural(b.resets, "time", "times"), often(a.resets)))
	}
	return by
}

// misfitText closes a comparison with what is wrong with the second site file.
func misfitText(by []string) string {
	if len(by) == 0 {
		return ""
	}
	return "\n" + filled("B does not fit this recording as well as A does: "+strings.Join(by, "; ")+". What it sends is in part of that: take it for no forecast of a site that is built so.", 0, 0, screenColumns)
}

// probed are the bags that have a moisture probe.
func (c *chronicle) probed() (ids []string) {
	if c.physics == nil {
		return nil
	}
	for _, b := range c.physics.Site.Bags {
		if b.Moisture != nil {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

// told counts the bags of which an alert was raised, kept back or not.
func (c *chronicle) told(condition model.Condition, bags []string) (n int) {
	of := map[model.Subject]bool{}
	for _, all := range [][]model.Transition{c.raised, c.hidden} {
		for _, t := range all {
			of[t.Subject] = of[t.Subject] || t.Condition == condition
		}
	}
	for _, id := range bags {
		if of[model.BagSubject(id)] {
			n++
		}
	}
	return n
}

// wicks is the health of the middle one of the bags at the end, in which a failure of
// some does not show: 1 is as built.
func (c *chronicle) wicks() (health float64, known bool) {
	var all []float64
	for _, b := range c.last.Bags {
		if b.WickHealth.Quality != model.Unknown && b.WickHealth.Value > 0 {
			all = append(all, b.WickHealth.Value)
		}
	}
	if len(all) == 0 {
		return 0, false
	}
	return medianOf(all, func(v float64) float64 { return v }), true
}

// away is how many times too much or too little it is.
func away(ratio float64) float64 { return math.Exp(math.Abs(math.Log(ratio))) }

func often(n int) string {
	if n == 0 {
		return "never"
	}
	return plural(n, "time", "times")
}
