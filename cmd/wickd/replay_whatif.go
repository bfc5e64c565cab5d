package main

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"wickd/cmd/internal/config"
	"wickd/model"
)

// compare replays the same recording for the other site file and says which
// alerts each of the two would have sent.
func (r replayCommand) compare(ctx context.Context, tape *recording, as *chronicle, site *config.Config, c console) error {
	if site == nil {
		return nil
	}
	other := newChronicle(false)
	p := &progress{out: c.err, quiet: true, began: time.Now()}
	if _, err := replay(ctx, site, tape, audience{other}, other, p); err != nil {
		return fmt.Errorf("what if: %w", err)
	}
	to := c.out
	if r.Records == "-" {
		to = c.err
	}
	mine, theirs := filepath.Base(r.Site), filepath.Base(r.WhatIf)
	if mine == theirs {
		mine, theirs = r.Site, r.WhatIf
	}
	if _, err := fmt.Fprint(to, comparison(mine, as.raised, theirs, other.raised, site.Site.TimeZone)); err != nil {
		return fmt.Errorf("what if: %w", err)
	}
	return nil
}

// sort of alert: what of whom.
type alertSort struct {
	subject   model.Subject
	condition model.Condition
}

// comparison lists every sort of alert that either site file sends.
func comparison(name string, as []model.Transition, otherName string, other []model.Transition, zone *time.Location) string {
	a, b := bySort(as), bySort(other)
	var out strings.Builder
	fmt.Fprintf(&out, "%s would have sent %s, %s %s.\n", name, countText(len(as)), otherName, countText(len(other)))
	if len(a)+len(b) == 0 {
		return out.String()
	}
	w := tabwriter.NewWriter(&out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "\nsubject\tcondition\t%s\t%s\n", name, otherName)
	for _, s := range sorts(a, b) {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.subject, s.condition, timesText(a[s], zone), timesText(b[s], zone))
	}
	_ = w.Flush() // a strings.Builder takes everything
	out.WriteString("\n" + paragraph("Both were given the same readings, those of the site as it was: this compares what they make of them, not what another build would have done.", 0, 0))
	return out.String()
}

func countText(n int) string {
	switch n {
	case 0:
		return "no alert"
	case 1:
		return "1 alert"
	}
	return fmt.Sprintf("%d alerts", n)
}

func bySort(raised []model.Transition) map[alertSort][]time.Time {
	out := map[alertSort][]time.Time{}
	for _, t := range raised {
		s := alertSort{t.Subject, t.Condition}
		out[s] = append(out[s], t.Time)
	}
	return out
}

// sorts of both, by subject and condition.
func sorts(a, b map[alertSort][]time.Time) []alertSort {
	var all []alertSort
	for s := range a {
		all = append(all, s)
	}
	for s := range b {
		if _, known := a[s]; !known {
			all = append(all, s)
		}
	}
	slices.SortFunc(all, func(x, y alertSort) int {
		return cmp.Or(cmp.Compare(x.subject, y.subject), cmp.Compare(x.condition, y.condition))
	})
	return all
}

// timesText is how often, and when the first ones.
func timesText(at []time.Time, zone *time.Location) string {
	if len(at) == 0 {
		return "–"
	}
	const shown = 3
	var when []string
	for _, t := range at[:min(shown, len(at))] {
		when = append(when, t.In(zone).Format("2 Jan 15:04"))
	}
	text := fmt.Sprintf("%d: %s", len(at), strings.Join(when, ", "))
	if len(at) > shown {
		text += ", …"
	}
	return text
}
