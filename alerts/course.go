package alerts

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

// drifting is how many standard deviations of its rate an EC must move by.
const drifting = 3

// driftAhead is how far ahead a drift is told of at least: a top-up waits for
// the next round.
const driftAhead = 72 * time.Hour

func courseConditions() []Definition {
	return []Definition{{
		Condition: ECDrift, Kind: model.KindReservoir, Priority: model.PriorityLow,
		OnDelay: 6 * time.Hour, OffDelay: 6 * time.Hour, Deadband: 0.05, Unit: "mS/cm",
		Reason: "a course is fitted to two days and more, so hours change little of it; 0.05 mS/cm is a probe's noise",
		Rationale: Rationale{
			Cause:       "plants and air that take more water than feed, or hungry ones that take more feed; a probe that drifts",
			Consequence: "the EC leaves its band at the time said",
			Action:      "check the probe, then top up weaker or stronger",
			Severity:    Moderate,
			Respond:     72 * time.Hour,
		},
		plural: "drift in EC", judge: ecDrift,
	}}
}

// ecDrift holds while the EC lies within its band and its course takes it out
// within the horizon.
func ecDrift(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		target, c := built.Target, r.ECCourse
		if target.EC <= 0 {
			return Verdict{State: Clear}
		}
		if !fresh(r.EC) {
			return Verdict{State: Unknown}
		}
		band := target.ECBand()
		if c.Cause == "" {
			return relief(held, "EC of reservoir %s drifts no more: %s", r.Reservoir, ecText(r.EC.Value))
		}
		reaches := func(deviation float64) time.Time {
			limit := target.EC + math.Copysign(deviation, c.Rate)
			return sc.now.Add(time.Duration((limit - r.EC.Value) / c.Rate * 24 * float64(time.Hour)))
		}
		at, counts := reaches(band), reaches(band)
		if held { // the deadband: it must come to lie that far within
			counts = reaches(band - math.Min(d.Deadband, band/2))
		}
		inside := math.Abs(r.EC.Value-target.EC) <= band
		if math.Abs(c.Rate) < drifting*c.SD || !inside || counts.Sub(sc.now) > max(sc.horizon, driftAhead) {
			return relief(held, "EC of reservoir %s drifts no more: %s", r.Reservoir, ecText(r.EC.Value))
		}
		return Verdict{State: Holds, Due: &at, Cause: c.Cause, Message: model.Message{
			Headline: fmt.Sprintf("EC of reservoir %s drifts by %+.2f mS/cm a day: out of its band %s", r.Reservoir, c.Rate, sc.until(at)),
			Why: sentences(fmt.Sprintf("It is %s; its band is %s to %s, and at this rate it leaves that about %s", ecText(r.EC.Value), ecText(target.EC-band), ecText(target.EC+band), sc.clock(at)),
				c.Evidence),
			Action:  "Measure with a hand meter first; if it does not agree, calibrate the probe. " + topUp(c, built.WaterEC()),
			Caution: cautionMixing,
		}}
	})
}

// topUp says how to refill against a drift.
func topUp(c model.Course, water float64) string {
	const works = "; \"wickd mix top-up\" works out how strong to come back to the target."
	switch {
	case c.Cause == model.CauseWaterOverFeed && c.Leaving < water:
		return "Then top up with plain water, since little but water leaves" + works
	case c.Cause == model.CauseWaterOverFeed:
		return "Then top up with a weaker solution: about " + ecText(c.Leaving) + ", the strength of what leaves, keeps the EC where it is" + works
	case c.Cause == model.CauseFeedOverWater:
		return "Then top up with a stronger solution: about " + ecText(c.Leaving) + ", the strength of what leaves, keeps the EC where it is" + works
	case c.Cause == model.CauseProbeDrift:
		return "Do not correct the solution before that."
	}
	return "\"wickd mix correct\" works out what to add."
}

// whyOffTarget is the likely reason why the EC lies off its target, high or
// low, and the evidence for it: what was poured in last, or else its course.
func whyOffTarget(r *model.ReservoirEstimate, high bool) (model.Cause, string) {
	if p := r.Poured; p != nil && p.Cause != "" && (p.By > 0) == high {
		return p.Cause, p.Evidence
	}
	c := r.ECCourse
	if c.Cause != "" && (c.Rate > 0) == high {
		return c.Cause, c.Evidence
	}
	return "", ""
}
