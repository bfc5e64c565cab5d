package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wickd/model/solution"
)

// The cautions, one for each thing that can hurt.
const (
	careAcid        = "Acid burns: give acid to plenty of water, never water to acid; never let it meet chlorine cleaner (hypochlorite) or a concentrate."
	careBase        = "Alkali burns as acid does, eyes above all: give it to plenty of water; never let it meet acid or a concentrate."
	careConcentrate = "Never pour concentrates together undiluted: they set like plaster. Stir in one, then the other."
	careHeat        = "Strong sulfuric acid boils up and spatters where it meets water: buy it at 35 % or weaker."
	careSalts       = "Nitrates feed a fire: keep them dry, closed, and away from acids and all that burns. Weigh out of the wind, with a mask for dust."
	careEyes        = "Goggles and gloves."
	careMains       = "A hose from the mains must not hang in the solution; local code asks for backflow prevention."
	careCode        = "The safety sheet on the bottle, local code and licensed practice come before this. Do not handle any of it alone."
)

// Bicarbonate with calcium conducts 104 µS/cm for each meq/L at infinite dilution
// (59.5 + 44.5 S·cm²/eq at 25 °C, any table of ionic conductivities), a tenth less in
// tap water: below two thirds of that the EC of the water was forgotten, mS/cm per
// meq/L.
const usualByAlkalinity, leastByAlkalinity = 0.09, 0.06

// mixture is a plan and what it is for.
type mixture struct {
	request  solution.Request
	plan     solution.Plan
	standing float64 // L of the volume that stand in the channels
	letOut   float64 // L of the old solution that go before the plan begins (change)
	// unmeasured says that the daemon was asked how much that is and does not know.
	unmeasured bool
	source     source // of what is known of the water
}

func (m mixture) text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", m.title())
	steps := m.steps()
	for i, s := range steps {
		b.WriteString(paragraph(fmt.Sprintf("%2d. %s", i+1, s), 0, 4))
		if command := m.followUp(); command != "" && i == len(steps)-1 {
			b.WriteString("      " + command + "\n")
		}
	}
	if len(steps) == 0 && m.plan.Demand == 0 {
		b.WriteString("Nothing to do.\n")
	}
	b.WriteString("\n" + paragraph(m.expected(), 0, 0))
	for _, n := range m.notes() {
		b.WriteString(paragraph(n, 0, 0))
	}
	if care := m.care(); len(care) > 0 {
		b.WriteString("\n" + paragraph("Caution. "+strings.Join(care, " "), 0, 0))
	}
	return b.String()
}

func (m mixture) title() string {
	r := m.request
	to := "pH " + amount(r.TargetPH)
	if r.TargetEC > 0 {
		to = fmt.Sprintf("%.2f mS/cm", r.TargetEC)
		if r.TargetPH > 0 {
			to += ", pH " + amount(r.TargetPH)
		}
	}
	from := "an empty reservoir"
	if r.Volume > 0 {
		from = fmt.Sprintf("%s L of %.2f mS/cm", amount(r.Volume), r.EC)
		if r.PH > 0 {
			from += ", pH " + amount(r.PH)
		}
	}
	switch r.Mode {
	case solution.TopUp:
		return fmt.Sprintf("Top up %s to %s L of %s.", from, amount(m.plan.Expected.Volume), to)
	case solution.Change:
		if r.Volume > 0 {
			from = "What cannot be let out (" + from + ")"
		}
		return fmt.Sprintf("%s: fill to %s L of %s.", capital(from), amount(m.plan.Expected.Volume), to)
	}
	return fmt.Sprintf("Bring %s to %s.", from, to)
}

// steps are what to do, in order.
func (m mixture) steps() []string {
	p := m.plan
	var all []string
	if m.letOut > 0.05 || m.unmeasured {
		what, left := amount(m.letOut)+" L", "nothing is"
		if stays := m.request.Volume - m.standing; stays > 0.05 {
			left = fmt.Sprintf("no more than %s L are", amount(stays))
		}
		if m.unmeasured {
			what = "what is in it"
		}
		all = append(all, fmt.Sprintf("Let out %s, until %s left, where local code allows: on beds, not into a ditch.", what, left))
	}
	if p.Discard > 0.05 {
		all = append(all, fmt.Sprintf("Let out %s L, until %s L are left, where local code allows: on beds, not into a ditch.", amount(p.Discard), amount(m.request.Volume-p.Discard)))
	}
	if p.Water > 0.05 {
		all = append(all, fmt.Sprintf("Add %s L of water.", amount(p.Water)))
	}
	if p.AcidFirst {
		all = append(all, m.firstDose()+" It goes in before the concentrates, as phosphate falls out above pH 7.")
	}
	for _, d := range p.Doses {
		all = append(all, fmt.Sprintf("Add %s mL of concentrate %s and stir it in.", amount(d.ML), d.Stock.Name))
	}
	if len(all) > 0 {
		all = append(all, fmt.Sprintf("Stir, wait ten minutes and measure: the EC should be %.2f ± %.2f mS/cm.", m.mixed(), p.Expected.ECSD))
	}
	if p.Reagent == nil {
		return all
	}
	if !p.AcidFirst {
		all = append(all, m.firstDose())
	}
	about := fmt.Sprintf(": about %.1f", p.Expected.FirstPH)
	if p.Least > 0 {
		about = ""
	}
	until := "until it is within 0.1"
	if m.request.Aired && p.Least == 0 {
		until = fmt.Sprintf("until it is within 0.1 of today's %.1f", p.Expected.PH)
	}
	return append(all, fmt.Sprintf("Wait 15 minutes and measure the pH%s. Then ask for the rest with what you measure, %s:", about, until))
}

// firstDose is the part of the acid or base that goes in before measuring.
func (m mixture) firstDose() string {
	p := m.plan
	unit, way := p.Reagent.Unit(), "in ten times as much water"
	if unit == "g" {
		way = "dissolved in a litre of water"
	}
	text := fmt.Sprintf("Add %s %s of %s %s, and stir", amount(p.First), unit, p.Reagent.Label(), way)
	const syringe = 2 // mL, below which a kitchen measure is no good
	little := ""
	if unit == "mL" && p.First < syringe {
		little = " That little takes a syringe; or thin some of it tenfold, acid or base into water, and give ten times as much."
	}
	if p.Unseen {
		return text + ": no more than was given so far." + little
	}
	if p.Least > 0 {
		return text + fmt.Sprintf(": that is half of what it takes if it holds no carbonate. How much it holds nobody measured; with as much as its pH may mean it takes %s %s in all.", amount(p.Amount), unit) + little
	}
	return text + fmt.Sprintf(": that is %s of the %s %s worked out.", portion(p.First/p.Amount), amount(p.Amount), unit) + little
}

// mixed is the EC that is measured before the pH is corrected.
func (m mixture) mixed() float64 {
	switch p := m.plan; {
	case p.AcidFirst:
		return p.Expected.FirstEC
	case p.Reagent != nil:
		return p.Mixed
	}
	return m.plan.Expected.EC
}

// portion says a share as people do.
func portion(share float64) string {
	switch {
	case share > 0.7:
		return "four fifths"
	case share > 0.55:
		return "two thirds"
	case share > 0.45:
		return "half"
	case share > 0.37:
		return "two fifths"
	case share > 0.28:
		return "a third"
	}
	return fmt.Sprintf("one part in %.0f", 1/share)
}

// followUp is the command for the rest of the acid or base.
func (m mixture) followUp() string {
	p, e := m.plan, m.plan.Expected
	if p.Reagent == nil {
		return ""
	}
	flag := "--acid"
	if p.Reagent.Base {
		flag = "--base"
	}
	known := fmt.Sprintf("--carbon %s --phosphate %s", amount(math.Max(0.001, e.FirstTotals.Carbon)), amount(math.Max(0.001, e.FirstTotals.Phosphate)))
	if tried := m.request.After(p); tried != nil {
		known = fmt.Sprintf("--ph-before %s --given %s%s --phosphate %s", amount(tried.PH), amount(tried.Amount), p.Reagent.Unit(), amount(math.Max(0.001, m.request.StandingPhosphate())))
	}
	if m.request.Aired {
		known += " --aired"
	}
	if t := m.request.Temperature; t != usualTemperature {
		known += fmt.Sprintf(" --temperature %s°C", amount(t))
	}
	return fmt.Sprintf("wickd mix correct --volume %sL --ec %.2fmS/cm --ph MEASURED --target-ph %s %s %s '%s'",
		amount(e.Volume), e.FirstEC, amount(m.request.TargetPH), known, flag, reagentText(*p.Reagent))
}

// reagentText is an acid or base as --acid and --base take it.
func reagentText(r solution.Reagent) string {
	switch {
	case r.Share == 0:
		return fmt.Sprintf("%s %smol/L", r.Name, amount(r.Molarity))
	case r.Density == 0:
		return r.Name
	}
	return fmt.Sprintf("%s %s%%", r.Name, amount(100*r.Share))
}

func (m mixture) expected() string {
	e := m.plan.Expected
	ec := e.EC
	if m.plan.Least > 0 {
		ec = e.FirstEC
	}
	text := fmt.Sprintf("Expect %s L of %.2f ± %.2f mS/cm", amount(e.Volume), ec, e.ECSD)
	if e.PH > 0 {
		text += fmt.Sprintf(", pH %.1f ± %.1f", e.PH, e.PHSD)
		if m.plan.Least > 0 { // then both hang on how much carbonate there is
			text = strings.TrimSuffix(text, fmt.Sprintf(", pH %.1f ± %.1f", e.PH, e.PHSD))
		} else if e.PHAired > e.PH+0.15 {
			text += fmt.Sprintf(", and up to %.1f by tomorrow as carbon dioxide leaves: measure again then", e.PHAired)
		}
	}
	if e.Fed != "" && e.FedMmol >= 0.05 && m.plan.Least == 0 {
		text += fmt.Sprintf(". %s brings %.2f mmol/L of %s", capital(m.plan.Reagent.Name), e.FedMmol, e.Fed)
	}
	return text + "."
}

// naming says which acid or base is wanted, and how it is named.
func (m mixture) naming() string {
	flag := "--acid 'nitric 38%'"
	if m.plan.Demand < 0 {
		flag = "--base 'potassium hydroxide 10%'"
	}
	return strings.Join(m.plan.Notes, " ") + " For example: " + flag
}

func (m mixture) notes() []string {
	all := append([]string(nil), m.plan.Notes...)
	if m.plan.Lacks() {
		all = []string{m.naming()}
	}
	if m.standing > 0 {
		all = append(all, fmt.Sprintf("%s L of this stand in the channels. They mix with the reservoir only as the bags drink: let some run through, or measure again tomorrow.", amount(m.standing)))
	}
	if r, e := m.request, m.plan.Expected; r.Mode == solution.Correct && r.TargetEC > 0 && math.Abs(r.EC-r.TargetEC) < e.ECSD {
		all = append(all, fmt.Sprintf("Its EC lies nearer to the target than can be measured, ± %.2f mS/cm: left alone it is as good.", e.ECSD))
	}
	if w := m.request.Water; w.EC < leastByAlkalinity*w.Alkalinity {
		all = append(all, fmt.Sprintf("Water of %s meq/L of alkalinity has about %.2f mS/cm by that alone, and %.2f were counted: give its --water-ec, or the solution comes out that much too strong.", amount(w.Alkalinity), usualByAlkalinity*w.Alkalinity, w.EC))
	}
	if note := m.sourceNote(); note != "" && m.plan.Water > 0 {
		all = append(all, note)
	}
	if m.source == named && m.plan.Water == 0 {
		all = append(all, "No water goes in, so what --water-ec and --alkalinity say of it plays no part. What the solution itself holds is --carbon.")
	}
	if e := m.plan.Expected; m.plan.Reagent != nil && m.plan.Least == 0 && !m.request.Aired && e.PHAired > m.request.TargetPH+0.5 {
		all = append(all, "The water is hard, so the pH climbs as carbon dioxide leaves. Correct it again tomorrow, or dose for tomorrow at once with --aired.")
	}
	if m.plan.Reagent != nil && m.request.Phosphate == 0 && m.request.Volume > 0 && m.request.Tried == nil && m.plan.Least == 0 {
		all = append(all, "The phosphate of the solution was guessed from its EC, which is why not all of the dose goes in at once.")
	}
	return all
}

// care lists the cautions for what the plan names.
func (m mixture) care() []string {
	var all []string
	p := m.plan
	acid := p.Reagent != nil && !p.Reagent.Base || p.Lacks() && p.Demand > 0
	base := p.Reagent != nil && p.Reagent.Base || p.Lacks() && p.Demand < 0
	for _, c := range []struct {
		named bool
		care  string
	}{{acid, careAcid}, {acid && p.Reagent != nil && p.Reagent.Heats(), careHeat}, {base, careBase}, {len(p.Doses) > 0, careConcentrate}, {acid || base || len(p.Doses) > 0, careEyes}, {p.Water > 0, careMains}} {
		if c.named {
			all = append(all, c.care)
		}
	}
	if len(all) > 0 {
		all = append(all, careCode)
	}
	return all
}

// amount writes an amount with three digits that count, and no exponent.
func amount(x float64) string {
	if x == 0 {
		return "0"
	}
	digits := max(0, 2-int(math.Floor(math.Log10(math.Abs(x)))))
	text := strconv.FormatFloat(x, 'f', digits, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}
