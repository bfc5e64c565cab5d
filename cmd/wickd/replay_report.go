package main

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"

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

// reportPage needs nothing from elsewhere and prints on paper.
var reportPage = template.Must(template.New("report").Parse(`<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">` + reportMark + `
<title>{{.Site}}: replay</title>
<style>body{font:16px/1.5 sans-serif;max-width:60rem;margin:1rem auto;padding:0 1rem;color:#1b1b1b;background:#fff}img{max-width:100%}td,th{text-align:left;vertical-align:top;padding:.2rem .8rem .2rem 0}</style>
<h1>{{.Site}}</h1>
<p>{{.From}} to {{.To}}: what the recording shows.</p>
<h2>Alerts</h2>
{{if .Alerts}}<table><tr><th>when<th>what and why<th>what to do</tr>
{{range .Alerts}}<tr><td>{{.When}}<br>{{.Until}}<td><b>{{.Headline}}</b><br>{{.Why}}<td>{{.Action}}{{if .Caution}}<br>{{.Caution}}{{end}}</tr>
{{end}}</table>{{else}}<p>None was raised.</p>{{end}}
{{if .Hidden}}<h2>Kept back</h2>
<p>Raised and told to nobody, for one of the alerts above explains them.</p>
<table><tr><th>when<th>what</tr>
{{range .Hidden}}<tr><td>{{.When}}<br>{{.Until}}<td>{{.Headline}}</tr>
{{end}}</table>{{end}}
<h2>Bags and reservoirs</h2>
{{range .Pictures}}<p><img src="{{.File}}" alt="{{.Title}}"></p>
{{end}}</html>
`))

type reportAlert struct {
	When, Until string
	model.Message
}

type reportPicture struct{ File, Title string }

// report writes its page beside the pictures and returns its path.
func (g gallery) report(dir string, pictures []picture) (string, error) {
	last := g.story.hours[len(g.story.hours)-1].Time
	page := struct {
		Site, From, To string
		Alerts, Hidden []reportAlert
		Pictures       []reportPicture
	}{Site: g.site.Name, From: g.when(model.Transition{Time: g.from}), To: g.when(model.Transition{Time: last})}
	if page.Site == "" {
		page.Site = "Site"
	}
	page.Alerts, page.Hidden = g.reported(g.story.raised), g.reported(g.story.hidden)
	for _, p := range pictures {
		page.Pictures = append(page.Pictures, reportPicture{p.name + ".svg", p.figure.Title})
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
		out = append(out, reportAlert{g.when(t), g.until(t), t.Message})
	}
	return out
}

func (g gallery) when(t model.Transition) string {
	return t.Time.In(g.site.TimeZone).Format("2 January 15:04")
}

// until is when an alert cleared.
func (g gallery) until(t model.Transition) string {
	at, ok := g.story.cleared[t.Occurrence]
	if !ok {
		return "still stands at the end"
	}
	return "to " + g.when(model.Transition{Time: at})
}
