package alerts

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

const (
	// saltCredible is how surely the salt must lie above the crop's limit: what
	// plants take of it is not measured, so more certainty than two in three is
	// not to be had before harm is done.
	saltCredible = 0.65
	// saltAlong is the same of bags that are fed with one that is above its own: what
	// such plants take is one unknown of all, and a message a bag, from week to week,
	// says nothing that the first did not. Likelier than not, with a margin for the sway of
	// the estimate (assumption).
	saltAlong = 0.55
	// rootsHotDefault, °C. Roots of most vegetables grow best at 20 to 30 °C and
	// slow down between 30 and 35 °C (reviews of Cooper 1973, Root Temperature and
	// Plant Growth, and McMichael & Burke 1998, HortScience 33:947 [M]: from memory,
	// and crops differ by some 5 K either way). Dark film in the sun passes it easily.
	rootsHotDefault = 30
)

func rootConditions() []Definition {
	return []Definition{
		{
			Condition: RootsHot, Kind: model.KindBag, Priority: model.PriorityHigh,
			OnDelay: time.Hour, OffDelay: time.Hour, Deadband: 1, Unit: "K",
			Reason: "a bag of some litres follows the sun by about an hour; a passing gleam does not warm it through",
			Rationale: Rationale{
				Cause:       "sun on dark film, a hot house, a dry bag",
				Consequence: "roots stop growing and then die; rot follows",
				Action:      "shade the bag or cover it with white film",
				Severity:    Severe,
				Respond:     6 * time.Hour,
			},
			dated: true, plural: "have hot roots", judge: rootsHot,
		},
		{
			Condition: SaltBuilding, Kind: model.KindBag, Priority: model.PriorityLow,
			OnDelay: 12 * time.Hour, OffDelay: 12 * time.Hour, Deadband: 0.2, Unit: "mS/cm",
			Reason: "salt gathers over weeks; half a day keeps the estimate's own sway out",
			Rationale: Rationale{
				Cause:       "a wicking bag has no drain: what the plants do not take of the feed stays in it",
				Consequence: "roots draw less water, leaf edges burn, the crop falls off",
				Action:      "measure, then flush from the top or weaken the feed",
				Severity:    Moderate,
				Respond:     72 * time.Hour,
			},
			plural: "gather salt", judge: saltBuilding,
		},
	}
}

// usualLimit says what the limit rests on where the site file gives none.
const usualLimit = "The limit is the usual one; crops differ by some 5 °C, so set max_temperature of the bag if you know yours"

func rootsHot(sc *scene, d *Definition) []finding {
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		if !fresh(b.Temperature) {
			return Verdict{State: Unknown}
		}
		limit, rests := float64(rootsHotDefault), usualLimit
		if built, ok := sc.site.BagByID(b.Bag); ok && built.MaxTemp > 0 {
			limit, rests = built.MaxTemp, ""
		}
		if above(b.Temperature.Value, limit, d.Deadband, held) == Clear {
			return relief(held, "Bag %s is cool enough again: %.0f °C", b.Bag, b.Temperature.Value)
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: fmt.Sprintf("Bag %s is too hot at its roots: %.0f °C, limit %.0f °C", b.Bag, b.Temperature.Value, limit),
			Why:      sentences("Hot roots take up less and soon die", oxygenText(b.Temperature.Value, b.Oxygen), rests),
			Action:   "Shade the bag from the sun or cover it with white film, and open vents. Do not let it dry: water carries the heat away.",
		}}
	})
}

func saltBuilding(sc *scene, d *Definition) []finding {
	credible := sc.saltCredible()
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		s := b.Salt
		if !fresh(s.EC) {
			return Verdict{State: Unknown}
		}
		if s.Above < credible(b.Bag) && (!held || s.EC.Value < s.Limit-d.Deadband) {
			return relief(held, "Bag %s no longer gathers salt: about %s", b.Bag, ecText(s.EC.Value))
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: fmt.Sprintf("Salt builds up in bag %s: about %s, limit %s", b.Bag, ecText(s.EC.Value), ecText(s.Limit)),
			Why: sentences(fmt.Sprintf("It has no drain, so what the plants do not take of the feed stays. By the account since %s it holds %s, give or take %.1f",
				sc.clock(s.Since), ecText(s.EC.Value), s.EC.SD), sc.reaching(s)),
			Action: sentences("Press a little water out of the mix and measure its EC before you do anything; write it with the day into the site file as \"root_zone\" of the bag, and the account goes on from there",
				flushing(s), "Write the day of a flush into the site file as \"flushed\"", weakening(s)),
			Caution: cautionElectric,
		}}
	})
}

// saltCredible is how surely each bag has to be above its limit.
func (sc *scene) saltCredible() func(bag string) float64 {
	feeds := func(bag string) string {
		built, _ := sc.site.BagByID(bag)
		channel, _ := sc.site.ChannelByID(built.Channel)
		return channel.Reservoir
	}
	above := map[string]bool{}
	for _, b := range sc.snap.Bags {
		if fresh(b.Salt.EC) && b.Salt.Above >= saltCredible {
			above[feeds(b.Bag)] = true
		}
	}
	return func(bag string) float64 {
		if above[feeds(bag)] {
			return saltAlong
		}
		return saltCredible
	}
}

// reaching says how long there is, while the likeliest value is below the limit.
func (sc *scene) reaching(s model.Salt) string {
	if s.LimitAt == nil || !s.LimitAt.After(sc.now) {
		return ""
	}
	return "At today's course it reaches the limit " + sc.until(*s.LimitAt)
}

func flushing(s model.Salt) string {
	if s.Flush <= 0 {
		return "If it is above the limit, flush the bag from the top with fresh solution, catch what comes out and throw it away"
	}
	return fmt.Sprintf("If it is above the limit, flush the bag from the top with about %s of fresh solution, catch what comes out and throw it away", litres(s.Flush))
}

func weakening(s model.Salt) string {
	if s.Feed <= 0 || s.Feed >= s.EC.Value {
		return ""
	}
	return fmt.Sprintf("A feed of about %s would let it gather no more", ecText(s.Feed))
}

// oxygenText says what a temperature means for roots. Respiration doubles for
// each 10 K (common practice).
func oxygenText(celsius, oxygen float64) string {
	if oxygen <= 0 {
		return ""
	}
	return fmt.Sprintf("At %.0f °C water holds %.1f mg/L of oxygen at most, and roots use %.1f times what they do at 20 °C",
		celsius, oxygen, math.Pow(2, (celsius-20)/10))
}
