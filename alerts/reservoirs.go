package alerts

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

const (
	// exhaustedMargin, mm: what floats, pressure and ultrasonic sensors resolve.
	// At "empty" the outlet takes no more, so the level may stop a hair above it.
	exhaustedMargin = 2
	// belowEmpty, mm: a level that stands farther below the mark than it may stop
	// above it goes on falling, so that the mark is not where the outlet ends.
	belowEmpty = 3
	// leakFloor, L/d, and leakShare of the draw: below either it is not worth a
	// walk. A drip a second is about 4 L/d (20 drops to the mL, common practice),
	// so that one in sixteen seconds is still told where little is drunk.
	leakFloor = 0.25
	leakShare = 0.06
)

func reservoirConditions() []Definition {
	return []Definition{
		{
			Condition: ReservoirExhausted, Kind: model.KindReservoir, Priority: model.PriorityUrgent,
			OnDelay: 5 * time.Minute, OffDelay: 10 * time.Minute, Deadband: 10, Unit: "mm",
			Reason: "waves from a refill last minutes; 10 mm is above them and far below a refill",
			Rationale: Rationale{
				Cause:       "it was not refilled, or it leaks",
				Consequence: "no channel is fed; the bags live on what they hold",
				Action:      "fill it now",
				Severity:    Grave,
				Respond:     6 * time.Hour,
			},
			dated: true, plural: "are empty", judge: reservoirExhausted,
		},
		{
			Condition: ReservoirRunout, Kind: model.KindReservoir, Priority: model.PriorityHigh,
			OnDelay: time.Hour, OffDelay: 2 * time.Hour, Deadband: 6, Unit: "h",
			Reason: "the forecast moves by some hours from noon to night",
			Rationale: Rationale{
				Cause:       "the plants draw it down, hot days faster; what may leak is counted too",
				Consequence: "the channels run dry at the time said",
				Action:      "refill before then",
				Severity:    Grave,
				Respond:     24 * time.Hour,
			},
			plural: "will soon be empty", judge: reservoirRunout,
		},
		{
			Condition: ReservoirLow, Kind: model.KindReservoir, Priority: model.PriorityMedium,
			OnDelay: 30 * time.Minute, OffDelay: 30 * time.Minute, Deadband: 10, Unit: "mm",
			Reason: "level noise is a few mm; a refill is many times 10 mm",
			Rationale: Rationale{
				Cause:       "the level is below the mark at which a refill is due",
				Consequence: "it runs out if it is not refilled",
				Action:      "refill it on the next round",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			dated: true, plural: "are low", judge: reservoirLow,
		},
		{
			Condition: Leak, Kind: model.KindReservoir, Priority: model.PriorityHigh,
			OnDelay: time.Hour, OffDelay: 6 * time.Hour, Deadband: 0.125, Unit: "L/d",
			Reason: "an hour keeps a hand that scoops solution from being a leak; half the least floor shows that it stopped",
			Rationale: Rationale{
				Cause:       "a fitting, a liner or a channel leaks, or somebody takes solution",
				Consequence: "the reservoir runs out early and the floor is wet",
				Action:      "look for wet places; tighten or seal",
				Severity:    Severe,
				Respond:     12 * time.Hour,
			},
			dated: true, plural: "leak", judge: leak,
		},
	}
}

func reservoirExhausted(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		if !fresh(r.Level) {
			return Verdict{State: Unknown}
		}
		if below(r.Level.Value, built.Empty+exhaustedMargin, d.Deadband, held) == Clear {
			return relief(held, "Reservoir %s has solution again: %s", r.Reservoir, litres(r.Volume.Value))
		}
		ends, live := "its channels are not fed", "The bags live on what they hold: hours on a bright day"
		if built.FeedsAtTimes {
			ends, live = "its channels cannot be filled again", "The bags live on what stands in the channels, then on what they hold: hours on a bright day"
		}
		v := Verdict{State: Holds, Due: &r.Time, Cause: model.CauseReservoirEmpty, Message: model.Message{
			Headline: fmt.Sprintf("Reservoir %s is empty: %s", r.Reservoir, ends),
			Why: sentences(fmt.Sprintf("The level is %.0f mm; at %.0f mm the outlet takes no more", r.Level.Value, built.Empty),
				live, losing(r)),
			Action:  "Fill the reservoir now. Then see that solution stands in every channel and that the wicks are wet." + mendFirst(r),
			Caution: cautionMains,
		}}
		if under := built.Empty - r.Level.Value; under > belowEmpty {
			fellOn(&v.Message, r, under)
		}
		return v
	})
}

// fellOn words it for a level below the mark at which, by the site file, the outlet
// takes no more: a mark set too high, a leak, or a first reading in another unit.
func fellOn(m *model.Message, r *model.ReservoirEstimate, under float64) {
	m.Headline = fmt.Sprintf("Reservoir %s is %.0f mm below its mark of empty and nearly used up", r.Reservoir, under)
	m.Why = sentences(fmt.Sprintf("The level is %.0f mm, %s left", r.Level.Value, litres(r.Volume.Value)),
		"By the site file the outlet takes no more there: either it lies lower, or the reservoir leaks below it, or the level comes in another unit", losing(r))
	m.Action += " If no floor is wet, see at which level the outlet takes no more, and set the reservoir's empty to that."
}

func reservoirRunout(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		if !fresh(r.Level) {
			return unseenRunout(sc, r, held)
		}
		if r.EmptyAt == nil || r.EmptyAt.P50 == nil {
			return relief(held, "Reservoir %s is no longer about to run empty: it holds %s", r.Reservoir, litres(r.Volume.Value))
		}
		at, moves := *r.EmptyAt.P50, d.Deadband
		if built.FeedsAtTimes {
			moves = math.Max(moves, max(24*time.Hour, r.FilledEvery).Hours()) // from one filling to the next but one
		}
		if below(at.Sub(sc.now).Hours(), sc.horizon.Hours(), moves, held) == Clear {
			return relief(held, "Reservoir %s is no longer about to run empty: it holds %s", r.Reservoir, litres(r.Volume.Value))
		}
		return Verdict{State: Holds, Due: &at, Soon: drains(sc, r), Message: model.Message{
			Headline: fmt.Sprintf("Reservoir %s will be empty %s, %s", r.Reservoir, sc.until(at), sc.clock(at)),
			Why: sentences(fmt.Sprintf("It holds %s%s%s", litres(r.Volume.Value), usable(r), gives(r, " and supplies %s")),
				sc.between("it runs empty", r.EmptyAt), sc.reckoned(r, built, at), sc.outlasts(r, at), losing(r)),
			Action:  "Refill it before then." + valve(built) + strength(r, built) + mendFirst(r),
			Caution: cautionMains,
		}}
	})
}

// reckoned says what the forecast counts that the figures beside it do not show: what
// may leak, and that a day's hours differ. Empty where dividing them gives about the
// same time.
func (sc *scene) reckoned(r *model.ReservoirEstimate, built model.Reservoir, empty time.Time) string {
	const hours, share = 3, 0.1 // by which a forecast is off anyhow
	text := ""
	if u := r.Unexplained; !leaking(r) && fresh(u) && u.Value > worthAWalk(r) {
		text = fmt.Sprintf("the forecast counts about %s that no bag drinks, which may be a leak", rateText(u.Value))
	}
	if d := r.DrawPerDay; d.Quality != model.Unknown && d.Value > 0 && r.Usable > 0 && !built.FeedsAtTimes {
		divided, left := 24*r.Usable/d.Value, empty.Sub(sc.now).Hours()
		if math.Abs(divided-left) > math.Max(hours, share*left) {
			if text == "" {
				text = "the forecast"
			} else {
				text += ", and"
			}
			text += " goes by the hour of the day and the days before, not by the last day's draw alone"
		}
	}
	return text
}

// outlasts says how long the bags of a reservoir live on what they hold once it is
// empty; empty: longer than anyone can tell.
func (sc *scene) outlasts(r *model.ReservoirEstimate, empty time.Time) string {
	var first *model.BagEstimate
	for i := range sc.snap.Bags {
		b := &sc.snap.Bags[i]
		if reservoirOf(sc.site, model.BagSubject(b.Bag)) != model.ReservoirSubject(r.Reservoir) {
			continue
		}
		if at := forecast(b); at != nil && at.After(sc.now) && !dry(b) && !at.Before(empty) && (first == nil || at.Before(*forecast(first))) {
			first = b
		}
	}
	if first == nil {
		return ""
	}
	return fmt.Sprintf("Its bags then live on what they hold: the first, %s, is dry %s", first.Bag, sc.clock(*forecast(first)))
}

// unseenRunout is for a reservoir whose level nobody reads or believes any more: plants go on
// drinking, and by what they drank until then it empties. It never ends an alert,
// for somebody may have filled it.
func unseenRunout(sc *scene, r *model.ReservoirEstimate, held bool) Verdict {
	at := median(r.EmptyAt)
	if held || r.Level.Quality != model.Stale || at == nil || at.Sub(sc.now) > sc.horizon {
		return Verdict{State: Unknown}
	}
	return Verdict{State: Holds, Due: at, Message: model.Message{
		Headline: fmt.Sprintf("Reservoir %s may be empty %s, %s: its level is not known", r.Reservoir, sc.until(*at), sc.clock(*at)),
		Why: sentences(fmt.Sprintf("The last level that could be used came %s ago. By what its bags drank until then it holds %s, give or take %s", length(r.Level.Age), litres(r.Volume.Value), litres(math.Max(0.1, r.Volume.SD))),
			sc.between("it runs empty", r.EmptyAt)),
		Action:  "Look into it, refill it if it is low, and see to its level sensor.",
		Caution: cautionMains,
	}}
}

// gives says what a reservoir gave over a day; empty while it is not known for a
// day yet.
func gives(r *model.ReservoirEstimate, format string) string {
	if r.DrawPerDay.Quality == model.Unknown {
		return ""
	}
	return fmt.Sprintf(format, dayText(r.DrawPerDay.Value))
}

// usable is what of the volume can be drawn, where that is less.
func usable(r *model.ReservoirEstimate) string {
	if r.Usable <= 0 || r.Usable >= r.Volume.Value {
		return ""
	}
	return fmt.Sprintf(" (%s of it above the outlet)", litres(r.Usable))
}

// between says how sure the forecast of a moment is: when it gets dry, or runs empty.
func (sc *scene) between(it string, q *model.Quantiles) string {
	if q.P05 == nil || q.P95 == nil {
		return ""
	}
	return fmt.Sprintf("Nine times in ten %s some time between %s and %s", it, sc.clock(*q.P05), sc.clock(*q.P95))
}

func reservoirLow(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		if built.Low <= 0 {
			return Verdict{State: Clear}
		}
		if !fresh(r.Level) {
			return Verdict{State: Unknown}
		}
		if below(r.Level.Value, built.Low, d.Deadband, held) == Clear {
			return relief(held, "Reservoir %s is above its mark again: %s", r.Reservoir, litres(r.Volume.Value))
		}
		v := Verdict{State: Holds, Message: model.Message{
			Headline: fmt.Sprintf("Reservoir %s is low: %s left%s", r.Reservoir, litres(r.Volume.Value), usable(r)),
			Why: sentences(fmt.Sprintf("The level is %.0f mm, below its mark of %.0f mm", r.Level.Value, built.Low),
				gives(r, "It supplies %s"), losing(r)),
			Action:  "Refill it on your next round." + valve(built) + strength(r, built) + mendFirst(r),
			Caution: cautionMains,
		}}
		if built.FloatValve {
			v.Message.Headline = fmt.Sprintf("The float valve of reservoir %s does not fill it: %s left%s", r.Reservoir, litres(r.Volume.Value), usable(r))
		}
		if r.EmptyAt != nil && r.EmptyAt.P50 != nil {
			v.Due = r.EmptyAt.P50
			v.Message.Headline += ", empty " + sc.until(*v.Due)
		}
		return v
	})
}

func leak(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		u := r.Unexplained
		if !fresh(u) || !fresh(r.Level) {
			return Verdict{State: Unknown}
		}
		// A leak that stands needs no second proof, only that it has not stopped: one that
		// is smaller than what is not known of it may have.
		credible := r.Cause == model.CauseLeak || held && u.Value > u.SD
		if !credible || above(u.Value, worthAWalk(r), d.Deadband, held) == Clear {
			return relief(held, "Reservoir %s no longer loses solution", r.Reservoir)
		}
		return Verdict{State: Holds, Cause: model.CauseLeak, Due: median(r.EmptyAt), Soon: drains(sc, r), Message: model.Message{
			Headline: fmt.Sprintf("Reservoir %s loses about %s that no bag drinks%s", r.Reservoir, rateText(u.Value), sc.emptyBy(r.EmptyAt)),
			Why: sentences(fmt.Sprintf("Now %s leave, give or take %s, that bags and evaporation do not explain",
				rateText(u.Value), giveOrTake(u)), r.Evidence,
				gives(r, "Over the last day it supplied %s in all")),
			Action:  "Look for wet places under the reservoir, its fittings and its channels. Was solution taken by hand? Then this clears by itself." + fills(r, built) + covered(built),
			Caution: cautionElectric,
		}}
	})
}

// fills is for a fall that somebody who fills the channels makes, where the site file has
// them fed all along.
func fills(r *model.ReservoirEstimate, built model.Reservoir) string {
	if built.FeedsAtTimes || r.Unexplained.Value < fastest {
		return ""
	}
	return " Were its channels filled from it, by hand or by a timer? Then give it feeds_at_times: true in the site file."
}

// covered is for a reservoir of which the site file says that no air reaches it.
func covered(built model.Reservoir) string {
	if built.Open > 0 {
		return ""
	}
	return " If it or its channels stand open, cover them, or write their surface into the site file as the reservoir's \"open\"."
}

// giveOrTake is how sure a rate, L/d, is, in the unit in which it is told.
func giveOrTake(u model.Measured) string {
	if u.Value >= fastest {
		return fmt.Sprintf("%.0f", math.Max(1, u.SD/24))
	}
	return fmt.Sprintf("%.1f", math.Max(0.1, u.SD))
}

// worthAWalk is the leak, L/d, from which on it is told.
func worthAWalk(r *model.ReservoirEstimate) float64 {
	return math.Max(leakFloor, leakShare*r.DrawPerDay.Value)
}

// leaking says that a leak is known that is worth a walk: whoever comes to fill
// the reservoir should hear of it then, not only when it began.
func leaking(r *model.ReservoirEstimate) bool {
	return r.Cause == model.CauseLeak && fresh(r.Unexplained) && r.Unexplained.Value > worthAWalk(r)
}

// drains says that a leak empties the reservoir within hours: then an alert does not
// wait to see whether it ends by itself.
func drains(sc *scene, r *model.ReservoirEstimate) bool {
	const hours = 4 * time.Hour
	at := median(r.EmptyAt)
	return leaking(r) && at != nil && at.Sub(sc.now) < hours
}

func losing(r *model.ReservoirEstimate) string {
	if !leaking(r) {
		return ""
	}
	return fmt.Sprintf("It also leaks: %s leave that no bag drinks", rateText(r.Unexplained.Value))
}

func mendFirst(r *model.ReservoirEstimate) string {
	if !leaking(r) {
		return ""
	}
	return " Look for the leak too: what you pour in runs out through it."
}

// valve is what to see to where a float valve ought to have filled a reservoir.
func valve(built model.Reservoir) string {
	if !built.FloatValve {
		return ""
	}
	return " See to the float valve, its strainer and its supply."
}

func median(q *model.Quantiles) *time.Time {
	if q == nil {
		return nil
	}
	return q.P50
}

func (sc *scene) emptyBy(q *model.Quantiles) string {
	if at := median(q); at != nil {
		return "; empty " + sc.until(*at)
	}
	return ""
}
