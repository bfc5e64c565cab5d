package design

import (
	"fmt"
	"math"
	"strings"
)

// AdviceKind names what advice is about.
type AdviceKind string

// The kinds of advice.
const (
	AdviceTooWet      AdviceKind = "too-wet-at-rest"
	AdviceDryAtRest   AdviceKind = "dry-at-rest"
	AdviceShort       AdviceKind = "wicks-cannot-keep-up"
	AdviceTight       AdviceKind = "wicks-only-just-keep-up"
	AdviceHour        AdviceKind = "hottest-hour-from-store"
	AdviceMediumHolds AdviceKind = "medium-holds-back"
	AdviceDipsOnPeak  AdviceKind = "dips-on-peak-day"
	AdviceTooSalty    AdviceKind = "target-too-salty"
	AdviceDeafProbe   AdviceKind = "probe-not-believed"
)

// Advice says in words what is wrong with a bag and what would mend it.
type Advice struct {
	Kind AdviceKind `json:"kind"`
	Text string     `json:"text"`
	// Weight orders bags with the same kind of advice: the greater, the worse.
	Weight float64 `json:"-"`
}

// Wanted margins of supply over demand. Below 1 the bag dries day after day;
// wicks age, so half as much again is wanted (common practice).
const (
	enough = 1.0
	ample  = 1.5
)

// notMet is the share of a peak day's demand that a bag may leave unmet before
// it is worth a word: within what the demand itself is known to.
const notMet = 0.03

func (b *Bag) advise(r BagReport) []Advice {
	var out []Advice
	say := func(kind AdviceKind, weight float64, format string, args ...any) {
		out = append(out, Advice{kind, fmt.Sprintf(format, args...), weight})
	}
	if p := b.Bag.Moisture; p != nil && p.Max > p.Min {
		switch {
		case p.Min > r.DryLimit:
			say(AdviceDeafProbe, p.Min-r.DryLimit, "readings of its probe below its min of %.0f %% are not believed, so that nobody is told when it is dry, at %.0f %%; lower min, or leave it out", 100*p.Min, 100*r.DryLimit)
		case p.Max < r.Equilibrium:
			say(AdviceDeafProbe, r.Equilibrium-p.Max, "readings of its probe above its max of %.0f %% are not believed, and at rest it holds %.0f %%; raise max, or leave it out", 100*p.Max, 100*r.Equilibrium)
		}
	}
	if r.Equilibrium > r.WetLimit {
		say(AdviceTooWet, r.Equilibrium-r.WetLimit, "too wet at rest: %.0f %% air where at least %.0f %% is wanted; raise the bag by %.0f mm, or use a coarser medium",
			100*r.AirSpace, 100*(b.Saturated-r.WetLimit), math.Ceil(-r.MayRise))
	}
	if r.Equilibrium <= r.DryLimit {
		say(AdviceDryAtRest, r.DryLimit-r.Equilibrium, "dry even at rest: over %.0f mm of lift the medium holds %.0f %% water and the dry limit is %.0f %%; %s", r.Lift, 100*r.Equilibrium, 100*r.DryLimit, b.wetter())
		return out
	}
	if r.PeakDemand <= 0 {
		return out
	}
	out = append(out, b.adviseSupply(r)...)
	return append(out, b.advisePeak(r)...)
}

// wetter says over which lift a bag that is dry at rest would not be.
func (b *Bag) wetter() string {
	if most := b.suctionAtLimit(); most > leastLift {
		return fmt.Sprintf("bring the solution nearer than %.0f mm, or lower the dry limit", math.Floor(10*most))
	}
	return "the medium never holds so much over a channel: lower the dry limit"
}

// adviseSupply is about wicks against the demand of a peak day.
func (b *Bag) adviseSupply(r BagReport) []Advice {
	wanted := r.PeakDemand * ample
	switch {
	case r.Margin < enough:
		text := fmt.Sprintf("the wicks cannot keep up on a peak day: they lift %.1f L, the plants ask for %.1f L%s; %s", r.Supply, r.PeakDemand, after(r.DryAfter), b.remedy(wanted))
		return []Advice{{AdviceShort, text, 1 / math.Max(r.Margin, 1e-9)}}
	case r.Margin < ample:
		text := fmt.Sprintf("the wicks only just keep up on a peak day (%.2f L against %.2f L) and leave nothing for age%s; %s", r.Supply, r.PeakDemand, dips(r), b.remedy(wanted))
		return []Advice{{AdviceTight, text, 1 / r.Margin}}
	}
	return nil
}

func dips(r BagReport) string {
	if r.Lowest >= r.DryLimit {
		return ""
	}
	return fmt.Sprintf(", and the bag falls to %.0f %% water, below its dry limit of %.0f %%", 100*r.Lowest, 100*r.DryLimit)
}

func after(hours float64) string {
	if hours <= 0 {
		return ""
	}
	return fmt.Sprintf(", and from rest the bag is dry after %s", spell(hours))
}

// spell writes a span of hours as people say it.
func spell(hours float64) string {
	if hours < 48 {
		return fmt.Sprintf("%.0f h", hours)
	}
	return fmt.Sprintf("%.0f days", hours/24)
}

// advisePeak is about what the run of a peak day shows beyond daily sums.
func (b *Bag) advisePeak(r BagReport) []Advice {
	if r.Margin < ample {
		return nil
	}
	const ways = "use a finer medium, a flatter bag or fewer plants"
	switch {
	case r.Conveyed < r.PeakDemand:
		text := fmt.Sprintf("the wicks lift enough, but the medium passes only %.2f L a day on to the roots before the uppermost are dry, and the plants ask for %.2f L on a peak day; %s", r.Conveyed, r.PeakDemand, ways)
		return []Advice{{AdviceMediumHolds, text, r.PeakDemand / math.Max(r.Conveyed, 1e-9)}}
	case r.Met < 1-notMet:
		text := fmt.Sprintf("the wicks lift enough over the day, but the medium does not follow around noon: on a peak day the plants get %.0f %% of what they ask for; %s", 100*r.Met, ways)
		return []Advice{{AdviceMediumHolds, text, 1 / math.Max(r.Met, 1e-9)}}
	}
	if r.Lowest < r.DryLimit {
		text := fmt.Sprintf("falls to %.0f %% water on a peak day, below its dry limit of %.0f %%, although the wicks lift enough over the day; give the plants more medium, or the bag more wicks", 100*r.Lowest, 100*r.DryLimit)
		return []Advice{{AdviceDipsOnPeak, text, r.DryLimit - r.Lowest}}
	}
	if r.MarginHour < enough {
		text := fmt.Sprintf("in the hottest hour the plants ask for %.2f L and the wicks lift %.2f L; the bag's own water covers the difference", r.PeakHour, r.Supply/24)
		return []Advice{{AdviceHour, text, 1 / r.MarginHour}}
	}
	return nil
}

// remedy finds what would lift wanted litres a day: more wicks of the same
// kind, thicker ones, or the same wicks over a smaller lift.
func (b *Bag) remedy(wanted float64) string {
	var ways []string
	section := b.SectionFor(wanted)
	if n := math.Ceil(section / b.Wick.Section); n <= b.roomForWicks() {
		ways = append(ways, fmt.Sprintf("use %.0f wicks instead of %d", n, b.Wick.Count))
	}
	if each := roundUp(section/float64(b.Wick.Count), sectionStep); each*float64(b.Wick.Count) <= b.roomForWicks()*b.Wick.Section {
		ways = append(ways, fmt.Sprintf("give each a section of %.3g cm² instead of %.3g cm²", each, b.Wick.Section))
	}
	if lift, ok := b.LiftFor(wanted); ok && lift < b.Lift {
		ways = append(ways, fmt.Sprintf("lower the lift from %.0f to %.0f mm", 10*b.Lift, 10*lift))
	}
	if len(ways) == 0 {
		return "no number of wicks of this kind is enough over this lift; use a material that carries more, or share the plants among more bags"
	}
	return strings.Join(ways, ", or ")
}

// sectionStep is how finely a wick is cut, cm².
const sectionStep = 0.5

func roundUp(x, step float64) float64 { return step * math.Ceil(x/step-1e-9) }

// wickShare is how much of a bag's underside may be wicks: beyond it there is
// no film left to hold them (common practice).
const wickShare = 0.25

// roomForWicks is how many wicks of the present kind the underside takes.
func (b *Bag) roomForWicks() float64 {
	t := b.Hydraulic.Store.Tube()
	underside := math.Pi / 2 * t.Diameter * t.Length
	return math.Max(1, math.Floor(wickShare*underside/b.Wick.Section))
}

// adviseFeed is about a target EC that the roots of the bag's crop do not bear,
// where nothing has built up yet.
func (b *Bag) adviseFeed(target float64) []Advice {
	if target < b.ECLimit {
		return nil
	}
	text := fmt.Sprintf("the solution is to have %.3g mS/cm, and from %.3g mS/cm at its roots on %s yields less: lower the reservoir's target, or set the crop's ec_limit if yours bears more", target, b.ECLimit, b.Crop.Name)
	return []Advice{{AdviceTooSalty, text, target / b.ECLimit}}
}
