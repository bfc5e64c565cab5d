package alerts

import "wickd/model"

// explain says the cause of a bag's or a probe's trouble in a sentence; empty:
// nothing is known of it.
func explain(c model.Cause) string {
	switch c {
	case model.CauseWickLostContact:
		return "Most likely the wick has lost contact with the solution or the mix."
	case model.CauseWickClogging:
		return "Most likely the wick is clogging, with salt or with roots."
	case model.CauseChannelDry:
		return "Most likely its channel carries no solution."
	case model.CauseDemandHigh:
		return "The plants drink more than the wicks can lift."
	case model.CauseNotDrinking:
		return "Most likely the plants have stopped drinking."
	case model.CauseProbeStuck:
		return "Most likely the probe sends the same value whatever happens."
	case model.CauseProbeLostContact:
		return "Most likely the probe has lost contact with the mix."
	case model.CauseProbeSilent:
		return "Its probe is silent."
	}
	return ""
}

// why joins a cause with the evidence for it. An undecided cause says so, and
// the evidence names what it lies between.
func why(c model.Cause, evidence string) string {
	if c == model.CauseUndecided && evidence == "" {
		return "The cause cannot be told yet."
	}
	return sentences(explain(c), evidence)
}

// remedy says what to do about a bag's supply.
func remedy(c model.Cause) string {
	switch c {
	case model.CauseWickClogging:
		return "Rinse the wicks in clean water, or change them."
	case model.CauseDemandHigh:
		return "Shade the bag, raise the level in the channel or add a wick."
	case model.CauseChannelDry:
		return "See that solution stands in the channel: valve, inlet, level."
	}
	return "See that the wicks stand in the solution and are pressed into the mix; wet them through before you put them back."
}
