package config

import (
	"fmt"
	"strings"
	"time"

	"wickd/model"
)

const wholeDay = 24 * time.Hour

// hours reads "22:00-06:00" or "16:00-24:00".
func (b *builder) hours(t text, hint string) (h model.Hours, ok bool) {
	if !t.given() {
		return h, false
	}
	from, to, _ := strings.Cut(t.value, "-")
	start, known := timeOfDay(strings.TrimSpace(from))
	end, also := timeOfDay(strings.TrimSpace(to))
	if !known || !also || start == wholeDay || start == end {
		b.report(t.place, fmt.Sprintf("%q is not a span of hours", t.value), hint)
		return h, false
	}
	return model.Hours{From: start, To: end}, true
}

// timeOfDay reads a time of day since midnight, up to the next one.
func timeOfDay(s string) (time.Duration, bool) {
	if s == "24:00" {
		return wholeDay, true
	}
	t, err := time.Parse("15:04", s)
	return sinceMidnight(t), err == nil
}

func sinceMidnight(t time.Time) time.Duration {
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute
}

// overlap says that two spans of a day have a time in common.
func overlap(a, b model.Hours) bool { return holds(a, b.From) || holds(b, a.From) }

func holds(h model.Hours, at time.Duration) bool {
	if h.To <= h.From { // past midnight
		return at >= h.From || at < h.To
	}
	return at >= h.From && at < h.To
}
