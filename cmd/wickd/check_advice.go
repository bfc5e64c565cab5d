package main

import (
	"strings"

	"wickd/model/design"
)

// writeAdvice says each thing once for each channel, with the worst bag's
// figures: down a sloping channel every bag has its own.
func writeAdvice(b *strings.Builder, bags []design.BagReport) {
	type key struct {
		channel string
		kind    design.AdviceKind
	}
	said := map[key][]string{}
	worst := map[key]design.Advice{}
	at := map[key]string{}
	var order []key
	for _, r := range bags {
		for _, a := range r.Advice {
			k := key{r.Channel, a.Kind}
			if said[k] == nil {
				order = append(order, k)
			}
			said[k] = append(said[k], r.ID)
			if len(said[k]) == 1 || a.Weight > worst[k].Weight {
				worst[k], at[k] = a, r.ID
			}
		}
	}
	if len(order) == 0 {
		b.WriteString("\nEvery bag has air at rest, and its wicks keep up on a peak day, at noon too.\n")
		return
	}
	b.WriteString("\nWhat to look at:\n")
	for _, k := range order {
		name := span(said[k])
		if len(said[k]) > 1 && differ(bags, said[k], k.kind) {
			name += " (worst " + at[k] + ")"
		}
		b.WriteString(paragraph(name+": "+worst[k].Text+".", 2, 4))
	}
}

// differ says whether the advice of a kind is not the same for all of ids.
func differ(bags []design.BagReport, ids []string, kind design.AdviceKind) bool {
	texts := map[string]bool{}
	for _, r := range bags {
		for _, a := range r.Advice {
			for _, id := range ids {
				if id == r.ID && a.Kind == kind {
					texts[a.Text] = true
				}
			}
		}
	}
	return len(texts) > 1
}

func writeNotes(b *strings.Builder, bags []design.BagReport) {
	seen := map[string]bool{}
	for _, g := range bags {
		for _, n := range g.Notes {
			if seen[n] {
				continue
			}
			if len(seen) == 0 {
				b.WriteString("\n* These figures rest on typical values; your own measurements replace them:\n")
			}
			seen[n] = true
			b.WriteString(paragraph(n, 2, 4))
		}
	}
}
