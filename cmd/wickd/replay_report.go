package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"time"

	"wickd/model"
)

// reportMark says that a page is a report of a replay, which the next one may
// write over.
const reportMark = `<meta name="generator" content="wickd replay">`

// foreignReport says that the page of a report would take the place of somebody's
// own.
func foreignReport(dir string) bool {
	page, err := os.ReadFile(filepath.Join(dir, reportName))
	return err == nil && !bytes.Contains(page, []byte(reportMark))
}

const reportName = "index.html"

// shown finds the pictures of a report, by the names that [fileName] gives.
var shown = regexp.MustCompile(`<img src="([\w.-]+)\.svg"`)

// drawnBefore are the names of the pictures that the report in dir shows.
func drawnBefore(dir string) []string {
	page, err := os.ReadFile(filepath.Join(dir, reportName))
	if err != nil {
		return nil
	}
	var names []string
	for _, m := range shown.FindAllSubmatch(page, -1) {
		names = append(names, string(m[1]))
	}
	return names
}

// clearAway removes the pictures of an earlier report that the present one does not
// show: beside the others they would be taken for its own.
func clearAway(dir string, earlier []string, pictures []picture) error {
	for _, name := range earlier {
		if slices.ContainsFunc(pictures, func(p picture) bool { return p.name == name }) {
			continue
		}
		for _, ending := range []string{".png", ".svg"} {
			if err := os.Remove(filepath.Join(dir, name+ending)); err != nil && !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("clear away pictures of an earlier replay: %w", err)
			}
		}
	}
	return nil
}

type reportAlert struct {
	When, Until string
	model.Message
}

type reportPicture struct{ File, Shows string }

// report writes its page beside the pictures and returns its path.
func (g gallery) report(dir string, pictures []picture) (string, error) {
	const layout = "2 January 2006 15:04"
	zone := g.site.TimeZone
	page := struct {
		Site, From, To, Zone, Doubt string
		Alerts, Hidden              []reportAlert
		Pictures                    []reportPicture
	}{Site: g.site.Name, From: g.from.In(zone).Format(layout), To: g.last().In(zone).Format(layout), Zone: zoneWords(zone), Doubt: capital(g.doubt)}
	if page.Site == "" {
		page.Site = "Site"
	}
	page.Alerts, page.Hidden = g.reported(g.story.raised), g.reported(g.story.hidden)
	for _, p := range pictures {
		page.Pictures = append(page.Pictures, reportPicture{p.name + ".svg", p.shows()})
	}
	var out bytes.Buffer
	if err := reportPage.Execute(&out, page); err != nil {
		return "", fmt.Errorf("write report: %w", err)
	}
	path := filepath.Join(dir, reportName)
	if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
		return "", fmt.Errorf("write report: %w", err)
	}
	return path, nil
}

func (g gallery) reported(raised []model.Transition) []reportAlert {
	var out []reportAlert
	for _, t := range raised {
		out = append(out, reportAlert{g.when(t.Time), g.ended(t), t.Message})
	}
	return out
}

// when says a time of the site.
func (g gallery) when(t time.Time) string { return t.In(g.site.TimeZone).Format("2 January 15:04") }

// ended says when an alert cleared.
func (g gallery) ended(t model.Transition) string {
	at, ok := g.story.until(t)
	switch _, cleared := g.story.cleared[t.Occurrence]; {
	case !ok:
		return "still stands at the end"
	case t.Suppressed && !cleared, t.Suppressed && at.Before(g.story.cleared[t.Occurrence]):
		return "to " + g.when(at) + ", when it was sent"
	}
	return "to " + g.when(at)
}
