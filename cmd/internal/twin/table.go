package twin

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat"
)

// Table writes what a study found, in Markdown.
func Table(cases []Case, command string) string {
	var out strings.Builder
	fmt.Fprintf(&out, "# wickd against its twin\n\nMade by `%s`; do not edit. Package twin says what is measured.\n", command)
	out.WriteString("Every trial is run under several seeds, each another site, weather and luck. " +
		"A fault is found when an alert is raised that fits it, and named when the alert gives its cause, too; over says how many of those found ended when the fault was mended. " +
		"A goal that the median misses, or that one run in two does not find, is marked. " +
		"Raised without cause are the alerts that nothing wrong explains.\n\n")
	out.WriteString("Faults begin at any hour: by night nothing drinks, and a lost supply cannot show before morning. " +
		"Delays count from the fault; the column beside counts from when the plants had drunk 0.005 of their bag's volume without supply, half the noise of a probe. " +
		"A fault is found before a bag is dry also where none gets dry of it; bags that were near their limit when it began do not count.\n")
	for start := 0; start < len(cases); {
		end := start
		for end < len(cases) && cases[end].Bench.Name == cases[start].Bench.Name {
			end++
		}
		bench := cases[start].Bench
		fmt.Fprintf(&out, benchHead+"%s (every %s, %.0f %% lost%s)\n", bench.Name, short(bench.Every), 100*bench.Loss, bench.handedOver())
		if bench.About != "" {
			fmt.Fprintf(&out, "\nIt is %s.\n", bench.About)
		}
		out.WriteString(faultTable(cases[start:end]))
		out.WriteString(summary(cases[start:end]))
		start = end
	}
	return out.String()
}

// benchHead begins the part of a table that is about one bench.
const benchHead = "\n## Bench: "

// Replace puts the benches of a newer table in place of those of the same name in an
// older one, and leaves its others as they are.
func Replace(older, newer string) (string, error) {
	head, _, _ := strings.Cut(newer, benchHead)
	parts := strings.Split(older, benchHead)
	for _, made := range strings.Split(newer, benchHead)[1:] {
		i := slices.IndexFunc(parts, func(p string) bool { return nameOf(p) == nameOf(made) })
		if i < 1 {
			return "", fmt.Errorf("the table has no bench %q: make the whole of it", nameOf(made))
		}
		parts[i] = made
	}
	parts[0] = head
	return strings.Join(parts, benchHead), nil
}

// nameOf is the heading of a part without how often it sends.
func nameOf(part string) string {
	name, _, _ := strings.Cut(part, " (")
	return name
}

func short(d time.Duration) string { return fmt.Sprintf("%.0f min", d.Minutes()) }

func faultTable(cases []Case) string {
	var out strings.Builder
	out.WriteString("\n| trial | found | named | delay, median (worst) | after it shows | before a bag is dry | goal | over | after it was mended | raised without cause |\n|---|---|---|---|---|---|---|---|---|---|\n")
	for _, c := range cases {
		found, named, inTime, over, false := 0, 0, 0, 0, 0
		var delays, since, ends []float64
		for _, o := range c.Outcomes {
			false += len(o.False)
			if o.Found {
				found++
				delays = append(delays, o.Delay.Hours())
				if o.Shows {
					since = append(since, o.Since.Hours())
				}
			}
			if o.Named {
				named++
			}
			if o.InTime() {
				inTime++
			}
			if o.Over {
				over++
				ends = append(ends, o.Ends.Hours())
			}
		}
		n := len(c.Outcomes)
		delay := spread(delays)
		goal := fmt.Sprintf("%.0f h", c.Trial.Goal.Hours())
		if 2*found <= n || median(delays) > c.Trial.Goal.Hours() {
			goal += ", missed"
		}
		if c.Trial.Wanted == nil {
			fmt.Fprintf(&out, "| %s | – | – | – | – | – | – | – | – | %d |\n", c.Trial.Name, false)
			continue
		}
		early := "–"
		if n > 0 && c.Outcomes[0].Supply {
			early = fmt.Sprintf("%d/%d", inTime, n)
		}
		ended := "–"
		if c.Trial.Mended > 0 {
			ended = fmt.Sprintf("%d/%d", over, found)
		}
		fmt.Fprintf(&out, "| %s | %d/%d | %d/%d | %s | %s | %s | %s | %s | %s | %d |\n", c.Trial.Name, found, n, named, n, delay, spread(since), early, goal, ended, spread(ends), false)
	}
	return out.String()
}

func spread(hours []float64) string {
	if len(hours) == 0 {
		return "–"
	}
	slices.Sort(hours)
	return fmt.Sprintf("%.1f h (%.1f h)", median(hours), hours[len(hours)-1])
}

// median of values, which it sorts.
func median(values []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}

// total adds up the outcomes of a bench.
type total struct {
	Outcome
	False   int
	BagDays float64
}

func sum(cases []Case) total {
	var t total
	for _, c := range cases {
		for _, o := range c.Outcomes {
			t.False += len(o.False)
			t.BagDays += o.BagDays
			t.Resets += o.Resets
			t.Uptake = append(t.Uptake, o.Uptake...)
			t.House = append(t.House, o.House...)
			t.Empty = append(t.Empty, o.Empty...)
			t.DryIn = t.DryIn.plus(o.DryIn)
			t.Dry = append(t.Dry, o.Dry...)
			t.Fed = append(t.Fed, o.Fed...)
			t.Persists = append(t.Persists, o.Persists...)
			t.Water.Sum, t.Water.Count = t.Water.Sum+o.Water.Sum, t.Water.Count+o.Water.Count
			t.Unheard += o.Unheard
			t.NIS.Sum, t.NIS.Count = t.NIS.Sum+o.NIS.Sum, t.NIS.Count+o.NIS.Count
			t.WaterIn = t.WaterIn.plus(o.WaterIn)
			t.UptakeIn = t.UptakeIn.plus(o.UptakeIn)
			t.WickIn = t.WickIn.plus(o.WickIn)
			t.DrawIn = t.DrawIn.plus(o.DrawIn)
			t.LooseIn = t.LooseIn.plus(o.LooseIn)
			t.EmptyIn = t.EmptyIn.plus(o.EmptyIn)
		}
	}
	return t
}

func (s share) plus(o share) share { return share{s.Hits + o.Hits, s.All + o.All} }

func (s share) String() string {
	if s.All == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f %%", 100*float64(s.Hits)/float64(s.All))
}

func summary(cases []Case) string {
	t := sum(cases)
	slices.Sort(t.Uptake)
	slices.Sort(t.House)
	var out strings.Builder
	row := func(what, format string, args ...any) {
		fmt.Fprintf(&out, "| %s | %s |\n", what, fmt.Sprintf(format, args...))
	}
	out.WriteString("\n| over all trials of this bench | |\n|---|---|\n")
	row("raised without cause, per 1000 bag-days", "%.2f (%d in %.0f)", 1000*float64(t.False)/t.BagDays, t.False, t.BagDays)
	row("sensors called silent because the link lost all of three intervals", "%d", t.Unheard)
	if len(t.Uptake) > 0 {
		row("uptake of a bag from day 3 on, mean error (95 % below)", "%.1f %% (%.1f %%)", 100*stat.Mean(t.Uptake, nil), 100*stat.Quantile(0.95, stat.Empirical, t.Uptake, nil))
	}
	if len(t.Fed) > 0 {
		var ours, least, cool []float64
		for _, f := range t.Fed {
			ours, least, cool = append(ours, f.Miss), append(least, f.Least), append(cool, f.Cool)
		}
		row("of bags that were always fed: mean error; the least that any reader of their probes can expect; the same of probes known not to follow their warmth",
			"%.1f %%; %.1f %%; %.1f %%", 100*stat.Mean(ours, nil), 100*stat.Mean(least, nil), 100*stat.Mean(cool, nil))
	}
	if len(t.House) > 0 {
		row("a day's uptake of all bags together, mean error (95 % below)", "%.1f %% (%.1f %%)", 100*stat.Mean(t.House, nil), 100*stat.Quantile(0.95, stat.Empirical, t.House, nil))
	}
	row("water content, root mean square error", "%.4f", math.Sqrt(t.Water.Sum/math.Max(1, float64(t.Water.Count))))
	row("90 % intervals that hold: water content", "%v", t.WaterIn)
	row("90 % intervals that hold: a day's uptake", "%v", t.UptakeIn)
	row("90 % intervals that hold: wick health", "%v", t.WickIn)
	row("90 % intervals that hold: a day's draw", "%v", t.DrawIn)
	row("90 % intervals that hold: unexplained draw", "%v", t.LooseIn)
	row("90 % intervals that hold: empty at", "%v", t.EmptyIn)
	if len(t.Empty) > 0 {
		row("empty at, median error relative to the time left", "%.0f %%", 100*median(t.Empty))
	}
	if len(t.Persists) > 0 {
		row("the same, of whoever knows what was drawn and lets its last three days go on", "%.0f %%", 100*median(t.Persists))
	}
	if len(t.Dry) > 0 {
		row("90 % intervals that hold: a bag's dryness, once its cause is told", "%v (of %d hours)", t.DryIn, t.DryIn.All)
		row("a bag's dryness, median error relative to the time left", "%.0f %%", 100*median(t.Dry))
	}
	row("mean normalised innovation squared (1: consistent)", "%.2f", t.NIS.Sum/math.Max(1, float64(t.NIS.Count)))
	row("filters begun afresh", "%d", t.Resets)
	return out.String()
}

// handedOver says how often a gateway hands over what it kept, if it does.
func (b Bench) handedOver() string {
	if b.Held == 0 {
		return ""
	}
	return fmt.Sprintf(", handed over every %.0f h", b.Held.Hours())
}
