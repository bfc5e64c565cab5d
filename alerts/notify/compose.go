package notify

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"wickd/alerts"
	"wickd/model"
)

const (
	inFull = 4                // so many notices are told word by word; more are counted
	named  = 8                // so many subjects are named in a line of a summary
	old    = 15 * time.Minute // a message this late says when it was
)

// Compose joins notices into one message, the most urgent first. It needs at
// least one notice. An alert that is over before it was told is told as over.
// What is told word by word and not over carries its links, if links gives any.
func Compose(now time.Time, zone *time.Location, notices []Notice, links func(Notice) Links) Message {
	if links == nil {
		links = func(Notice) Links { return Links{} }
	}
	notices = settle(notices)
	slices.SortStableFunc(notices, pressing)
	page := page{now, zone, links}
	m := Message{Time: now, Title: heading(notices), Priority: notices[0].Priority, Notices: len(notices)}
	m.link(notices, links)
	switch {
	case len(notices) == 1:
		m.Text = page.whole(notices[0])
	case len(notices) <= inFull:
		m.Text = m.Title
		for _, n := range notices {
			m.Text += "\n\n" + page.whole(n)
		}
	default:
		m.Text = m.Title + "\n\n" + summary(notices) + page.firstOut(notices) + "\n\n" + page.whole(notices[0])
	}
	return m
}

// pressing sorts the most urgent first, then the oldest.
func pressing(a, b Notice) int {
	return cmp.Or(order(a)-order(b), a.Time.Compare(b.Time), cmp.Compare(a.Subject, b.Subject))
}

// mostUrgent is what a message begins with. It needs at least one notice.
func mostUrgent(notices []Notice) Notice { return slices.MinFunc(settle(notices), pressing) }

// order puts what stands before what is over, and the most urgent first.
func order(n Notice) int {
	o := 0
	if n.Kind == model.Cleared {
		o = 10
	}
	for i, p := range []model.Priority{model.PriorityUrgent, model.PriorityHigh, model.PriorityMedium} {
		if n.Priority == p {
			return o + i
		}
	}
	return o + 3
}

// settle drops what a later notice in the same message makes old news, and says
// in the end of an alert what it was about.
func settle(notices []Notice) []Notice {
	newest := map[string]int{}
	ended := map[string]bool{}
	for i, n := range notices {
		if n.Kind == model.Cleared {
			ended[n.Occurrence] = true
		} else {
			newest[n.Occurrence] = i
		}
	}
	var kept []Notice
	for i, n := range notices {
		begun, told := newest[n.Occurrence]
		switch {
		case n.Kind != model.Cleared && (ended[n.Occurrence] || begun != i):
			continue
		case n.Kind == model.Cleared && told:
			n.Message.Why = strings.TrimSpace("It is over; you were not told yet that it was: " + notices[begun].Message.Headline + ". " + n.Message.Why)
		}
		kept = append(kept, n)
	}
	return kept
}

func heading(notices []Notice) string {
	first := notices[0]
	n := len(notices)
	if n == 1 {
		return clip(first.Message.Headline)
	}
	alike, over := true, 0
	for _, x := range notices {
		alike = alike && x.Condition == first.Condition && x.Kind == first.Kind
		if x.Kind == model.Cleared {
			over++
		}
	}
	switch {
	case over == n:
		return clip(fmt.Sprintf("%d alerts are over: %s", n, first.Message.Headline))
	case alike:
		return clip(alerts.Plural(first.Condition, n))
	}
	return clip(fmt.Sprintf("%d alerts, first: %s", n, first.Message.Headline))
}

// page is what the text of a message is written with.
type page struct {
	now   time.Time
	zone  *time.Location
	links func(Notice) Links
}

// whole is everything a notice says; a late one says when it was, because "in
// about 9 h" counts from then.
func (p page) whole(n Notice) string {
	text := n.Message.Text()
	if p.now.Sub(n.Time) >= old {
		text += "\nThis was so on " + n.Time.In(p.zone).Format("Mon 2 Jan 15:04") + "."
	}
	if n.Kind == model.Cleared {
		return text
	}
	if address := p.links(n).Page; address != "" {
		text += "\n" + address
	}
	return text
}

// firstOut names what came first in a flood: the rest often follows from it.
func (p page) firstOut(notices []Notice) string {
	var first *Notice
	for i, n := range notices {
		if n.Kind == model.Raised && (first == nil || n.Time.Before(first.Time)) {
			first = &notices[i]
		}
	}
	if first == nil || first.Occurrence == notices[0].Occurrence {
		return "" // it is told in full below
	}
	return "\nThe first came at " + first.Time.In(p.zone).Format("15:04") + ": " + first.Message.Headline + "."
}

// summary counts notices by condition and names the first subjects of each.
func summary(notices []Notice) string {
	type line struct {
		condition model.Condition
		over      bool
		first     string // its headline
		subjects  []string
	}
	var lines []*line
	for _, n := range notices {
		over := n.Kind == model.Cleared
		i := slices.IndexFunc(lines, func(l *line) bool { return l.condition == n.Condition && l.over == over })
		if i < 0 {
			lines = append(lines, &line{condition: n.Condition, over: over, first: n.Message.Headline})
			i = len(lines) - 1
		}
		lines[i].subjects = append(lines[i].subjects, alerts.Name(n.Subject))
	}
	var out []string
	for _, l := range lines {
		text := alerts.Plural(l.condition, len(l.subjects))
		if len(l.subjects) == 1 {
			text = l.first // which says what and where
		}
		if l.over {
			text = "over: " + text
		}
		if len(l.subjects) == 1 {
			out = append(out, text)
			continue
		}
		names := l.subjects[:min(named, len(l.subjects))]
		text += " (" + strings.Join(names, ", ")
		if more := len(l.subjects) - len(names); more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		out = append(out, text+")")
	}
	return strings.Join(out, "\n")
}
