package alerts

import (
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

func channelConditions() []Definition {
	return []Definition{{
		Condition: ChannelDry, Kind: model.KindChannel, Priority: model.PriorityUrgent,
		OnDelay: 5 * time.Minute, OffDelay: time.Hour,
		Reason: "the evidence has taken hours to gather, so that minutes bridge one evaluation; it clears when the bags drink again",
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
		if !c.Dry {
			return relief(held, "Channel %s feeds its bags again", c.Channel)
		}
		first := sc.firstDry(c.Channel)
		v := Verdict{State: Holds, Since: c.Since, Cause: model.CauseChannelDry, Due: first, Message: model.Message{
			Headline: fmt.Sprintf("Channel %s is dry: its bags are no longer fed", c.Channel),
			Why:      sentences(c.Evidence),
			Action:   sc.unread(c.Reservoir) + sc.bring(c) + "When it has solution again, see that the wicks are wet. Until then water its bags by hand before they are dry.",
			Caution:  cautionElectric,
		}}
		if first != nil {
			v.Message.Headline += "; the first is dry " + sc.until(*first)
		}
		return v
	})
}

// bring says where to look for what a channel lacks.
func (sc *scene) bring(c *model.ChannelEstimate) string {
	r, _ := sc.site.ReservoirByID(c.Reservoir)
	built, _ := sc.site.ChannelByID(c.Channel)
	if r.FeedsAtTimes {
		return fmt.Sprintf("Fill it. Full it holds %s: either its bags drank that before it was filled again, and it has to be filled sooner, or it leaks or tilts. ", litres(built.Holds))
	}
	return "See to the valve, the inlet, the level and the slope of the channel. "
}

// nearEmpty is how many mm above its mark of empty a level may read in a reservoir that
// is empty: by its sensor's zero and by the mark's own error (common practice: a
// centimetre).
const nearEmpty = 10

// unread asks to look into a reservoir whose level is not known, or is next to empty:
// what is dry may be that.
func (sc *scene) unread(reservoir string) string {
	built, _ := sc.site.ReservoirByID(reservoir)
	for i := range sc.snap.Reservoirs {
		r := &sc.snap.Reservoirs[i]
		switch {
		case r.Reservoir != reservoir:
		case !fresh(r.Level):
			return fmt.Sprintf("See first whether reservoir %s holds solution, for its level is not known. ", reservoir)
		case r.Level.Value < built.Empty+nearEmpty:
			return fmt.Sprintf("See first whether reservoir %s still gives solution: it reads %.0f mm, and at %.0f mm the outlet takes no more. ", reservoir, r.Level.Value, built.Empty)
		}
	}
	return ""
}

// dry says that a channel is known to have no water.
func (sc *scene) dry(channel string) bool {
	return slices.ContainsFunc(sc.snap.Channels, func(c model.ChannelEstimate) bool {
		return c.Channel == channel && c.Dry
	})
}

// firstDry is when the first of a channel's bags gets dry; nil: it is not known.
func (sc *scene) firstDry(channel string) (first *time.Time) {
	for i := range sc.snap.Bags {
		b := &sc.snap.Bags[i]
		if b.Channel != channel {
			continue
		}
		if at := forecast(b); at != nil && (first == nil || at.Before(*first)) {
			first = at
		}
	}
	return first
}
