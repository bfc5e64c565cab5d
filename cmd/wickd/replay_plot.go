package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"wickd/alerts"
	"wickd/cmd/internal/config"
	"wickd/cmd/internal/plot"
	"wickd/model"
)

// z90 bounds the middle 90 % of a normal distribution.
const z90 = 1.645

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

func (g gallery) days() plot.Axis {
	last := g.story.hours[len(g.story.hours)-1].Time
	return plot.Axis{Name: "days from " + g.from.In(g.site.TimeZone).Format("2 January 2006, 15:04"), To: g.day(last)}
}

// over adds a line through one figure of every hour; what is no number is left
// out.
func (g gallery) over(to *plot.Panel, name string, stroke plot.Stroke, figure func(s model.Snapshot) float64) {
	l := plot.Line{Name: name, Stroke: stroke}
	for _, s := range g.story.hours {
		if y := figure(s); finite(y) {
			l.X, l.Y = append(l.X, g.day(s.Time)), append(l.Y, y)
		}
	}
	addLine(to, l)
}

// estimate adds an estimate and the middle 90 % of where it may lie.
func (g gallery) estimate(to *plot.Panel, name string, scale float64, figure func(s model.Snapshot) model.Measured) {
	var b plot.Band
	for _, s := range g.story.hours {
		if m := figure(s); isKnown(m) {
			b.X = append(b.X, g.day(s.Time))
			b.Low, b.High = append(b.Low, scale*(m.Value-z90*m.SD)), append(b.High, scale*(m.Value+z90*m.SD))
		}
	}
	if len(b.X) >= 2 {
		to.Bands = append(to.Bands, b)
	}
	g.over(to, name, plot.Solid, func(s model.Snapshot) float64 { return value(figure(s), scale) })
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

// heard adds the hourly means of a sensor's readings: a line for each stretch in
// which it was not silent for long.
func (g gallery) heard(to *plot.Panel, id model.Subject, scale float64) {
	const silence = 3 * time.Hour
	s := g.story.readings[id]
	if s == nil {
		return
	}
	var l plot.Line
	var last time.Time
	var lines []plot.Line
	for i := 0; i < len(s.at); {
		hour, sum, n := s.at[i].Truncate(time.Hour), 0.0, 0
		for ; i < len(s.at) && s.at[i].Truncate(time.Hour).Equal(hour); i++ {
			sum += s.values[i]
			n++
		}
		if hour.Sub(last) > silence && len(l.X) > 0 {
			lines, l = append(lines, l), plot.Line{}
		}
		l.X, l.Y, last = append(l.X, g.day(hour.Add(time.Hour/2))), append(l.Y, scale*sum/float64(n)), hour
	}
	lines = slices.DeleteFunc(append(lines, l), func(l plot.Line) bool { return len(l.X) < 2 })
	for i := range lines {
		lines[i].Stroke = plot.Dotted
		if i == len(lines)-1 { // its name stands at its end
			lines[i].Name = "readings"
		}
		to.Lines = append(to.Lines, lines[i])
	}
}

// so adds what was so: a line, or points where it was measured now and then.
func (g gallery) so(to *plot.Panel, s *series, scale float64) {
	const name, oftenEnough = "truth", 6 * time.Hour
	n := len(s.at)
	if n == 0 {
		return
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
	to.Marks[len(to.Marks)-n].Name = name
}

// alerts adds those that are asked for as upright rules, with the time for which
// they stood shaded.
func (g gallery) alerts(to *plot.Panel, which func(t model.Transition) bool) {
	for _, t := range g.story.raised {
		if !which(t) {
			continue
		}
		to.Rules = append(to.Rules, plot.Rule{Name: string(t.Condition), At: g.day(t.Time), Upright: true})
		end, ok := g.story.cleared[t.Occurrence]
		if !ok {
			end = g.story.hours[len(g.story.hours)-1].Time
		}
		to.Areas = append(to.Areas, plot.Area{From: g.day(t.Time), To: g.day(end)})
	}
}

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

// at is the snapshot of the hour next to t.
func (g gallery) at(t time.Time) (model.Snapshot, bool) {
	i := int(t.Sub(g.from).Round(time.Hour) / time.Hour)
	// Hours in which nobody listened are missing, so that it may lie further back.
	for i = min(i, len(g.story.hours)-1); i >= 0; i-- {
		switch s := g.story.hours[i]; {
		case s.Time.Sub(t).Abs() <= time.Hour/2:
			return s, true
		case s.Time.Before(t):
			return s, false
		}
	}
	return model.Snapshot{}, false
}

// against says how an estimate compares with what was so: by the median, for in
// the hour of a refill the two may lie on either side of it.
func (g gallery) against(what, unit string, scale float64, so *series, figure func(s model.Snapshot) model.Measured) string {
	var offs []float64
	within := 0
	for i, at := range so.at {
		s, ok := g.at(at)
		if !ok {
			continue
		}
		m := figure(s)
		off := math.Abs(m.Value - so.values[i])
		if off <= z90*m.SD {
			within++
		}
		offs = append(offs, off)
	}
	n := len(offs)
	if n == 0 {
		return ""
	}
	slices.Sort(offs)
	const bound = "\u00a0" // a sign is not parted from its number
	return fmt.Sprintf(" Against the truth: %s off by %.2g%s%s (median), within the band at %.0f%s%% of %s.",
		what, scale*offs[n/2], bound, unit, inPercent*float64(within)/float64(n), bound, plural(n, "time", "times"))
}

// taken says what was taken up between the first and the last time that is
// known.
func (g gallery) taken(so *series, figure func(s model.Snapshot) float64) string {
	var first, last int
	var from, to float64
	n := 0
	for i, at := range so.at {
		s, ok := g.at(at)
		if !ok {
			continue
		}
		if n++; n == 1 {
			first, from = i, figure(s)
		}
		last, to = i, figure(s)
	}
	if n < 2 {
		return ""
	}
	return fmt.Sprintf(" Taken up: %.1f L, in truth %.1f L.", to-from, so.values[last]-so.values[first])
}
