package alerts

import (
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

const (
	channelDryAbove = 0.95 // probability: one needless look in twenty
	channelWetBelow = 0.5  // more likely fed than not
)

func channelConditions() []Definition {
	return []Definition{{
		Condition: ChannelDry, Kind: model.KindChannel, Priority: model.PriorityUrgent,
		OnDelay: 5 * time.Minute, OffDelay: time.Hour, Deadband: channelDryAbove - channelWetBelow, Unit: "probability",
		Reason: "the evidence has taken hours to gather, so that minutes bridge one evaluation; it clears when supply is likelier than not",
		Rationale: Rationale{
			Cause:       "a shut valve, a blocked inlet, a siphon that broke, a channel that leaks or tilts",
			Consequence: "all its bags dry out together",
			Action:      "bring the solution back, then wet the wicks",
			Severity:    Grave,
			Respond:     3 * time.Hour,
		},
		dated: true, plural: "are dry", judge: channelDry,
	}}
}

func channelDry(sc *scene, d *Definition) []finding {
	return sc.channels(d, func(c *model.ChannelEstimate, held bool) Verdict {
		if c.Quality != model.Fresh {
			return Verdict{State: Unknown}
		}
		if above(c.Dry, channelDryAbove, d.Deadband, held) == Clear {
			return relief(held, "Channel %s feeds its bags again", c.Channel)
		}
		n, first := sc.firstDry(c.Channel)
		v := Verdict{State: Holds, Since: c.Since, Cause: model.CauseChannelDry, Due: first, Message: model.Message{
			Headline: fmt.Sprintf("Channel %s is dry: its bags are no longer fed", c.Channel),
			Why:      sentences(together(n), c.Evidence),
			Action:   "See to the valve, the inlet, the level and the slope of the channel. When it has solution again, see that the wicks are wet.",
			Caution:  cautionElectric,
		}}
		if first != nil {
			v.Message.Headline += "; the first is dry " + sc.until(*first)
		}
		return v
	})
}

// together is what several bags say that one does not.
func together(bags int) string {
	if bags < 2 {
		return ""
	}
	return fmt.Sprintf("Its %d bags lost their supply together, which no single wick explains", bags)
}

// dry says that a channel is known to have no water.
func (sc *scene) dry(channel string) bool {
	return slices.ContainsFunc(sc.snap.Channels, func(c model.ChannelEstimate) bool {
		return c.Channel == channel && c.Dry > channelDryAbove
	})
}

// firstDry counts a channel's bags and finds when the first of them gets dry.
func (sc *scene) firstDry(channel string) (n int, first *time.Time) {
	for i := range sc.snap.Bags {
		b := &sc.snap.Bags[i]
		if b.Channel != channel {
			continue
		}
		n++
		if at := forecast(b); at != nil && (first == nil || at.Before(*first)) {
			first = at
		}
	}
	return n, first
}
