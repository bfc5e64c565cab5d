package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wickd/cmd/internal/web"
)

// stillNew is how old what is known may be before its age is said: it is
// evaluated every minute.
const stillNew = 3 * time.Minute

// heading says of what and of when a status is, and on which clock.
func (r running) heading() string {
	text := fmt.Sprintf("%s, wickd %s", r.doc.Site, r.doc.Version)
	if r.doc.Time == nil {
		return text + ": nothing is evaluated yet; that begins within a minute of the first reading"
	}
	text += ", as of " + r.moment(*r.doc.Time)
	if age := r.doc.Now.Sub(*r.doc.Time); age > stillNew {
		text += ", " + ago(age)
	}
	return text + fmt.Sprintf(" (times are those of %s)", r.zone)
}

func ago(d time.Duration) string { return web.Span(d) + " ago" }

func (r running) alertsText() string {
	switch {
	case len(r.doc.Alerts) > 0:
	case r.doc.Time == nil:
		return "\nNo alert is open.\n"
	case !slices.ContainsFunc(r.doc.Bags, func(b web.BagDoc) bool { return b.WaterContent.Value != nil }):
		return "\nNo alert is open, and no bag is known: none has sent a good reading yet.\n"
	default:
		return "\nNothing is wrong.\n"
	}
	var b strings.Builder
	for _, a := range r.doc.Alerts {
		fmt.Fprintf(&b, "\n[%s, %s] %s\n", a.Priority, a.State, a.Message.Headline)
		for _, line := range []string{a.Message.Why, a.Message.Action, a.Message.Caution, r.answer(a)} {
			if line != "" {
				b.WriteString("  " + strings.ReplaceAll(line, "\n", "\n  ") + "\n")
			}
		}
	}
	return b.String()
}

// answer says what has been said about an alert and what can be.
func (r running) answer(a web.AlertDoc) string {
	since := ""
	if a.Since != nil && !strings.HasPrefix(a.Message.Why, "Since ") {
		since = "since " + r.moment(*a.Since) + "; "
	}
	switch a.State {
	case "unacknowledged":
		return fmt.Sprintf("%sto acknowledge: wickd ack%s %q", since, r.flag, a.Occurrence)
	case "returned-unacknowledged":
		return fmt.Sprintf("it is over, and nobody has seen it; to acknowledge: wickd ack%s %q", r.flag, a.Occurrence)
	case "acknowledged":
		return fmt.Sprintf("%sacknowledged by %s", since, a.By)
	case "shelved":
		until := ""
		if a.Until != nil {
			until = " until " + r.moment(*a.Until)
		}
		return fmt.Sprintf("put aside%s; to take it up again: wickd shelve%s --off %q", until, r.flag, a.Occurrence)
	case "suppressed":
		return since + "nobody is told of it while what explains it stands, or has just gone"
	}
	return since + a.State
}
