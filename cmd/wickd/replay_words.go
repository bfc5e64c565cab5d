package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"wickd/alerts"
	"wickd/model"
)

// conditionWords says a condition as a person would, in a few words.
func conditionWords(c model.Condition) string {
	switch c {
	case alerts.BagDrying:
		return "bag drying out"
	case alerts.WickFailing:
		return "wicks failing"
	case alerts.BagNotDrinking:
		return "plants not drinking"
	case alerts.ReservoirRunout:
		return "reservoir soon empty"
	case alerts.ReservoirExhausted:
		return "reservoir empty"
	case alerts.SolutionWarm:
		return "solution too warm"
	case alerts.SaltBuilding:
		return "salt building up"
	case alerts.RootsHot:
		return "roots too hot"
	case alerts.ECOffTarget:
		return "EC off its target"
	case alerts.ECDrift:
		return "EC drifting"
	case alerts.PHOffTarget:
		return "pH off its target"
	}
	return strings.ReplaceAll(string(c), "-", " ")
}

// alertWords says an alert in the picture of what it is about: of a sensor, which
// one it is.
func alertWords(t model.Transition) string {
	if t.Subject == t.Subject.Owner() {
		return conditionWords(t.Condition)
	}
	instrument, _, _ := strings.Cut(alerts.Name(t.Subject), " of ")
	return instrument + strings.TrimPrefix(conditionWords(t.Condition), "sensor")
}

// zoneWords name the zone of times that stand without one.
func zoneWords(zone *time.Location) string { return "times: " + zone.String() }

// timeTaken says a length of time, as roughly as it matters.
func timeTaken(d time.Duration) string {
	const day = 24 * time.Hour
	switch {
	case d < 2*time.Minute:
		return plural(int(math.Round(d.Seconds())), "second", "seconds")
	case d < 2*time.Hour:
		return plural(int(math.Round(d.Minutes())), "minute", "minutes")
	case d < 2*day:
		return plural(int(math.Round(d.Hours())), "hour", "hours")
	}
	return plural(int(math.Round(d.Hours()/day.Hours())), "day", "days")
}

// every says how often, in short: "hour", "2 h", "20 min".
func every(d time.Duration) string {
	switch {
	case d == time.Hour:
		return "hour"
	case d < time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	return fmt.Sprintf("%.0f h", d.Hours())
}
