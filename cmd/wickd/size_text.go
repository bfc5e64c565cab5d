package main

import (
	"fmt"
	"math"
	"strings"

	"wickd/model/design"
)

// sizeText is the proposal for people.
func sizeText(p design.Proposal) string {
	var b strings.Builder
	upTo := ""
	if p.Plants < p.Bags*p.PerBag {
		upTo = "up to "
	}
	fmt.Fprintf(&b, "%s of %s%s, %d in all.\n", plural(p.Bags, "bag", "bags"), upTo, plural(p.PerBag, p.Crop+" plant", p.Crop+" plants"), p.Plants)
	writeFigures(&b, p)
	writeMediaToBuy(&b, p)
	writeThumb(&b, p)
	writeLifts(&b, p)
	writeLevel(&b, p)
	writeSizeAdvice(&b, p)
	writeNotes(&b, []design.BagReport{p.Report})
	b.WriteString("\n" + paragraph("Caution. "+buildCare(p.Report), 0, 0))
	return b.String()
}

// buildCare is what to take care of when it is built.
func buildCare(r design.BagReport) string {
	const dry = 0.15 // kg/L: bulk density of a soilless mix, the tube with it (common practice)
	return fmt.Sprintf("A wet bag weighs about %s kg: see that what carries it, and the reservoir, stands firm. Tube, channel and reservoir are to be of plastic meant for food or drinking water. ", amount(math.Ceil(r.Volume*(r.Equilibrium+dry)))) +
		careMains + " Mains electricity stays away from water and behind a residual-current device, by local code."
}

// figure is one row of the proposal.
type figure struct{ name, value, origin string }

// writeFigures lists what was settled and where each figure comes from.
func writeFigures(b *strings.Builder, p design.Proposal) {
	from := func(what string) string { return string(p.Origins[what]) }
	sections := []struct {
		name string
		rows []figure
	}{
		{"The bag", []figure{
			{"tube", fmt.Sprintf("%.0f mm flat, %.0f mm round", p.LayFlat, p.Diameter), from("diameter")},
			{"length", fmt.Sprintf("%.2f m filled, %.0f %% full", p.Length/1000, 100*p.Fill), from("length")},
			{"volume", fmt.Sprintf("%.1f L, %.0f mm high as laid", p.Report.Volume, p.Report.Height), from("volume")},
			{"plants in a bag", fmt.Sprint(p.PerBag), from("plants per bag")},
			{"root room", fmt.Sprintf("%.3g L a plant%s", p.RootRoom, practiceOf(p)), from("root room")},
			{"bags", fmt.Sprintf("%d, %.1f m of tube and the seals", p.Bags, p.TubeLength), from("bags")},
		}},
		{"The demand", []figure{
			{"day", fmt.Sprintf("clear, %s: %.1f mm", dayText(p), p.Reference), from("month")},
			{"lamps", byLamps(p), from("lamps")},
			{"place", latitude(p.Latitude) + coverOf(p), from("place")},
			{"leaves", leaves(p), from("canopy")},
			{"a plant drinks", fmt.Sprintf("%.3g L a day", p.PerPlant) + measuredOn(p), "worked out"},
			{"all drink", fmt.Sprintf("%.1f L a day", p.Demand), "worked out"},
		}},
		{"The wicks", []figure{
			{"material", p.Wick, from("wick")},
			{"lift", fmt.Sprintf("%.0f mm from the solution to the base of the bag", p.Lift), from("lift")},
			{"wicks in a bag", fmt.Sprint(p.Wicks), from("wicks")},
			{"section of each", fmt.Sprintf("%.3g cm²", p.Section), from("section")},
			{"they lift", fmt.Sprintf("%.1f L a day at the dry limit%s", math.Max(0, p.Report.Supply), overDemand(p)), "worked out"},
			{"the medium", fmt.Sprintf("passes up to %.1f L a day on to the roots", p.Report.Conveyed), "worked out"},
			{"a peak day", fmt.Sprintf("takes the bag from %.0f %% down to %.0f %% water; dry is %.0f %%", 100*p.Report.Equilibrium, 100*p.Report.Lowest, 100*p.Report.DryLimit), "worked out"},
		}},
		{"The reservoir", []figure{
			{"usable volume", fmt.Sprintf("%.0f L", p.Reservoir), from("reservoir")},
			{"days away", daysText(p), from("days away")},
		}},
	}
	for _, s := range sections {
		fmt.Fprintf(b, "\n%s\n", s.name)
		for _, r := range s.rows {
			if r.value != "" {
				fmt.Fprintf(b, "  %-16s %-64s %s\n", r.name, r.value, r.origin)
			}
		}
	}
}

func overDemand(p design.Proposal) string {
	if p.Demand <= 0 {
		return ""
	}
	return fmt.Sprintf(", %s the demand (%s wanted)", times(p.Report.Margin), times(p.Margin))
}

// litres writes a volume with a decimal where it is small.
func litres(v float64) string {
	if v < 10 {
		return fmt.Sprintf("%.1f L", v)
	}
	return fmt.Sprintf("%.0f L", v)
}

func practiceOf(p design.Proposal) string {
	if !p.RootRoomKnown {
		return ""
	}
	return fmt.Sprintf(" (common practice: %.2g L)", p.RootRoomPractice)
}

func byLamps(p design.Proposal) string {
	if p.Lit <= 0 {
		return ""
	}
	return fmt.Sprintf("%.2g mm of it", p.Lit)
}

func coverOf(p design.Proposal) string {
	if p.Cover >= 1 {
		return ", no cover"
	}
	return fmt.Sprintf(", a cover that lets in %.0f %%", 100*p.Cover)
}

func leaves(p design.Proposal) string {
	if p.MeasuredDrink {
		return ""
	}
	return fmt.Sprintf("%.2g m² a plant", p.Canopy)
}

// measuredOn says on which day a measured figure is taken to have been.
func measuredOn(p design.Proposal) string {
	if !p.MeasuredDrink {
		return ""
	}
	return fmt.Sprintf("; yours is of a bright day of %.0f mm", design.BrightDay)
}

func dayText(p design.Proposal) string {
	if p.Month == 0 {
		return "at midsummer"
	}
	return "in the middle of " + p.Month.String()
}

func daysText(p design.Proposal) string {
	text := fmt.Sprintf("%.3g", p.Days)
	if p.Demand <= 0 {
		return text
	}
	if p.Lasts < p.Days*(1-1e-3) {
		return text + fmt.Sprintf("; but it lasts %.1f days of such weather", p.Lasts)
	}
	if p.Lasts > p.Days*1.05 {
		return text + fmt.Sprintf("; it lasts %.1f days of such weather", p.Lasts)
	}
	return text + " days of such weather"
}

func writeMediaToBuy(b *strings.Builder, p design.Proposal) {
	m := p.Media
	fmt.Fprintf(b, "\nThe medium (%s): %s in the bags\n", p.Origins["medium"], litres(m.Filled))
	for _, part := range m.Parts {
		fmt.Fprintf(b, "  %-16s %g L, loose\n", part.Material, part.Litres)
	}
	text := fmt.Sprintf("That is %g L to buy, rounded up:", m.Loose())
	if m.Shrink > 0 {
		how := "measured"
		if m.Typical {
			how = "typical; mix known volumes in a bucket to measure it"
		}
		text += fmt.Sprintf(" mixing loses %.1f %% because the fine fills the gaps of the coarse (%s), and", 100*m.Shrink, how)
	}
	text += fmt.Sprintf(" filling spills %.0f %% (%s).", 100*m.Spill, p.Origins["spill"])
	b.WriteString(paragraph(text, 2, 2))
}

// writeThumb sets the trade's rule of thumb beside geometry.
func writeThumb(b *strings.Builder, p design.Proposal) {
	b.WriteString("\nRule of thumb and geometry\n")
	text := fmt.Sprintf("The trade counts 1 L for every 11 cm of a 90–100 mm tube. A round tube of 90 mm takes %.1f cm for a litre, one of 100 mm %.1f cm; 11 cm is right for a tube sold as 170 mm flat, which is 108 mm round.",
		design.PerLitre(design.ThumbNarrowest, 1)/10, design.PerLitre(design.ThumbWidest, 1)/10)
	b.WriteString(paragraph(text, 2, 2))
	text = fmt.Sprintf("Yours takes %.1f cm for a litre as filled. By the rule a bag would hold %.1f L, by geometry it holds %.1f L:", p.Thumb.PerLitre/10, p.Thumb.ByThumb, p.Report.Volume)
	switch off := 100 * (p.Thumb.Excess - 1); {
	case off > 3:
		text += fmt.Sprintf(" the rule promises %.0f %% too much.", off)
	case off < -3:
		text += fmt.Sprintf(" the rule promises %.0f %% too little.", -off)
	default:
		text += " here they agree."
	}
	b.WriteString(paragraph(text, 2, 2))
}

// writeLifts is the table of supply against lift.
func writeLifts(b *strings.Builder, p design.Proposal) {
	fmt.Fprintf(b, "\nSupply against lift: %s of %.3g cm² in a bag whose plants ask for %.2f L a day\n", plural(p.Wicks, "wick", "wicks"), p.Section, p.Report.PeakDemand)
	t := table(b)
	fmt.Fprint(t, "  lift\twicks lift\tmargin\twater at rest\tair at rest\t  \n  mm\tL/d\t\t%\t%\t  \n")
	for _, r := range p.Lifts {
		mark := ""
		if math.Abs(r.Lift-p.Lift) < 0.5 {
			mark = ", chosen"
		}
		fmt.Fprintf(t, "  %.0f\t%.2f\t%s\t%.0f\t%.0f\t  %s%s\n", r.Lift, r.Supply, times(r.Margin), 100*r.Rest, 100*r.AirSpace, r.Verdict, mark)
	}
	_ = t.Flush()
	b.WriteString(paragraph("margin: what the wicks alone lift at the dry limit, against what the plants ask for on the day"+passes(p)+". At rest: when nothing drinks, % of the bag's volume.", 2, 4))
}

// passes says what the margin of wicks leaves out.
func passes(p design.Proposal) string {
	if p.Report.Conveyed < p.Report.Supply {
		return fmt.Sprintf("; over %.0f mm the medium passes less on to the roots, %.2f L", p.Lift, p.Report.Conveyed)
	}
	return ""
}

// writeLevel is how far the solution in the channel may move.
func writeLevel(b *strings.Builder, p design.Proposal) {
	b.WriteString("\nLevel in the channel\n")
	fall := fmt.Sprintf("It may fall by %.0f mm before the wicks no longer keep up with the peak day", p.Report.MayFall)
	if p.Report.MayFall < 0.5 {
		fall = "It may not fall: the wicks do not keep up with the peak day as it is"
	}
	rise := fmt.Sprintf("it may rise by %.0f mm before the bag at rest has too little air", p.Report.MayRise)
	if p.Report.MayRise < 0.5 {
		rise = "it may not rise: the bag at rest has too little air as it is"
	} else if p.Report.MayRise >= p.Lift-0.5 {
		rise = "it may rise up to the bag, which has air even then"
	}
	b.WriteString(paragraph(fall+"; "+rise+".", 2, 2))
}

// dim is a day, mm, that no house is sized by: a tenth of a bright one.
const dim = design.BrightDay / 10

func writeSizeAdvice(b *strings.Builder, p design.Proposal) {
	var said []string
	for _, a := range p.Report.Advice {
		said = append(said, a.Text)
	}
	if p.RootRoomKnown && p.RootRoom < 0.75*p.RootRoomPractice {
		said = append(said, fmt.Sprintf("%.2g L of root room is little for a plant of %s; common practice is %.2g L", p.RootRoom, p.Crop, p.RootRoomPractice))
	}
	if p.Reference < dim {
		said = append(said, fmt.Sprintf("a day of %.1f mm sizes nothing: there is next to no sun %s. Leave --month out to size by the brightest day; of a house that lives by its lamps, state them in a site file and name it with --site", p.Reference, dayText(p)))
	}
	if p.Lasts < p.Days*(1-1e-3) && p.Demand > 0 {
		said = append(said, fmt.Sprintf("the reservoir holds %.0f L and %.3g days take %.0f L: make it larger, or have somebody fill it", p.Reservoir, p.Days, p.Days*p.Demand))
	}
	if len(said) == 0 {
		return
	}
	b.WriteString("\nWhat to look at\n")
	for _, s := range said {
		b.WriteString(paragraph(capital(s)+".", 2, 4))
	}
}
