package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"wickd/cmd/internal/config"
	"wickd/model/design"
)

type checkCommand struct {
	File string `arg:"" type:"path" placeholder:"FILE" help:"The site file."`
	JSON bool   `name:"json" help:"For machines."`
}

// verdict is what check --json prints: the report, or what is wrong.
type verdict struct {
	OK       bool             `json:"ok"`
	Problems []config.Problem `json:"problems,omitempty"`
	Warnings []config.Problem `json:"warnings,omitempty"`
	*design.Report
}

func (k checkCommand) Run(c console) error {
	site, err := config.Load(k.File)
	var problems config.Problems
	if errors.As(err, &problems) {
		if k.JSON {
			return errors.Join(k.write(c, verdict{Problems: problems}), errQuiet)
		}
		fmt.Fprintln(c.err, problems.Error())
		return errQuiet
	}
	if err != nil {
		return err
	}
	physics, err := design.Build(site.Site)
	if err != nil {
		return err
	}
	report, err := physics.Check()
	if err != nil {
		return err
	}
	if k.JSON {
		return k.write(c, verdict{OK: true, Warnings: site.Warnings, Report: &report})
	}
	for _, w := range site.Warnings {
		fmt.Fprintln(c.err, "warning:", w.String())
	}
	_, err = c.out.Write([]byte(checkText(report)))
	return err
}

func (k checkCommand) write(c console, v verdict) error {
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// checkText is the report for people.
func checkText(r design.Report) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: the site file is in order.\n\n", r.Site)
	fmt.Fprintf(&b, "A peak day here asks for %.1f mm of reference evapotranspiration under the cover.\n\n", r.PeakDay)
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "bag\tvolume\theight\tlift\tat rest\tair\tdry at\tto dry limit\tpeak day\twicks lift\tmargin\tbuffer\t")
	fmt.Fprintln(t, "\tL\tmm\tmm\t% water\t%\t% water\tL\tL\tL/d\t\th\t")
	for _, g := range r.Bags {
		fmt.Fprintf(t, "%s\t%.1f\t%.0f\t%.0f\t%.0f\t%.0f\t%.0f\t%.2f\t%.2f\t%.1f\t%.1f×\t%.0f\t\n",
			g.ID, g.Volume, g.Height, g.Lift, 100*g.Equilibrium, 100*g.AirSpace, 100*g.DryLimit,
			g.EasilyAvailable, g.PeakDemand, g.Supply, g.Margin, g.Buffer)
	}
	_ = t.Flush()
	for _, v := range r.Reservoirs {
		fmt.Fprintf(&b, "\nreservoir %s: %.0f L usable of %.0f L", v.ID, v.Usable, v.Full)
		if v.DaysAtPeak > 0 {
			fmt.Fprintf(&b, ", %.1f days for its %d bags at peak demand (%.1f L/d)", v.DaysAtPeak, v.Bags, v.PeakDemand)
		}
		b.WriteString("\n")
	}
	writeAdvice(&b, r)
	return b.String()
}

func writeAdvice(b *strings.Builder, r design.Report) {
	said := map[string][]string{}
	var order []string
	gather := func(text, id string) {
		if said[text] == nil {
			order = append(order, text)
		}
		said[text] = append(said[text], id)
	}
	for _, g := range r.Bags {
		for _, a := range g.Advice {
			gather(a, g.ID)
		}
	}
	if len(order) == 0 {
		b.WriteString("\nEvery bag's wicks keep up on a peak day with room to spare.\n")
	}
	for _, text := range order {
		fmt.Fprintf(b, "\n%s: %s.\n", list(said[text]), text)
	}
	writeNotes(b, r)
}

func writeNotes(b *strings.Builder, r design.Report) {
	seen := map[string]bool{}
	for _, g := range r.Bags {
		for _, n := range g.Notes {
			if !seen[n] {
				if len(seen) == 0 {
					b.WriteString("\nThese figures rest on typical values; your own measurements replace them:\n")
				}
				seen[n] = true
				fmt.Fprintf(b, "  %s\n", n)
			}
		}
	}
}

// list names bags: "a1, a2 and a3", or how many there are.
func list(ids []string) string {
	const most = 6
	switch n := len(ids); {
	case n == 1:
		return ids[0]
	case n <= most:
		return strings.Join(ids[:n-1], ", ") + " and " + ids[n-1]
	default:
		return fmt.Sprintf("%s and %d more", strings.Join(ids[:most], ", "), n-most)
	}
}
