package alerts

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

const (
	// doubtShare: a limit counts as crossed when the estimate lies beyond it by
	// this many standard deviations, which is three chances in four (the
	// normal quantile of 0.75).
	doubtShare = 0.67
	// doubtMost, m³/m³: however uncertain, an estimate this far beyond the limit
	// raises. A dry bag is worse than a needless look.
	doubtMost = 0.02
	// surely: a forecast whose 95 % bound lies within this many horizons is
	// certain enough; one with no bound counts only when it is near.
	surely = 2
	// daily: a bag that was dry and is forecast to be so again within a day has
	// not been helped; the night has filled it.
	daily = 24 * time.Hour
)

func moistureConditions() []Definition {
	return []Definition{
		{
			Condition: BagDry, Kind: model.KindBag, Priority: model.PriorityUrgent,
			OffDelay: 30 * time.Minute, Deadband: 0.05, Unit: "m³/m³",
			Reason: "the filter behind the estimate has already bridged odd readings, so that no delay is needed; a bag that dries every noon is one alert, not one a day: it stands until 5 % by volume above the limit and no dryness is forecast within a day",
			Rationale: Rationale{
				Cause:       "the wick lost contact or clogged, the channel ran dry, a hot day took more than the wicks lift",
				Consequence: "the plants wilt within hours on a bright day",
				Action:      "water by hand, then put the supply right",
				Severity:    Severe,
				Respond:     3 * time.Hour,
			},
			dated: true, plural: "are dry", judge: bagDry,
		},
		{
			Condition: BagDrying, Kind: model.KindBag, Priority: model.PriorityMedium,
			OnDelay: time.Hour, OffDelay: 2 * time.Hour, Deadband: 12, Unit: "h",
			Reason: "the forecast swings by some hours between noon and night",
			Rationale: Rationale{
				Cause:       "supply is below what the plants drink",
				Consequence: "the bag is dry at the time said",
				Action:      "see to the wicks and the channel before then",
				Severity:    Moderate,
				Respond:     12 * time.Hour,
			},
			chatters: noons,
			plural:   "are drying out", judge: bagDrying,
		},
		{
			Condition: BagWaterlogged, Kind: model.KindBag, Priority: model.PriorityMedium,
			OnDelay: 12 * time.Hour, OffDelay: 2 * time.Hour, Deadband: 0.02, Unit: "m³/m³",
			Reason: "roots bear half a day without air after watering by hand; standing wet for longer harms them (common practice)",
			Rationale: Rationale{
				Cause:       "the channel stands too high, the bag sags into it, rain gets in, or the mix is too fine",
				Consequence: "roots lack air; root rot within days",
				Action:      "lower the level or raise the bag",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			dated: true, plural: "are waterlogged", judge: bagWaterlogged,
		},
	}
}

// doubt is how far beyond a limit an estimate must lie to be believed, m³/m³.
func doubt(m model.Measured) float64 { return math.Min(doubtShare*m.SD, doubtMost) }

// dry reports whether a bag is credibly below its dry limit.
func dry(b *model.BagEstimate) bool {
	return b.DryLimit > 0 && b.WaterContent.Value < b.DryLimit-doubt(b.WaterContent)
}

func bagDry(sc *scene, d *Definition) []finding {
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		switch {
		case b.DryLimit <= 0:
			return Verdict{State: Clear}
		case !fresh(b.WaterContent):
			return Verdict{State: Unknown}
		case !dry(b) && (!held || b.WaterContent.Value > b.DryLimit+d.Deadband && !sc.readsDry(b)):
			// A forecast of a time that is past was made before it was watered.
			if at := forecast(b); held && at != nil && at.After(sc.now) && at.Sub(sc.now) < daily && !sc.emptied(b, *at) {
				return sc.dryAgain(b, *at)
			}
			return relief(held, "Bag %s has water again: %s by volume", b.Bag, percent(b.WaterContent.Value))
		}
		return Verdict{State: Holds, Due: &b.Time, Cause: b.Cause, Message: model.Message{
			Headline: fmt.Sprintf("Bag %s is dry: %s water, it needs %s%s", b.Bag, percent(b.WaterContent.Value), percent(b.DryLimit), sc.suffers(b)),
			Why:      sentences(drinks(b), why(b.Cause, b.Evidence)),
			Action:   sentences(sc.watering(b), capital("then "+lower(remedy(b.Cause)))),
		}}
	})
}

// dryAgain is said of a bag that fills by night and that the coming day takes below
// its limit again: for whoever answers, it is the one trouble all along.
func (sc *scene) dryAgain(b *model.BagEstimate, at time.Time) Verdict {
	return Verdict{State: Holds, Due: &at, Cause: b.Cause, Message: model.Message{
		Headline: fmt.Sprintf("Bag %s holds %s water, and gets dry again %s, %s",
			b.Bag, percent(b.WaterContent.Value), sc.until(at), sc.clock(at)),
		Why: sentences(fmt.Sprintf("At %s it is dry", percent(b.DryLimit)),
			why(b.Cause, b.Evidence), sc.between("it gets dry", &b.Dry)),
		Action: remedy(b.Cause),
	}}
}

// unharmed is the share of what they ask for from which on plants do not go short: what
// they ask for is not known better.
const unharmed = 0.9

// served is the share of what its plants asked for over the last day that they took;
// 0: it is not known.
func served(b *model.BagEstimate) float64 {
	if b.UptakePerDay.Quality == model.Unknown || b.UptakePerDay.Value <= 0 || b.DemandPerDay <= 0 {
		return 0
	}
	return math.Min(1, b.UptakePerDay.Value/b.DemandPerDay)
}

// suffers says what dryness means for a bag's plants: with nothing coming in it is a
// matter of hours, and where the wicks only cannot keep up they may drink on for long.
func (sc *scene) suffers(b *model.BagEstimate) string {
	if sc.held(ReservoirExhausted, reservoirOf(sc.site, model.BagSubject(b.Bag))) {
		return ". Plants wilt within hours"
	}
	switch b.Cause {
	case model.CauseWickLostContact, model.CauseChannelDry, model.CauseUndecided:
		return ". Plants wilt within hours"
	}
	if served(b) >= unharmed {
		return ". So far its plants do not go short"
	}
	return ". Its plants go short in bright hours"
}

// drinks says how fast a bag is being emptied, if that is known.
func drinks(b *model.BagEstimate) string {
	if b.UptakePerDay.Quality == model.Unknown || b.UptakePerDay.Value <= 0 {
		return ""
	}
	took := fmt.Sprintf("Over the last day its plants took %s", litres(b.UptakePerDay.Value))
	if share := served(b); share > 0 {
		took += fmt.Sprintf(", %s of what they asked for", percent(share))
	}
	return took
}

// watering says how much to give by hand: to the dry limit and 10 % by volume
// beyond it, about a day's reserve, which no mix holds in excess.
func (sc *scene) watering(b *model.BagEstimate) string {
	const reserve = 0.10
	goal := b.DryLimit + reserve
	if b.WetLimit > b.DryLimit {
		goal = math.Min(goal, b.WetLimit)
	}
	volume := sc.litresPer(b.Bag) * (goal - b.WaterContent.Value)
	if volume <= 0 {
		return "Water it by hand now, slowly, with nutrient solution"
	}
	return "Water it by hand now, slowly, with about " + litres(math.Max(volume, 0.1)) + " of nutrient solution"
}

// readsDry reports whether the probe itself, with nothing against it, still
// reads below the limit: an estimate that has turned against it may not call off
// a bag that dies if the estimate is wrong.
func (sc *scene) readsDry(b *model.BagEstimate) bool {
	id := model.BagSubject(b.Bag).Sensor(model.Moisture)
	for i := range sc.snap.Sensors {
		s := &sc.snap.Sensors[i]
		if s.Sensor == id {
			return !s.Silent && !s.Stuck && !s.Implausible && !s.LastGood.IsZero() && s.Value < b.DryLimit
		}
	}
	return false
}

func bagDrying(sc *scene, d *Definition) []finding {
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		at := forecast(b)
		switch {
		case !fresh(b.WaterContent):
			return Verdict{State: Unknown}
		case dry(b) && !held:
			return Verdict{State: Clear} // bag-dry says it
		case !held && at != nil && sc.emptied(b, *at):
			return Verdict{State: Clear} // reservoir-runout says it
		case !dry(b) && (at == nil || !sc.near(b, *at, d.Deadband, held)):
			return relief(held, "Bag %s is no longer drying out: %s by volume", b.Bag, percent(b.WaterContent.Value))
		}
		if at == nil {
			at = &b.Time
		}
		return Verdict{State: Holds, Due: at, Cause: b.Cause, Message: model.Message{
			Headline: fmt.Sprintf("Bag %s is drying out: dry %s, %s", b.Bag, sc.until(*at), sc.clock(*at)),
			Why:      sentences(holds(b), why(b.Cause, b.Evidence), sc.between("it gets dry", &b.Dry)),
			Action:   remedy(b.Cause),
		}}
	})
}

// holds says how far a bag is from dry.
func holds(b *model.BagEstimate) string {
	return fmt.Sprintf("It holds %s by volume; at %s it is dry", percent(b.WaterContent.Value), percent(b.DryLimit))
}

// forecast is the median time at which a bag gets dry.
func forecast(b *model.BagEstimate) *time.Time {
	if b.Dry.P50 != nil {
		return b.Dry.P50
	}
	return b.DryAt
}

// emptied reports whether the reservoir of a bag is forecast to be empty by a time,
// and told of: that is one trouble of all its bags. One that nobody reads may have been
// filled since it was said to be empty.
func (sc *scene) emptied(b *model.BagEstimate, by time.Time) bool {
	tank := reservoirOf(sc.site, model.BagSubject(b.Bag))
	for i := range sc.snap.Reservoirs {
		r := &sc.snap.Reservoirs[i]
		if model.ReservoirSubject(r.Reservoir) == tank {
			at := median(r.EmptyAt)
			return at != nil && !at.After(by) && (fresh(r.Level) || at.After(sc.now)) && sc.held(ReservoirRunout, tank)
		}
	}
	return false
}

// near reports whether a forecast is close and sure enough to tell.
func (sc *scene) near(b *model.BagEstimate, at time.Time, deadband float64, held bool) bool {
	hours := at.Sub(sc.now).Hours()
	if below(hours, sc.horizon.Hours(), deadband, held) == Clear {
		return false
	}
	if held || b.Dry.P50 == nil || hours <= sc.horizon.Hours()/4 {
		return true
	}
	return b.Dry.P95 != nil && b.Dry.P95.Sub(sc.now) <= surely*sc.horizon
}

func bagWaterlogged(sc *scene, d *Definition) []finding {
	return sc.bags(d, func(b *model.BagEstimate, held bool) Verdict {
		limit := b.WetLimit
		switch {
		case limit <= 0:
			return Verdict{State: Clear}
		case !fresh(b.WaterContent):
			return Verdict{State: Unknown}
		}
		if !held {
			limit += doubt(b.WaterContent)
		}
		if above(b.WaterContent.Value, limit, d.Deadband, held) == Clear {
			return relief(held, "Bag %s has air at its roots again: %s water by volume", b.Bag, percent(b.WaterContent.Value))
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: fmt.Sprintf("Bag %s is waterlogged: %s water leaves the roots too little air", b.Bag, percent(b.WaterContent.Value)),
			Why:      sentences(fmt.Sprintf("Above %s by volume its air space is below the limit; roots rot within days", percent(b.WetLimit)), b.Evidence),
			Action:   "Lower the level in the channel or raise the bag, see that it does not sag into the channel and that no rain gets in.",
		}}
	})
}
