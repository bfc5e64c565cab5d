package alerts

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wickd/model"
)

// clock says a time as a person at the site says it: "Tue 14:20" within six
// days, "2 Jan 14:20" beyond, where the weekday would mislead.
func (sc *scene) clock(t time.Time) string {
	layout := "Mon 15:04"
	if d := t.Sub(sc.now); d > 6*24*time.Hour || d < -6*24*time.Hour {
		layout = "2 Jan 15:04"
	}
	return t.In(sc.site.TimeZone).Format(layout)
}

// until says how long there is: "in about 9 h". A time that is past is "now".
func (sc *scene) until(t time.Time) string {
	d := t.Sub(sc.now)
	if d < 5*time.Minute {
		return "now"
	}
	return "in about " + length(d)
}

// length says a duration as roughly as it is known: minutes below 5, 5-minute
// steps below 90 minutes, hours below two days, then days.
func length(d time.Duration) string {
	switch {
	case d < 5*time.Minute:
		return fmt.Sprintf("%d min", max(1, int(d.Round(time.Minute)/time.Minute)))
	case d < 90*time.Minute:
		return fmt.Sprintf("%d min", int(d.Round(time.Minute)/time.Minute)/5*5)
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", int(math.Round(d.Hours())))
	}
	return fmt.Sprintf("%d days", int(math.Round(d.Hours()/24)))
}

// percent is a share of the volume as growers read it: 0.312 → "31 %".
func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// litres rounds to what a bucket can measure.
func litres(v float64) string {
	if v < 10 {
		return fmt.Sprintf("%.1f L", v)
	}
	return fmt.Sprintf("%.0f L", v)
}

func ecText(v float64) string { return fmt.Sprintf("%.1f mS/cm", v) }

// dayText says what a day takes, L/d.
func dayText(v float64) string {
	if v >= fastest {
		return fmt.Sprintf("%.0f L/d", v)
	}
	return fmt.Sprintf("%.1f L/d", v)
}

// rateText says how fast something is lost, L/d, by the hour where it will not last a
// day.
func rateText(v float64) string {
	if v >= fastest {
		return fmt.Sprintf("%.0f L an hour", v/24)
	}
	return dayText(v)
}

// fastest is the rate, L/d, from which on a loss is told by the hour, and a draw in
// whole litres.
const fastest = 120

// sentences joins what is not empty and ends each part with a full stop.
func sentences(parts ...string) string {
	var kept []string
	for _, p := range parts {
		p = strings.TrimSpace(p)
		if p == "" {
			continue
		}
		if !strings.ContainsAny(p[len(p)-1:], ".?!:") {
			p += "."
		}
		kept = append(kept, capital(p))
	}
	return strings.Join(kept, " ")
}

// Name says a subject in words: "bag a4", "moisture probe of bag a4".
func Name(s model.Subject) string {
	owner := s.Owner()
	thing := owner.Kind() + " " + owner.ID()
	switch {
	case owner.Kind() == model.KindAir:
		return "air " + owner.ID() + " sensor"
	case owner == s:
		return thing
	}
	return instrument(s.Quantity()) + " of " + thing
}

// instrument is what growers call the sensor of a quantity.
func instrument(q model.Quantity) string {
	switch q {
	case model.Moisture:
		return "moisture probe"
	case model.EC:
		return "EC probe"
	case model.PH:
		return "pH probe"
	}
	return string(q) + " sensor"
}

// title is Name at the head of a sentence.
func title(s model.Subject) string { return capital(Name(s)) }

// capital raises the first letter, but for pH, which is never written PH.
func capital(text string) string {
	if strings.HasPrefix(text, "pH") {
		return text
	}
	return first(text, unicode.ToUpper)
}

// lower is for a sentence that follows "then".
func lower(text string) string { return first(text, unicode.ToLower) }

// first turns the first letter.
func first(text string, turn func(rune) rune) string {
	r, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return text
	}
	return string(turn(r)) + text[size:]
}
