package main

import (
	"cmp"
	"slices"
	"time"

	"wickd/cmd/internal/plot"
	"wickd/model"
)

// alerts adds a lane for every kind of alert that is asked for: a bar for each
// time that one stood, hollow where it was kept back. What was sent is shaded in the
// panel, too.
func (g gallery) alerts(to *plot.Panel, which func(t model.Transition) bool) {
	all := slices.Concat(g.story.raised, g.story.hidden)
	slices.SortStableFunc(all, func(a, b model.Transition) int { return cmp.Compare(a.Time.UnixNano(), b.Time.UnixNano()) })
	place := map[string]int{}
	for _, t := range all {
		if !which(t) {
			continue
		}
		words := alertWords(t)
		i, ok := place[words]
		if !ok {
			i, place[words] = len(to.Lanes), len(to.Lanes)
			to.Lanes = append(to.Lanes, plot.Lane{Name: words})
		}
		span := plot.Span{From: g.day(t.Time), To: g.day(g.end(t)), Hollow: t.Suppressed}
		to.Lanes[i].Spans = append(to.Lanes[i].Spans, span)
		if !span.Hollow {
			to.Areas = append(to.Areas, plot.Area{From: span.From, To: span.To})
		}
	}
	for i, l := range to.Lanes {
		if !slices.ContainsFunc(l.Spans, func(s plot.Span) bool { return !s.Hollow }) {
			to.Lanes[i].Name += ", kept back"
		}
	}
}

// end is when an alert was over, or the recording.
func (g gallery) end(t model.Transition) time.Time {
	if at, ok := g.story.until(t); ok {
		return at
	}
	return g.last()
}

// until is when an alert cleared; one that was kept back, when it was sent after
// all. False: it still stands at the end.
func (c *chronicle) until(t model.Transition) (time.Time, bool) {
	if t.Suppressed {
		for _, sent := range c.raised {
			if sent.Occurrence == t.Occurrence {
				return sent.Time, true
			}
		}
	}
	at, ok := c.cleared[t.Occurrence]
	return at, ok
}
