package web

import (
	"fmt"
	"time"

	"wickd/model"
)

// rootView is what is known of the root zone of a bag, in words.
type rootView struct{ Name, Salt, Limit, Temperature string }

// roots lists the bags of which salt or warmth at the roots is known.
func (c clock) roots(bags []BagDoc) []rootView {
	var views []rootView
	for _, b := range bags {
		if b.Salt.Value == nil && b.Temperature.Value == nil {
			continue
		}
		v := rootView{Name: b.Bag, Salt: banded(b.Salt, 1), Limit: nothing, Temperature: banded(b.Temperature, 1)}
		if b.SaltLimit != nil {
			v.Limit = decimal(*b.SaltLimit, 1)
			// Where no day's course is known yet, "not within a year" would only comfort.
			if b.SaltLimitAt != nil || b.DemandPerDay != nil {
				v.Limit += ", " + c.until(b.SaltLimitAt)
			}
		}
		views = append(views, v)
	}
	return views
}

// banded prints a figure with its standard deviation.
func banded(f Figure, decimals int) string {
	if f.Value == nil {
		return nothing
	}
	text := decimal(*f.Value, decimals)
	if f.SD != nil {
		text += " ± " + decimal(*f.SD, decimals)
	}
	if f.Quality == model.Stale {
		text += ", not measured now"
	}
	return text
}

// until is how long there is before a time within a year.
func (c clock) until(t *time.Time) string {
	switch {
	case t == nil:
		return "not within a year"
	case !t.After(c.now):
		return "reached"
	}
	return "in " + Span(t.Sub(c.now))
}

// withBand prints an amount with how sure it is.
func withBand(f Figure, decimals int, unit string) string {
	if f.SD == nil {
		return amount(f, 1, decimals, unit)
	}
	return amount(f, 1, decimals, fmt.Sprintf("± %s %s", decimal(*f.SD, decimals), unit))
}
