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
	from, to, parted := strings.Cut(t.value, "-")
	from, to = strings.TrimSpace(from), strings.TrimSpace(to)
	start, known := timeOfDay(from)
	end, also := timeOfDay(to)
	why := ""
	switch {
	case strings.ContainsAny(t.value, "–—−"):
		why = ": it has a long dash in place of a -"
	case !parted:
	case strings.Contains(t.value, "."):
		why = ": it has a dot in place of a colon"
	case !known:
		why = fmt.Sprintf(": %q is not a time of day", from)
	case !also:
		why = fmt.Sprintf(": %q is not a time of day", to)
	case start == wholeDay:
		why = ": 24:00 may only end one, and a day begins at 00:00"
	case start == end:
		why = ": it begins and ends at the same time"
	default:
		return model.Hours{From: start, To: end}, true
	}
	b.report(t.place, fmt.Sprintf("%q is not a span of hours%s", t.value, why), hint)
	return h, false
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
