package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wickd/model"
	"wickd/model/design"
)

// writeReservoirs says how long each lasts, and what its sensors cannot tell.
func writeReservoirs(b *strings.Builder, reservoirs []design.ReservoirReport) {
	b.WriteString("\n")
	for _, v := range reservoirs {
		fmt.Fprintf(b, "Reservoir %s: %.0f L usable of %.0f L", v.ID, v.Usable, v.Full)
		switch {
		case v.Bags == 0:
			b.WriteString("; no bag drinks from it")
		case v.DaysAtPeak > 0:
			fmt.Fprintf(b, ", %.1f days for its %s at peak demand (%.1f L a day)", v.DaysAtPeak, plural(v.Bags, "bag", "bags"), v.PeakDemand)
		}
		b.WriteString(".\n")
		if v.Channels > 0 {
			b.WriteString(paragraph(fmt.Sprintf("Its channels hold %s more%s. Count them when you mix: \"wickd mix\" with --site does.", litres(v.Channels), lasting(v)), 2, 2))
		}
		if v.ChannelLasts > 0 {
			b.WriteString(paragraph(fmt.Sprintf("Its channels are filled at times: through the bright hours of peak days channel %s, which holds %s, may be empty %s after it was filled, so fill them sooner than that. The lift of such a channel counts from halfway between full and empty. %s", v.FirstDry, litres(v.FirstHolds), soon(v.ChannelLasts), tellsFillings(v)), 2, 2))
		}
		if v.Unwatched {
			b.WriteString(paragraph("It has no level sensor: nobody is told that it runs low, leaks or is empty.", 2, 2))
		}
		if len(v.Unmeasured) > 0 {
			b.WriteString(paragraph(tellsUnmeasured(v), 2, 2))
		}
		if len(v.Unprobed) > 0 {
			b.WriteString(paragraph(fmt.Sprintf("%s: without a moisture probe nobody is told that a bag dries out or that its wicks fail. A bag without one is taken to be as the model makes it; put the probes that you have into those that dry first.", list(v.Unprobed)), 2, 2))
		}
		if v.FloatValve {
			b.WriteString(paragraph(tellsBehindValve(v), 2, 2))
		}
	}
}

// tellsUnmeasured says what a target is good for that nobody measures, and which lines
// would have it watched.
func tellsUnmeasured(v design.ReservoirReport) string {
	names := map[model.Quantity]string{model.EC: "EC", model.PH: "pH"}
	lines := map[model.Quantity]string{model.EC: `ec: {topic: "yard/{id}/ec", unit: mS/cm}`, model.PH: `ph: {topic: "yard/{id}/ph", unit: pH}`}
	var what, add []string
	for _, q := range v.Unmeasured {
		what, add = append(what, names[q]), append(add, lines[q])
	}
	text := fmt.Sprintf("Its target states its %s, which no sensor measures: no alert tells when that is off", list(what))
	if slices.Contains(v.Unmeasured, model.EC) {
		text += ", and the salt in its bags is counted as if the EC were on target"
	}
	return text + fmt.Sprintf(". To have it watched, add to its sensors %s.", list(add))
}

// soon writes a time that is not to be exceeded, in days.
func soon(days float64) string {
	switch hours := 24 * days; {
	case hours < 1:
		return fmt.Sprintf("%.0f min", math.Floor(60*hours))
	case hours < 10:
		return fmt.Sprintf("%.1f h", math.Floor(10*hours)/10)
	default:
		return fmt.Sprintf("%.0f h", math.Floor(hours))
	}
}

// lasting says for how long what stands in the channels feeds the bags.
func lasting(v design.ReservoirReport) string {
	switch {
	case v.ChannelLasts > 0:
		return " when they have just been filled"
	case v.PeakDemand <= 0:
		return ""
	}
	return fmt.Sprintf(", %.0f h at peak demand at the most once the reservoir is empty: the wicks lose it before the channels are dry", 24*v.Channels/v.PeakDemand)
}

// tellsFillings says what is known of what is drunk from channels that are filled at
// times.
func tellsFillings(v design.ReservoirReport) string {
	if v.Unwatched {
		return "Without a level sensor nothing tells that they were filled: what is drunk is counted by the model of the bags and their probes, and a channel that ran dry shows in its bags' probes alone."
	}
	return "The level tells what was drunk when they are filled, and a small leak only over days."
}

// tellsBehindValve says what is known of a reservoir whose level a float valve keeps.
func tellsBehindValve(v design.ReservoirReport) string {
	if v.Unwatched {
		return "A float valve fills it: nothing tells that the valve or its supply fails. A meter in the supply line, read by hand, finds a leak."
	}
	return "A float valve keeps its level, so the level tells neither what the bags drink nor a leak, nor when it runs out while the valve works: those alerts are not raised, bags no longer correct each other by what all of them took, and the salt of a refill is not judged. What is still watched: the low and empty marks, which are reached when the valve or its supply fails; below the low mark its run-out is forecast. A meter in the supply line, read by hand, finds a leak."
}
