package alerts

import (
	"time"

	"wickd/model"
)

// suppression says that one condition, while it stands, explains others below
// it, so that a person is told of the cause alone.
type suppression struct {
	cause   model.Condition
	effects []model.Condition
	// linger is how long the effects take to go once the cause is gone.
	linger time.Duration
	// lead is by how much an effect may have begun before its cause was known to; what
	// began earlier has a cause of its own. Zero: it may have begun at any time, and
	// the cause is the better word for it.
	lead time.Duration
}

// rewetting is how long bags take to fill again once their channel is fed: a
// wick that lifts some litres a day makes good a litre in half a day. A bag
// that is not well by then has a trouble of its own, such as a wick that did
// not start again.
const rewetting = 12 * time.Hour

// supplyLead covers that a level or a bag tells of a lost supply some hours before
// the reservoir or the channel is known to be without solution (assumption).
const supplyLead = 6 * time.Hour

func suppressions() []suppression {
	bags := []model.Condition{WickFailing, BagNotDrinking, BagDry, BagDrying}
	return []suppression{
		{cause: JournalFailing, effects: []model.Condition{DiskFilling}, linger: time.Hour},
		{cause: BrokerLost, effects: []model.Condition{SensorsLost, SensorSilent}, linger: 15 * time.Minute},
		{cause: SensorsLost, effects: []model.Condition{SensorSilent}, linger: 15 * time.Minute},
		{cause: ReservoirExhausted, effects: []model.Condition{ReservoirRunout, ReservoirLow}},
		{cause: ReservoirExhausted, effects: append([]model.Condition{ChannelDry}, bags...), linger: rewetting, lead: supplyLead},
		{cause: ECOffTarget, effects: []model.Condition{ECDrift}},
		{cause: ReservoirRunout, effects: []model.Condition{ReservoirLow}},
		{cause: ChannelDry, effects: bags, linger: rewetting, lead: supplyLead},
		{cause: WickFailing, effects: []model.Condition{BagDrying, BagNotDrinking}, linger: rewetting},
		{cause: BagDry, effects: []model.Condition{BagDrying, BagNotDrinking}, linger: rewetting},
	}
}

// subjectAbove is the subject of condition c that stands over subject s: the bag's
// own channel or reservoir, the broker over all sensors. Empty: none does.
func subjectAbove(site *model.Site, c model.Condition, s model.Subject) model.Subject {
	switch c {
	case JournalFailing:
		return model.DaemonSubject("journal")
	case BrokerLost:
		return model.DaemonSubject("broker")
	case ChannelDry:
		return channelOf(site, s)
	case ReservoirExhausted:
		return reservoirOf(site, s)
	}
	return s
}

func channelOf(site *model.Site, s model.Subject) model.Subject {
	switch s.Kind() {
	case model.KindChannel:
		return s
	case model.KindBag:
		if bag, ok := site.BagByID(s.ID()); ok {
			return model.ChannelSubject(bag.Channel)
		}
	}
	return ""
}

func reservoirOf(site *model.Site, s model.Subject) model.Subject {
	if s.Kind() == model.KindReservoir {
		return s
	}
	if channel, ok := site.ChannelByID(channelOf(site, s).ID()); ok {
		return model.ReservoirSubject(channel.Reservoir)
	}
	return ""
}

// cover is one cause that can stand over a condition, as [suppression] has it.
type cover struct {
	cause  model.Condition
	linger time.Duration
	lead   time.Duration
}

// covers turns the suppressions about: for each effect its causes, in order.
func covers() map[model.Condition][]cover {
	by := map[model.Condition][]cover{}
	for _, s := range suppressions() {
		for _, effect := range s.effects {
			by[effect] = append(by[effect], cover{s.cause, s.linger, s.lead})
		}
	}
	return by
}
