package main

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"wickd/alerts"
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
	p := r.progress(site, tape, c)
	p.of = "what if, "
	if _, err := replay(ctx, site, tape, audience{other}, other, p); err != nil {
		return fmt.Errorf("what if: %w", err)
	}
	to := c.out
	if r.Records == "-" {
		to = c.err
	}
	mine, theirs := tails(r.Site, r.WhatIf)
	if _, err := fmt.Fprint(to, comparison(sender{mine, as}, sender{theirs, other}, as.physics.Site.TimeZone)); err != nil {
		return fmt.Errorf("what if: %w", err)
	}
	return nil
}

// sender is a site file, and what it would have sent.
type sender struct {
	file string
	*chronicle
}

// tails names two files by as much of the ends of their paths as tells them apart.
func tails(a, b string) (string, string) {
	x, y := filepath.Base(a), filepath.Base(b)
	for x == y && a != b {
		a, b = filepath.Dir(a), filepath.Dir(b)
		x, y = filepath.Join(filepath.Base(a), x), filepath.Join(filepath.Base(b), y)
	}
	return x, y
}

// alertSort is what of whom.
type alertSort struct {
	subject   model.Subject
	condition model.Condition
}

// comparison lists every sort of alert that either site file sends, the first as A,
// the other as B; what differs is marked. It is set for a screen of 80 columns.
func comparison(first, other sender, zone *time.Location) string {
	a, b := first.bySort(zone), other.bySort(zone)
	var out strings.Builder
	fmt.Fprintf(&out, "A, %s, would have sent %s,\nB, %s, %s.\n", first.file, countText(len(first.raised)), other.file, countText(len(other.raised)))
	unfit := misfitText(misfit(first, other))
	if len(a)+len(b) == 0 {
		return out.String() + unfit
	}
	fmt.Fprintf(&out, "An asterisk marks what differs; %s.\n\n", zoneWords(zone))
	for _, s := range sorts(a, b) {
		writeSort(&out, s, a[s], b[s])
	}
	out.WriteString("\nBoth were given the same readings, those of the site as it was: this compares\n" +
		"what they make of them, not what another build would have done.\n" + unfit)
	return out.String()
}

// writeSort says when each of the two would have sent one sort of alert: first what
// both would have, then what one alone would.
func writeSort(out *strings.Builder, s alertSort, a, b []string) {
	both, onlyA := parted(a, b)
	_, onlyB := parted(b, a)
	mark := "*"
	if len(onlyA)+len(onlyB) == 0 {
		mark = " "
	}
	fmt.Fprintf(out, "%s %s: %s (%s)\n", mark, alerts.Name(s.subject), conditionWords(s.condition), s.condition)
	if len(both) > 0 {
		writeTimes(out, "A, B", both)
	}
	if mark == "*" {
		writeTimes(out, "A", onlyA)
		writeTimes(out, "B", onlyB)
	}
}

// parted parts times by whether they are among others, too.
func parted(times, others []string) (among, apart []string) {
	for _, t := range times {
		if slices.Contains(others, t) {
			among = append(among, t)
		} else {
			apart = append(apart, t)
		}
	}
	return among, apart
}

// writeTimes says how often, and when the first ones.
func writeTimes(out *strings.Builder, who string, times []string) {
	const shown = 3
	fmt.Fprintf(out, "    %-4s  ", who)
	indent := "\n" + strings.Repeat(" ", 10)
	switch more := len(times) - shown; {
	case len(times) == 0:
		out.WriteString("none")
	case more > 0:
		out.WriteString(strings.Join(times[:shown], indent) + indent + fmt.Sprintf("and %d more", more))
	default:
		out.WriteString(strings.Join(times, indent))
	}
	out.WriteString("\n")
}

func countText(n int) string {
	if n == 0 {
		return "no alert"
	}
	return plural(n, "alert", "alerts")
}

// bySort gives the times of every sort of alert, from when until when.
func (t sender) bySort(zone *time.Location) map[alertSort][]string {
	const layout = "2 Jan 15:04"
	out := map[alertSort][]string{}
	for _, raised := range t.raised {
		s, end := alertSort{raised.Subject, raised.Condition}, "the end"
		if at, ok := t.until(raised); ok {
			end = at.In(zone).Format(layout)
		}
		out[s] = append(out[s], raised.Time.In(zone).Format(layout)+" to "+end)
	}
	return out
}

// sorts of both, by subject and condition.
func sorts(a, b map[alertSort][]string) []alertSort {
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
