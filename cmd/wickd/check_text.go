package main

import (
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"strings"

	"wickd/model/design"
)

// checkText is the report for people.
func checkText(r design.Report) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: the site file is in order.\n\n", r.Site)
	b.WriteString(paragraph(fmt.Sprintf("The peak day is a clear midsummer day %s: %.1f mm of reference evapotranspiration, %.2f mm of it in the hottest hour%s.", where(r), r.PeakDay, r.PeakHour, lit(r.PeakLit)), 0, 0))
	writeMedia(&b, r.Media)
	groups := alike(r.Bags)
	writeRest(&b, groups)
	writePeak(&b, groups)
	writeReservoirs(&b, r.Reservoirs)
	writeAdvice(&b, r.Bags)
	writeNotes(&b, r.Bags)
	return b.String()
}

// lit says how much of a peak day is by lamps, mm.
func lit(mm float64) string {
	if mm <= 0 {
		return ""
	}
	return fmt.Sprintf(" and %.2g mm by the lamps", mm)
}

func where(r design.Report) string {
	place := "at " + latitude(r.Latitude)
	if !r.PlaceGiven {
		place += " (assumed; give the site's latitude and longitude)"
	}
	if r.Cover < 1 {
		place += fmt.Sprintf(" under a cover that lets in %.0f %%", 100*r.Cover)
	}
	return place
}

// group is bags of one channel that are alike in every figure.
type group struct {
	design.BagReport
	ids []string
}

// alike puts neighbours together that differ in nothing but their name.
func alike(bags []design.BagReport) []group {
	var out []group
	for _, r := range bags {
		id := r.ID
		r.ID = ""
		if n := len(out); n > 0 && reflect.DeepEqual(out[n-1].BagReport, r) {
			out[n-1].ids = append(out[n-1].ids, id)
			continue
		}
		out = append(out, group{r, []string{id}})
	}
	return out
}

// rows are the names of groups, flush left.
func rows(groups []group) []string {
	names := []string{"bags"}
	for _, g := range groups {
		names = append(names, span(g.ids))
	}
	return padded(names)
}

func writeMedia(b *strings.Builder, media []design.MediumReport) {
	b.WriteString("\nMedia, % of the volume, in the laboratory's 10 cm sample:\n")
	names := []string{"medium"}
	for _, m := range media {
		name := m.Name
		if m.Typical {
			name += " *"
		}
		names = append(names, name)
	}
	names = padded(append(names, "asked of a substrate"))
	t := table(b)
	fmt.Fprint(t, names[0]+"\tpores\tair\teasily available\tbuffer\t\n")
	for i, m := range media {
		fmt.Fprintf(t, "%s\t%.0f\t%.0f\t%.0f\t%.0f\t\n", names[i+1], 100*m.Porosity, 100*m.AirSpace, 100*m.EasilyAvailable, 100*m.Buffer)
	}
	fmt.Fprint(t, names[len(names)-1]+"\t85\t20–30\t20–30\t4–10\t\n")
	_ = t.Flush()
}

// writeRest is what a bag holds when nothing drinks from it.
func writeRest(b *strings.Builder, groups []group) {
	b.WriteString("\nBags as they lie, at rest over their channel:\n")
	t := table(b)
	names := rows(groups)
	fmt.Fprint(t, names[0]+"\tmedium\tvolume\theight\tlift\twater\tair\teasily available\tlasts at peak\t\n")
	fmt.Fprint(t, "  \t\tL\tmm\tmm\t%\t%\tL\th\t\n")
	for i, g := range groups {
		fmt.Fprintf(t, "%s\t%s\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%.2f\t%.0f\t\n",
			names[i+1], g.Media, g.Volume, g.Height, g.Lift, 100*g.Equilibrium, 100*g.AirSpace, g.EasilyAvailable, g.Buffer)
	}
	_ = t.Flush()
}

// writePeak is wicks against plants, and what a peak day makes of the bag.
func writePeak(b *strings.Builder, groups []group) {
	b.WriteString("\nEach bag's wicks at its dry limit against its full-grown plants on a peak day:\n")
	t := table(b)
	names := rows(groups)
	fmt.Fprint(t, names[0]+"\tdry at\twicks lift\tmedium passes\tplants ask\tmargin\tat noon\tfalls to\tmay fall\tmay rise\t\n")
	fmt.Fprint(t, "  \t%\tL/d\tL/d\tL/d\t\t\t%\tmm\tmm\t\n")
	for i, g := range groups {
		fmt.Fprintf(t, "%s\t%.0f\t%.1f\t%.1f\t%.1f\t%s\t%s\t%.0f\t%s\t%s\t\n",
			names[i+1], 100*g.DryLimit, math.Max(0, g.Supply), g.Conveyed, g.PeakDemand, times(g.Margin), times(g.MarginHour),
			100*g.Lowest, millimetres(g.MayFall), millimetres(g.MayRise))
	}
	_ = t.Flush()
	for _, heads := range []string{
		"margin, at noon: what the wicks alone lift against what the plants ask for, over the day and in its hottest hour; where the medium passes less than the wicks lift, the medium decides",
		"falls to: the least water in the bag on peak days, % of its volume",
		"may fall, may rise: how far the level in the channel may move until the wicks no longer keep up with a peak day, or the bag at rest has too little air",
	} {
		b.WriteString(paragraph(heads+".", 2, 4))
	}
}

// times writes a margin; far above what is wanted, digits say nothing.
func times(margin float64) string {
	switch {
	case margin <= 0:
		return "–"
	case margin >= 10:
		return fmt.Sprintf("%.0f×", margin)
	case margin < 1.1:
		return fmt.Sprintf("%.2f×", margin)
	}
	return fmt.Sprintf("%.1f×", margin)
}

// millimetres writes how far a level may move; past it already is "no".
func millimetres(mm float64) string {
	if mm < 0.5 {
		return "no"
	}
	return fmt.Sprintf("%.0f", mm)
}

func filesText(dir string, files []string) string {
	if len(files) == 0 {
		return ""
	}
	var names []string
	for _, f := range files {
		if filepath.Ext(f) == ".png" {
			names = append(names, strings.TrimSuffix(filepath.Base(f), ".png"))
		}
	}
	return fmt.Sprintf("\nPictures in %s, each as .png and .svg:\n%s", dir, paragraph(strings.Join(names, ", "), 2, 2))
}
