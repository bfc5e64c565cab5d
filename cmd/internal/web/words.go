package web

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"wickd/model"
)

// nothing stands where a figure is not known.
const nothing = "–"

// clock puts times into words for one page.
type clock struct {
	now  time.Time
	zone *time.Location
}

// moment names a point in time as short as it is still clear beside now.
func (c clock) moment(t time.Time) string {
	t, now := t.In(c.zone), c.now.In(c.zone)
	switch apart := t.Sub(now).Abs(); {
	case t.Year() == now.Year() && t.YearDay() == now.YearDay():
		return t.Format("15:04")
	case apart < 6*24*time.Hour:
		return t.Format("Mon 15:04")
	default:
		return t.Format("2 Jan 2006")
	}
}

func (c clock) maybe(t *time.Time) string {
	if t == nil {
		return nothing
	}
	return c.moment(*t)
}

// Span names a length of time with one unit, the largest that is at least two.
func Span(d time.Duration) string {
	d = d.Abs()
	switch {
	case d < 2*time.Minute:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.0f h", d.Hours())
	default:
		return fmt.Sprintf("%.0f days", d.Hours()/24)
	}
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// amount prints a figure with its unit, and how old it is when it is stale.
func amount(f Figure, scale float64, decimals int, unit string) string {
	if f.Value == nil {
		return nothing
	}
	text := decimal(*f.Value*scale, decimals)
	if unit != "" {
		text += " " + unit
	}
	if f.Quality == model.Stale && f.AgeSeconds != nil {
		text += ", " + Span(time.Duration(*f.AgeSeconds*float64(time.Second))) + " old"
	}
	return text
}

// decimal prints v; what rounds to zero has no sign.
func decimal(v float64, decimals int) string {
	unit := math.Pow10(-decimals)
	if math.Abs(v) < unit/2 {
		v = 0
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
