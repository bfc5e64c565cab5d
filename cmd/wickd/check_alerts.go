package main

import (
	"fmt"
	"strings"
	"time"

	"wickd/alerts"
	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/model"
)

// rationalised is one condition as check --alerts gives it to machines.
type rationalised struct {
	alerts.Definition
	SuppressedBy []model.Condition `json:"suppressed_by,omitempty"`
	OutOfService bool              `json:"out_of_service,omitempty"`
	Changed      bool              `json:"changed,omitempty"` // by the site file
}

// alerts prints the rationalisation table: every condition with the site
// file's changes, why it deserves a person and what that person can do.
func (k checkCommand) alerts(c console, site *config.Config) error {
	overrides := daemon.Overrides(site.Alerts)
	engine, err := alerts.New(alerts.Options{Site: site.Site, Overrides: overrides})
	if err != nil {
		return err
	}
	var table []rationalised
	for _, d := range engine.Conditions() {
		_, changed := overrides[d.Condition]
		table = append(table, rationalised{d, alerts.Above(d.Condition), engine.OutOfService(d.Condition), changed})
	}
	return c.answer(k.JSON, table, alertsText(site.Site.Name, table))
}

func alertsText(site string, table []rationalised) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d alert conditions. Priority follows from how bad the consequence is and how long there is to act.\n", site, len(table))
	for _, r := range table {
		b.WriteString("\n" + alertText(r))
	}
	return b.String()
}

func alertText(r rationalised) string {
	var b strings.Builder
	title := fmt.Sprintf("%s (%s): %s", r.Condition, r.Kind, r.Priority)
	if r.OutOfService {
		title += ", out of service"
	}
	if r.Changed {
		title += ", changed by the site file"
	}
	if asked := alerts.Prioritise(r.Rationale); asked != r.Priority {
		title += " (its rationale asks for " + string(asked) + ")"
	}
	b.WriteString(title + "\n")
	for _, row := range [][2]string{
		{"cause", r.Rationale.Cause},
		{"consequence", fmt.Sprintf("%s (%s)", r.Rationale.Consequence, r.Rationale.Severity)},
		{"do", r.Rationale.Action},
		{"within", hours(r.Rationale.Respond)},
		{"settings", settings(r.Definition)},
		{"because", r.Reason},
		{"under", underText(r.SuppressedBy)},
	} {
		if row[1] != "" {
			b.WriteString(hanging("  "+row[0], row[1]))
		}
	}
	return b.String()
}

func settings(d alerts.Definition) string {
	text := "raised at once"
	if d.OnDelay > 0 {
		text = "raised after " + hours(d.OnDelay)
	}
	if d.OffDelay > 0 {
		text += ", cleared after " + hours(d.OffDelay)
	}
	if d.Unit != "" {
		text += fmt.Sprintf(", deadband %g %s", d.Deadband, d.Unit)
	}
	return text
}

func underText(causes []model.Condition) string {
	if len(causes) == 0 {
		return ""
	}
	names := make([]string, len(causes))
	for i, c := range causes {
		names[i] = string(c)
	}
	return "not told while " + strings.Join(names, " or ") + " stands"
}

// hours says a duration in the largest unit that keeps it whole.
func hours(d time.Duration) string {
	switch {
	case d >= 48*time.Hour && d%(24*time.Hour) == 0:
		return fmt.Sprintf("%d days", d/(24*time.Hour))
	case d >= time.Hour && d%time.Hour == 0:
		return fmt.Sprintf("%d h", d/time.Hour)
	case d >= time.Minute && d%time.Minute == 0:
		return fmt.Sprintf("%d min", d/time.Minute)
	}
	return d.String()
}

// hanging wraps text at 78 columns beside its label.
func hanging(label, text string) string {
	const indent, width = 15, 78
	var b strings.Builder
	line := fmt.Sprintf("%-*s", indent, label)
	empty := true
	for _, word := range strings.Fields(text) {
		if !empty && len([]rune(line))+1+len([]rune(word)) > width {
			b.WriteString(line + "\n")
			line, empty = strings.Repeat(" ", indent), true
		}
		if !empty {
			line += " "
		}
		line += word
		empty = false
	}
	return b.String() + line + "\n"
}
