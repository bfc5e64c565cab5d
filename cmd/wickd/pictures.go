package main

import (
	"fmt"
	"math"
	"os"

	"wickd/cmd/internal/plot"
	"wickd/model/design"
)

// picture is a figure and the name of its files.
type picture struct {
	name   string
	figure plot.Figure
}

// subject is what the pictures of a kind of bag are about.
type subject struct {
	name  string // "p1–p4", in titles
	mark  string // names the point on the supply curve; empty: the bags do
	file  string // in file names
	bags  []*design.Bag
	peak  design.Peak
	where string // "a clear midsummer day at 47.0° N", in notes
}

// farthest is the bag that the wicks have the hardest time with.
func (s subject) farthest() *design.Bag {
	far := s.bags[0]
	for _, b := range s.bags {
		if b.Lift > far.Lift {
			far = b
		}
	}
	return far
}

// one names the bag that stands for the others.
func (s subject) one(b *design.Bag) string {
	if len(s.bags) == 1 || s.bags[0].Lift == s.bags[len(s.bags)-1].Lift {
		return s.name
	}
	return fmt.Sprintf("%s, the farthest of %s", b.Bag.ID, s.name)
}

// pictures are those of one kind of bag.
func (s subject) pictures() []picture {
	bag := s.farthest()
	run := bag.RunPeak(s.peak)
	report := bag.Report(s.peak, run)
	return []picture{
		{"supply-" + s.file, s.supplyFigure(report)},
		{"profile-" + s.file, s.profileFigure(bag)},
		{"peak-day-" + s.file, s.peakFigure(bag, report, run)},
	}
}

// plotDirectory says that no pictures can be written there; empty: none are asked for.
func plotDirectory(dir string) error {
	if info, err := os.Stat(dir); dir != "" && err == nil && !info.IsDir() {
		return fmt.Errorf("--plot %s is a file; name a directory, which is made if it is not there", dir)
	}
	return nil
}

// writePictures writes pictures into dir and lists the files.
func writePictures(dir string, pictures []picture) ([]string, error) {
	if err := plotDirectory(dir); err != nil {
		return nil, usageError{err}
	}
	var files []string
	for _, p := range pictures {
		written, err := p.figure.Write(dir, p.name)
		if err != nil {
			return nil, err
		}
		files = append(files, written...)
	}
	return files, nil
}

// supplyFigure is supply against lift, with where the bags are.
func (s subject) supplyFigure(r design.BagReport) plot.Figure {
	bag := s.bags[0]
	farthest := 10 * s.farthest().Lift
	end := math.Max(150, 10*math.Ceil(farthest/10)+50)
	line := plot.Line{Name: fmt.Sprintf("%d wicks lift at the dry limit", bag.Wick.Count)}
	nearest := 15.0
	for _, b := range s.bags {
		nearest = math.Max(2, math.Min(nearest, 10*b.Lift))
	}
	for lift := nearest; lift <= end; lift += 2 {
		line.X, line.Y = append(line.X, lift), append(line.Y, bag.SupplyOver(lift/10))
	}
	panel := plot.Panel{
		X:     plot.Axis{Name: "lift from the solution to the base of the bag, mm", From: 0, To: end},
		Y:     plot.Axis{Name: "L a day", From: 0, To: s.ceiling(line, r)},
		Lines: []plot.Line{line},
		Rules: []plot.Rule{
			{Name: fmt.Sprintf("plants ask for %.1f L on a peak day", r.PeakDemand), At: r.PeakDemand},
		},
	}
	if wet := 10 * bag.NearestLift(); wet > 0 {
		panel.Areas = append(panel.Areas, plot.Area{From: 0, To: wet})
		panel.Rules = append(panel.Rules, plot.Rule{Name: "nearer: too little air at rest", At: wet, Upright: true})
	}
	for _, m := range s.marks() {
		if m.Y <= panel.Y.To {
			panel.Marks = append(panel.Marks, m)
		}
	}
	return plot.Figure{
		Title:  "What the wicks lift over which height: " + s.name,
		Note:   fmt.Sprintf("%s, %d × %.3g cm²; demand of %s.", bag.WickName, bag.Wick.Count, bag.Wick.Section, s.where),
		Panels: []plot.Panel{panel},
	}
}

// ceiling shows the demand and the bags, and lets the steep start of the curve
// leave the picture.
func (s subject) ceiling(line plot.Line, r design.BagReport) float64 {
	top, bags := 2.5*r.PeakDemand, 0.0
	for _, m := range s.marks() {
		bags = math.Max(bags, m.Y)
	}
	top = math.Max(top, 1.25*bags)
	if most := 1.05 * line.Y[0]; top > most || top <= 0 {
		return math.Max(most, 1.15*bags)
	}
	return top
}

// marks are the bags on the curve, those with the same lift as one.
func (s subject) marks() []plot.Mark {
	var out []plot.Mark
	var ids [][]string
	for _, b := range s.bags {
		n := len(out)
		if n > 0 && out[n-1].X == 10*b.Lift {
			ids[n-1] = append(ids[n-1], b.Bag.ID)
			continue
		}
		out = append(out, plot.Mark{X: 10 * b.Lift, Y: b.SupplyOver(b.Lift)})
		ids = append(ids, []string{b.Bag.ID})
	}
	for i := range out {
		out[i].Name = span(ids[i])
		if s.mark != "" {
			out[i].Name = s.mark
		}
	}
	return out
}
