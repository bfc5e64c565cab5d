package estimate

import (
	"fmt"
	"math"

	"wickd/model"
)

// explain names what the diagnosis favours for a bag.
func (b *bag) explain(out *model.BagEstimate) {
	health := math.Exp(b.Roll.X[iHealth])
	switch {
	case b.Cut:
		out.Cause, out.CauseSince = model.CauseChannelDry, b.CutFrom
		out.Evidence = "this bag and the others on its channel stopped getting water at about the same time"
	case b.Cause == model.CauseWickLostContact:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = "the water content falls as it would if the wicks lifted next to nothing"
		if b.source.readable(b.physics.Channel.ID, b) {
			out.Evidence += ", while the other bags on the channel are fed"
		} else {
			out.Evidence += "; no other probe on its channel tells whether that holds solution: look"
		}
	case b.Cause == model.CauseWickClogging:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = "the wicks lift less from day to day"
	case b.Cause == model.CauseUndecided:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = b.undecided()
	case b.Cause == model.CauseNotDrinking:
		out.Cause, out.CauseSince = b.Cause, b.Since
		out.Evidence = "the water content no longer falls by day as it did before"
	case health < failing*b.usualHealth():
		out.Cause = model.CauseWickClogging
		out.Evidence = fmt.Sprintf("the wicks lift %.0f %% of what they should", 100*health/b.usualHealth())
	case out.DemandPerDay > out.SupplyAtLimit && out.DemandPerDay > 0:
		out.Cause = model.CauseDemandHigh
		out.Evidence = fmt.Sprintf("the plants ask for %.2f L a day, the wicks can lift %.2f L at the dry limit", out.DemandPerDay, out.SupplyAtLimit)
	}
}

// favoured is what the diagnosis favours of what decides how long a bag lasts.
func (b *bag) favoured() model.Cause {
	if b.Cut {
		return model.CauseChannelDry
	}
	return b.Cause
}

// undecided names the explanations that are about as good as each other, and
// what would decide between them.
func (b *bag) undecided() string {
	if b.source.bagsOn(b.physics.Channel.ID) == 1 {
		return "cannot tell yet between a wick out of contact and a dry channel, for no other bag lies on it: look whether solution stands in the channel"
	}
	return "cannot tell yet between wicks that lost contact and wicks that clog: look whether they still reach from the solution into the mix; if they do, they clog"
}

// usualHealth is the wick health of the house's sound bags: what they have in
// common is how its wicks and mix are, and no wick's fault.
func (b *bag) usualHealth() float64 { return math.Exp(math.Min(0, b.source.Wicks)) }

// failing is the wick health, of the usual, below which a bag that nothing else
// explains has ageing wicks.
const failing = 0.5

// blameProbe marks a probe whose readings the model cannot believe.
func (b *bag) blameProbe(health map[model.Subject]*model.SensorHealth) {
	s := b.physics.Bag.Moisture
	if s == nil || !b.Lost {
		return
	}
	if h := health[s.ID]; h != nil {
		h.Implausible, h.Since = true, b.LostFrom
		h.Cause, h.Evidence = b.blame(h.Value)
	}
}

// slip is by how much the ratio of two readings may miss a hundred and still be that
// of a share to a percentage: what the bag drank meanwhile, and the noise.
const slip = 1.4

// blame says what is wrong with a probe that reads y, m³/m³.
func (b *bag) blame(y float64) (model.Cause, string) {
	const look = "look at its unit and calibration in the site file"
	switch {
	case y > b.physics.Saturated+overfull:
		return "", fmt.Sprintf("it reads %.3g %%, and this mix holds at most %.0f %%: %s", 100*y, 100*b.physics.Saturated, look)
	case b.Readings == 0 && b.outside(y):
		return "", fmt.Sprintf("it reads %.3g %%, and this mix never holds less than %.0f %%: see that the probe is in the mix, and %s; a share from 0 to 1 is no percentage", 100*y, 100*b.residual(), look)
	case math.Abs(math.Log(b.LastY/(100*b.LostY))) < math.Log(slip):
		return "", fmt.Sprintf("it reads a hundredth of what it did, %.2g %% after %.0f %%: it now sends a share from 0 to 1 where a percentage is expected; look at what the sensor sends, and %s", 100*b.LostY, 100*b.LastY, look)
	case b.Readings == 0:
		return "", fmt.Sprintf("it began with %.3g %%, which no such mix holds, and what came since is not trusted yet: %s", 100*b.LostY, look)
	}
	return model.CauseProbeLostContact, fmt.Sprintf("it fell from %.0f %% to %.0f %% at once, which no plant can drink", 100*b.LastY, 100*b.LostY)
}
