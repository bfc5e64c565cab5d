package alerts

import (
	"fmt"
	"time"

	"wickd/model"
)

const (
	// one-sided 95 % of the normal distribution.
	crediblySD = 1.64
	// failingBelow is half of what the house's wicks lift: a wick layout that has
	// less than double its peak demand in hand then fails on a bright day.
	failingBelow = 0.5
	// falling, 1/d: ln 2, that is halving within a day.
	falling = -0.693
	// fallingBelow: a health that falls fast counts once it is credibly below this.
	fallingBelow = 0.8
	// notDrinkingBelow: a bag whose plants take less than 40 % of what the light
	// asks for is no longer the bag that was planted.
	notDrinkingBelow = 0.4
)

func wickConditions() []Definition {
	return []Definition{
		{
			Condition: WickFailing, Kind: model.KindBag, Priority: model.PriorityHigh,
			OnDelay: 30 * time.Minute, OffDelay: 3 * time.Hour, Deadband: 0.1, Unit: "of 1",
			Reason: "the estimate carries its own doubt; half an hour bridges a bag that is lifted to look at",
			Rationale: Rationale{
				Cause:       "lost contact with the solution or the mix; clogging with salt, roots or algae",
				Consequence: "the bag dries out at the time said, though the channel is full",
				Action:      "seat the wicks again, rinse or change them",
				Severity:    Severe,
				Respond:     6 * time.Hour,
			},
			dated: true, plural: "have failing wicks", judge: wickFailing,
		},
	}
}

// drinkingConditions stand after those of dry bags, which explain them.
func drinkingConditions() []Definition {
	return []Definition{
		{
			Condition: BagNotDrinking, Kind: model.KindBag, Priority: model.PriorityHigh,
			OnDelay: 3 * time.Hour, OffDelay: 6 * time.Hour, Deadband: 0.1, Unit: "of 1",
			Reason: "dull hours look alike for plants that drink and plants that do not",
			Rationale: Rationale{
				Cause:       "plants removed or cut back, dead roots, disease, salt",
				Consequence: "plants that do not drink are dying or gone",
				Action:      "look at the plants and their roots",
				Severity:    Severe,
				Respond:     12 * time.Hour,
			},
			dated: true, plural: "are not drinking", judge: bagNotDrinking,
		},
	}
}

func wickFailing(sc *scene, d *Definition) []finding {
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		if !fresh(b.WickShare) || b.Cause == model.CauseNotDrinking {
			return Verdict{State: Unknown} // plants that do not drink ask nothing of their wicks
		}
		if !failing(b) && (!held || recovered(b, d.Deadband)) {
			if sc.dry(b.Channel) {
				return relief(held, "It is not the wicks of bag %s: its channel %s has no water", b.Bag, b.Channel)
			}
			return relief(held, "The wicks of bag %s lift well again", b.Bag)
		}
		v := Verdict{State: Holds, Since: b.CauseSince, Cause: b.Cause, Due: forecast(b), Message: model.Message{
			Headline: fmt.Sprintf("The wicks of bag %s are failing", b.Bag),
			Why: sentences(fmt.Sprintf("They lift about %s of what they should", percent(b.WickShare.Value)),
				why(b.Cause, b.Evidence), resting(b), sc.reserve(b)),
			Action: remedy(b.Cause),
		}}
		if v.Due != nil {
			v.Message.Headline += fmt.Sprintf(": dry %s, %s", sc.until(*v.Due), sc.clock(*v.Due))
		}
		return v
	})
}

// resting is for whoever reads by night that the water content falls: what the wicks
// still lift is then more than the plants take.
func resting(b *model.BagEstimate) string {
	if b.Cause != model.CauseWickLostContact || b.Evidence == "" {
		return ""
	}
	return "While the plants rest, as by night, it may still rise a little"
}

// reserve says how long a bag whose wicks fail may last.
func (sc *scene) reserve(b *model.BagEstimate) string {
	switch {
	case b.DryLimit <= 0 || !fresh(b.WaterContent) || dry(b):
		return ""
	case forecast(b) == nil && b.Dry.P05 != nil:
		return holds(b) + fmt.Sprintf(", %s at the earliest", sc.clock(*b.Dry.P05))
	}
	return holds(b)
}

// failing reports whether wick health is credibly below half, or low and
// falling fast.
func failing(b *model.BagEstimate) bool {
	upper := b.WickShare.Value + crediblySD*b.WickShare.SD
	return upper < failingBelow || b.WickHealthRate < falling && upper < fallingBelow
}

// recovered needs more than the doubt growing: the figure itself must be up,
// and no longer falling.
func recovered(b *model.BagEstimate, deadband float64) bool {
	return b.WickShare.Value > failingBelow+deadband && b.WickHealthRate > falling/2
}

func bagNotDrinking(sc *scene, d *Definition) []finding {
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		f := b.DemandFactor
		if !fresh(f) {
			return Verdict{State: Unknown}
		}
		collapsed := f.Value+crediblySD*f.SD < notDrinkingBelow
		if !collapsed && (!held || f.Value > notDrinkingBelow+d.Deadband) {
			return relief(held, "Bag %s drinks again", b.Bag)
		}
		cause, reason := model.Cause(""), took(b)
		if b.Cause == model.CauseNotDrinking {
			// That took a day or more to find, which is booked by what was believed before.
			cause, reason = b.Cause, why(b.Cause, b.Evidence)
		}
		return Verdict{State: Holds, Cause: cause, Message: model.Message{
			Headline: fmt.Sprintf("Bag %s hardly drinks: %s of what its plants should take", b.Bag, percent(f.Value)),
			Why:      sentences(reason),
			Action:   "Look at the plants and their roots today: wilting, rot, pests, salt. If you took plants out, enter the new number in the site file; young ones in their stead drink little at first.",
		}}
	})
}

func took(b *model.BagEstimate) string {
	if !fresh(b.UptakePerDay) {
		return ""
	}
	return fmt.Sprintf("They took %s over the last day", dayText(b.UptakePerDay.Value))
}
