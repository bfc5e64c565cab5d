package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/plot"
	"wickd/model"
	"wickd/model/design"
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
	g := newGallery(site.Site, story, so)
	if so != nil && (so.from.After(g.last()) || so.to.Before(g.from)) {
		zone := site.Site.TimeZone
		note(c, "what was so is of %s to %s, when nothing was recorded: the pictures are drawn without it", so.from.In(zone).Format(time.DateOnly), so.to.In(zone).Format(time.DateOnly))
		g.truth = nil
	}
	if doubts := g.doubts(); len(doubts) > 0 {
		g.doubt = fmt.Sprintf("what was so may be of another recording: %s", strings.Join(doubts, "; "))
		note(c, "%s; it is drawn all the same", g.doubt)
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
	site    *model.Site
	physics *design.Site
	story   *chronicle
	truth   *truth // nil: not known
	doubt   string // of the truth; empty: none
	from    time.Time
	step    time.Duration // that a point of a line stands for
}

func newGallery(site *model.Site, story *chronicle, so *truth) gallery {
	g := gallery{site: site, physics: story.physics, story: story, truth: so, from: story.hours[0].Time}
	g.step = max(time.Hour, stretch(g.length(), mostPoints))
	return g
}

// last is the last hour, length the time up to it.
func (g gallery) last() time.Time       { return g.story.hours[len(g.story.hours)-1].Time }
func (g gallery) length() time.Duration { return g.last().Sub(g.from) }

// day is a time as days from the first hour.
func (g gallery) day(t time.Time) float64 { return t.Sub(g.from).Hours() / 24 }

// days is the axis of time, marked at midnights of the site, or at hours where
// there is less than two days.
func (g gallery) days() plot.Axis {
	first := g.from.In(g.site.TimeZone)
	axis := plot.Axis{Name: first.Format("2006"), To: g.day(g.last()), Ticks: []plot.Tick{}}
	const most = 10 // labels that stand beside each other
	step, layout := 24*(1+int(axis.To)/most), "2 Jan"
	if axis.To < 2 {
		step, layout, axis.Name = 6, "15:04", first.Format("2 January 2006")
	}
	axis.Name += "; " + zoneWords(g.site.TimeZone)
	for hour := 0; ; hour += step {
		t := time.Date(first.Year(), first.Month(), first.Day(), hour, 0, 0, 0, first.Location())
		if t.After(g.last()) {
			return axis
		}
		if !t.Before(g.from) {
			axis.Ticks = append(axis.Ticks, plot.Tick{At: g.day(t), Label: t.Format(layout)})
		}
	}
}
