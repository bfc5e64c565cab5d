package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"time"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/plot"
	"wickd/model"
)

// draw writes a picture of every bag and reservoir, and a report that shows
// them, into the directory asked for.
func (r replayCommand) draw(site *config.Config, story *chronicle, so *truth, c console) error {
	if r.Plot == "" {
		return nil
	}
	if len(story.hours) < 2 {
		note(c, "too little to draw%s: estimates come on the hour, and the recording holds %s; pictures need two, and days to show anything. The records are written",
			r.older(), plural(len(story.hours), "full hour", "full hours"))
		return nil
	}
	g := gallery{site: site.Site, story: story, truth: so, from: story.hours[0].Time}
	if last := story.hours[len(story.hours)-1].Time; so != nil && (so.from.After(last) || so.to.Before(g.from)) {
		note(c, "what was so is of %s to %s, when nothing was recorded: the pictures are drawn without it", so.from.UTC().Format(time.DateOnly), so.to.UTC().Format(time.DateOnly))
		g.truth = nil
	}
	if r.WhatIf != "" {
		note(c, "the pictures and the records are of %s", r.Site)
	}
	var pictures []picture
	add := func(name string, f plot.Figure) {
		f.Panels = slices.DeleteFunc(f.Panels, func(p plot.Panel) bool { return len(p.Lines) == 0 })
		if len(f.Panels) == 0 {
			note(c, "no picture of %s: nothing was heard of it", f.Title)
			return
		}
		pictures = append(pictures, picture{name, f})
	}
	for i, b := range site.Site.Bags {
		add("bag-"+fileName(b.ID), g.bag(i, b))
	}
	for i, v := range site.Site.Reservoirs {
		add("reservoir-"+fileName(v.ID), g.reservoir(i, v))
	}
	earlier := drawnBefore(r.Plot)
	if _, err := writePictures(r.Plot, pictures); err != nil {
		return err
	}
	path, err := g.report(r.Plot, pictures)
	if err != nil {
		return err
	}
	if err := clearAway(r.Plot, earlier, pictures); err != nil {
		return err
	}
	if !r.Quiet {
		fmt.Fprintf(c.err, "report: %s\n", path)
	}
	return nil
}

// older says that the directory holds pictures of an earlier replay.
func (r replayCommand) older() string {
	if _, err := os.Stat(filepath.Join(r.Plot, reportName)); err != nil {
		return ""
	}
	return fmt.Sprintf(" (what is in %s is of an earlier replay)", r.Plot)
}

// gallery draws what a replay found, and what was so if that is known.
type gallery struct {
	site  *model.Site
	story *chronicle
	truth *truth // nil: not known
	from  time.Time
}

// day is a time as days from the first hour.
func (g gallery) day(t time.Time) float64 { return t.Sub(g.from).Hours() / 24 }

// days is the axis of time, marked at midnights of the site, or at hours where
// there is less than two days.
func (g gallery) days() plot.Axis {
	first, last := g.from.In(g.site.TimeZone), g.story.hours[len(g.story.hours)-1].Time
	axis := plot.Axis{Name: first.Format("2006"), To: g.day(last), Ticks: []plot.Tick{}}
	const most = 10 // labels that stand beside each other
	step, layout := 24*(1+int(axis.To)/most), "2 Jan"
	if axis.To < 2 {
		step, layout, axis.Name = 6, "15:04", first.Format("2 January 2006")
	}
	for hour := 0; ; hour += step {
		t := time.Date(first.Year(), first.Month(), first.Day(), hour, 0, 0, 0, first.Location())
		if t.After(last) {
			return axis
		}
		if !t.Before(g.from) {
			axis.Ticks = append(axis.Ticks, plot.Tick{At: g.day(t), Label: t.Format(layout)})
		}
	}
}
