package main

import (
	"errors"
	"fmt"
	"reflect"
	"time"

	"wickd/cmd/internal/config"
	"wickd/model/design"
)

type checkCommand struct {
	File string `arg:"" type:"path" placeholder:"FILE" help:"The site file."`
	JSON bool   `name:"json" help:"For machines."`
	Plot string `type:"path" placeholder:"DIR" help:"Write pictures into this directory, as SVG and PNG: supply against lift, water over the height of a bag, a peak day."`

	Alerts bool `help:"Print the alert conditions instead: cause, consequence, what to do, time to act, priority."`
}

// verdict is what check --json prints: the report, or what is wrong.
type verdict struct {
	OK       bool             `json:"ok"`
	Problems []config.Problem `json:"problems,omitempty"`
	Warnings []config.Problem `json:"warnings,omitempty"`
	*design.Report
	Pictures []string `json:"pictures,omitempty"`
}

func (k checkCommand) Run(c console) error {
	site, err := readSite(k.File)
	var problems config.Problems
	if errors.As(err, &problems) {
		if k.JSON {
			return errors.Join(c.document(verdict{Problems: problems}), errQuiet)
		}
		fmt.Fprintln(c.err, problems.Error())
		return errQuiet
	}
	if err != nil {
		return err
	}
	site.Warnings = append(site.Warnings, site.Ahead(time.Now())...)
	site.Warnings = append(site.Warnings, secretProblems(site)...)
	if k.Alerts {
		return k.alerts(c, site)
	}
	physics, err := design.Build(site.Site)
	if err != nil {
		return err
	}
	report, err := physics.Check()
	if err != nil {
		return err
	}
	files, err := k.pictures(physics)
	if err != nil {
		return err
	}
	if k.JSON {
		return c.document(verdict{OK: true, Warnings: site.Warnings, Report: &report, Pictures: files})
	}
	warn(c, site.Warnings)
	_, err = c.out.Write([]byte(checkText(report) + filesText(k.Plot, files)))
	return err
}

// pictures writes those of every kind of bag, when they are asked for.
func (k checkCommand) pictures(s *design.Site) ([]string, error) {
	if k.Plot == "" {
		return nil, nil
	}
	peak, err := s.Peak()
	if err != nil {
		return nil, err
	}
	var all []picture
	for _, kind := range kinds(s.Bags) {
		var ids []string
		for _, b := range kind {
			ids = append(ids, b.Bag.ID)
		}
		name := span(ids)
		all = append(all, subject{name: name, file: fileName(ids[0]), bags: kind, peak: peak, where: dayOf(s)}.pictures()...)
	}
	return writePictures(k.Plot, all)
}

// kinds puts bags together that differ in nothing but their place.
func kinds(bags []*design.Bag) [][]*design.Bag {
	var out [][]*design.Bag
	for _, b := range bags {
		if n := len(out); n > 0 && sameKind(out[n-1][0], b) {
			out[n-1] = append(out[n-1], b)
			continue
		}
		out = append(out, []*design.Bag{b})
	}
	return out
}

func sameKind(a, b *design.Bag) bool {
	plain := func(b *design.Bag) any {
		bag := b.Bag
		bag.ID, bag.Position, bag.Moisture, bag.Sensors = "", 0, nil, nil
		return bag
	}
	return reflect.DeepEqual(plain(a), plain(b))
}

// dayOf names the peak day of a site in the notes of pictures.
func dayOf(s *design.Site) string {
	degrees := design.AssumedLatitude
	if s.Place != nil {
		degrees = s.Place.Latitude
	}
	day := "a clear midsummer day at " + latitude(degrees)
	if s.Lamps.Radiation > 0 {
		day += " with the lamps lit"
	}
	return day
}
