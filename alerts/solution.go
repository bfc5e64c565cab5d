package alerts

import (
	"fmt"
	"math"
	"time"

	"wickd/model"
)

// Above 26 °C water holds less than 8.2 mg/L of oxygen (EN 25814: 8.26 at
// 25 °C) while roots breathe faster; root rot follows (common practice).
const warmDefault = 26

func solutionConditions() []Definition {
	return []Definition{
		{
			Condition: ECOffTarget, Kind: model.KindReservoir, Priority: model.PriorityMedium,
			OnDelay: 30 * time.Minute, OffDelay: 30 * time.Minute, Deadband: 0.05, Unit: "mS/cm",
			Reason: "a dose takes about half an hour to mix through; 0.05 mS/cm is a probe's noise",
			Rationale: Rationale{
				Cause:       "a wrong dose; topping up with only water or only feed; plants that take more of one than the other",
				Consequence: "weak: growth slows; strong: roots cannot draw water and edges burn",
				Action:      "measure by hand, then thin with water or add feed",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			dated: true, plural: "are off their EC target", judge: ecOffTarget,
		},
		{
			Condition: PHOffTarget, Kind: model.KindReservoir, Priority: model.PriorityMedium,
			OnDelay: 30 * time.Minute, OffDelay: 30 * time.Minute, Deadband: 0.1, Unit: "pH",
			Reason: "a dose takes about half an hour to mix through; 0.1 is what a field probe resolves",
			Rationale: Rationale{
				Cause:       "hard top-up water, plants that take more nitrate or more ammonium, a wrong dose, a probe out of calibration",
				Consequence: "iron and phosphate lock up; leaves pale in a week",
				Action:      "check with fresh buffer, then correct in small steps",
				Severity:    Moderate,
				Respond:     48 * time.Hour,
			},
			dated: true, plural: "are off their pH target", judge: phOffTarget,
		},
		{
			Condition: SolutionWarm, Kind: model.KindReservoir, Priority: model.PriorityMedium,
			OnDelay: time.Hour, OffDelay: time.Hour, Deadband: 1, Unit: "K",
			Reason: "a tank of 100 L moves by less than 1 K in an hour, so an hour above is no passing gleam",
			Rationale: Rationale{
				Cause:       "sun on the reservoir or the channels, a hot house",
				Consequence: "little oxygen at the roots; root rot within days",
				Action:      "shade, insulate, top up with cool water",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			chatters: noons,
			dated:    true, plural: "are too warm", judge: solutionWarm,
		},
	}
}

func ecOffTarget(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		target, band := built.Target.EC, built.Target.ECBand()
		if target <= 0 {
			return Verdict{State: Clear}
		}
		if !fresh(r.EC) {
			return Verdict{State: Unknown}
		}
		if above(math.Abs(r.EC.Value-target), band, math.Min(d.Deadband, band/2), held) == Clear {
			return relief(held, "EC of reservoir %s is right again: %s", r.Reservoir, ecText(r.EC.Value))
		}
		cause, evidence := whyOffTarget(r, r.EC.Value > target)
		v := Verdict{State: Holds, Cause: cause, Message: model.Message{
			Headline: fmt.Sprintf("EC of reservoir %s is too low: %s, target %s", r.Reservoir, ecText(r.EC.Value), ecText(target)),
			Why:      sentences(fmt.Sprintf("The band is %s to %s. In weak solution growth slows", ecText(target-band), ecText(target+band)), evidence),
			Action:   "Measure with a hand meter first. Then add feed in small steps, stir, wait half an hour and measure again; \"wickd mix correct\" works out how much.",
			Caution:  cautionMixing,
		}}
		if r.EC.Value > target {
			v.Message.Headline = fmt.Sprintf("EC of reservoir %s is too high: %s, target %s", r.Reservoir, ecText(r.EC.Value), ecText(target))
			v.Message.Why = sentences(fmt.Sprintf("The band is %s to %s. In strong solution roots cannot draw water", ecText(target-band), ecText(target+band)), evidence)
			v.Message.Action = "Measure with a hand meter first. Then thin it with plain water" + thinning(r, built) + ", stir, wait half an hour and measure again."
			v.Message.Caution = cautionMains
		}
		return v
	})
}

// strength says of a reservoir that is to be refilled what its EC asks of the refill;
// empty: nothing.
func strength(r *model.ReservoirEstimate, built model.Reservoir) string {
	target := built.Target.EC
	if target <= 0 || !fresh(r.EC) || math.Abs(r.EC.Value-target) <= built.Target.ECBand() {
		return ""
	}
	is := fmt.Sprintf(" Its EC is %s, target %s: ", ecText(r.EC.Value), ecText(target))
	if r.EC.Value > target {
		return is + "begin with plain water" + thinning(r, built) + ", and measure."
	}
	return is + "measure after the refill, and add feed by what \"wickd mix correct\" works out."
}

// thinning says how much plain water brings the solution to its target, by the
// balance of its salt: V·(EC − target)/(target − water).
func thinning(r *model.ReservoirEstimate, built model.Reservoir) string {
	if !fresh(r.Volume) || r.Volume.Value <= 0 {
		return ""
	}
	target, water, more := built.Target.EC, built.WaterEC(), ""
	if built.Water == nil {
		more = " of ordinary tap water, less of soft,"
	}
	if target <= water {
		return ""
	}
	add := r.Volume.Value * (r.EC.Value - target) / (target - water)
	if add > r.Volume.Value { // more than there is: no reservoir has room for that
		return ", after letting out a part of it (\"wickd mix correct\" works out how much)"
	}
	return ", about " + litres(add) + more + " if there is room"
}

func phOffTarget(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		target, band := built.Target.PH, built.Target.PHBand()
		if target <= 0 {
			return Verdict{State: Clear}
		}
		if !fresh(r.PH) {
			return Verdict{State: Unknown}
		}
		if above(math.Abs(r.PH.Value-target), band, math.Min(d.Deadband, band/2), held) == Clear {
			return relief(held, "pH of reservoir %s is right again: %.1f", r.Reservoir, r.PH.Value)
		}
		cause, evidence := whyPHOff(r, r.PH.Value > target)
		v := Verdict{State: Holds, Cause: cause, Message: model.Message{
			Headline: fmt.Sprintf("pH of reservoir %s is too high: %s, target %.1f", r.Reservoir, beyond(r.PH.Value, target+band), target),
			Why:      sentences(fmt.Sprintf("The band is %.1f to %.1f. Above it iron and phosphate lock up and young leaves turn pale", target-band, target+band), evidence),
			Action:   "Check the probe in fresh buffer first. Then add a little diluted pH-down, stir, wait half an hour and measure again." + neutralising(cause),
			Caution:  cautionAcid,
		}}
		if r.PH.Value < target {
			v.Message.Headline = fmt.Sprintf("pH of reservoir %s is too low: %s, target %.1f", r.Reservoir, beyond(r.PH.Value, target-band), target)
			v.Message.Why = sentences(fmt.Sprintf("The band is %.1f to %.1f. Below it roots are harmed and calcium is not taken up", target-band, target+band), evidence)
			v.Message.Action = "Check the probe in fresh buffer first. Then add a little diluted pH-up, stir, wait half an hour and measure again."
			v.Message.Caution = cautionAlkali
		}
		return v
	})
}

// beyond is a pH with one decimal, or with two where one would set it on the
// edge that it has crossed; a hair beyond is a hundredth beyond.
func beyond(ph, edge float64) string {
	text := fmt.Sprintf("%.1f", ph)
	if text != fmt.Sprintf("%.1f", edge) {
		return text
	}
	const least = 0.01
	if math.Abs(ph-edge) < least {
		ph = edge + math.Copysign(least, ph-edge)
	}
	return fmt.Sprintf("%.2f", ph)
}

// neutralising says what stops a pH that the water raises.
func neutralising(c model.Cause) string {
	if c != model.CauseHardWater {
		return ""
	}
	return " \"wickd mix top-up\" counts the water's alkalinity and says how much acid each top-up takes."
}

// whyPHOff is what the course of the pH says of why it is high or low.
func whyPHOff(r *model.ReservoirEstimate, high bool) (model.Cause, string) {
	if c := r.PHCourse; c.Cause != "" && (c.Rate > 0) == high {
		return c.Cause, c.Evidence
	}
	return "", ""
}

func solutionWarm(sc *scene, d *Definition) []finding {
	return sc.reservoirs(d, func(r *model.ReservoirEstimate, built model.Reservoir, held bool) Verdict {
		if !fresh(r.Temperature) {
			return Verdict{State: Unknown}
		}
		limit := built.MaxTemp
		if limit <= 0 {
			limit = warmDefault
		}
		if above(r.Temperature.Value, limit, d.Deadband, held) == Clear {
			return relief(held, "Reservoir %s is cool enough again: %.1f °C", r.Reservoir, r.Temperature.Value)
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: fmt.Sprintf("Reservoir %s is too warm: %.1f °C, limit %.0f °C", r.Reservoir, r.Temperature.Value, limit),
			Why:      sentences("Warm solution holds little oxygen while roots need more of it; root rot follows within days", oxygenText(r.Temperature.Value, r.Oxygen)),
			Action:   "Shade the reservoir and the channels from the sun, insulate them, top up with cool water.",
		}}
	})
}
