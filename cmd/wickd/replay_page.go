package main

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"wickd/cmd/internal/plot"
)

// reportPage needs nothing from elsewhere and prints on paper. On a phone the cells
// of its tables stand below each other, and a picture keeps its size: it is pushed
// sideways, or opened alone. Stacked cells are no table to a browser any more, so
// that the roles say it.
var reportPage = template.Must(template.New("report").Parse(`<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">` + reportMark + `
<title>{{.Site}}: replay</title>
<style>
body{font:16px/1.5 sans-serif;max-width:60rem;margin:1rem auto;padding:0 1rem;color:#1b1b1b;background:#fff}
table{border-collapse:collapse}
td,th{text-align:left;vertical-align:top;padding:.2rem .8rem .2rem 0}
td:first-child{white-space:nowrap}
tr,figure{break-inside:avoid}
figure{margin:1rem 0;overflow-x:auto}
img{display:block;min-width:40rem;max-width:100%}
.narrow{display:none}
@media screen and (max-width:42rem){
.narrow{display:block}
table,tbody,tr,td{display:block}
.head{position:absolute;left:-99rem}
tr{border-top:1px solid #767676;padding:.5rem 0}
td{padding:.1rem 0}
img{max-width:none}
}
@media print{img{min-width:0;max-height:25cm}}
</style>
<main>
<h1>{{.Site}}</h1>
<p>{{.From}} to {{.To}}: what the recording shows ({{.Zone}}).</p>
{{if .Doubt}}<p><strong>{{.Doubt}}.</strong></p>
{{end}}<h2>Alerts</h2>
{{if .Alerts}}<table role="table"><tr role="row" class="head"><th role="columnheader">when<th role="columnheader">what and why<th role="columnheader">what to do</tr>
{{range .Alerts}}<tr role="row"><td role="cell">{{.When}}<br>{{.Until}}<td role="cell"><b>{{.Headline}}</b><br>{{.Why}}<td role="cell">{{.Action}}{{if .Caution}}<br>{{.Caution}}{{end}}</tr>
{{end}}</table>{{else}}<p>None was raised.</p>{{end}}
{{if .Hidden}}<h2>Kept back</h2>
<p>Raised and not sent, or sent later, for one of the alerts above explains them.</p>
<table role="table"><tr role="row" class="head"><th role="columnheader">when<th role="columnheader">what</tr>
{{range .Hidden}}<tr role="row"><td role="cell">{{.When}}<br>{{.Until}}<td role="cell">{{.Headline}}</tr>
{{end}}</table>{{end}}
<h2>Bags and reservoirs</h2>
<p class="narrow">The pictures are wider than this screen: push one sideways, or tap it to open it alone.</p>
{{range .Pictures}}<figure><a href="{{.File}}"><img src="{{.File}}" alt="{{.Shows}}"></a></figure>
{{end}}</main></html>
`))

// shows says in words what a picture shows, for who does not see it: the course of
// every panel's own line, and what stood.
func (p picture) shows() string {
	parts := []string{p.figure.Title + " over time"}
	var stood []string
	for _, panel := range p.figure.Panels {
		parts = append(parts, panel.Y.Name+courseWords(panel))
		for _, l := range panel.Lanes {
			stood = append(stood, l.Name)
		}
	}
	text := strings.Join(parts, "; ")
	if len(stood) > 0 {
		text += ". Alerts: " + strings.Join(stood, "; ")
	}
	return text + "."
}

// courseWords says between what the first solid line of a panel moves, and where it
// ends.
func courseWords(p plot.Panel) string {
	for _, l := range p.Lines {
		if l.Stroke == plot.Solid {
			return fmt.Sprintf(" from %.3g to %.3g, %.3g at the end", slices.Min(l.Y), slices.Max(l.Y), l.Y[len(l.Y)-1])
		}
	}
	return ""
}
