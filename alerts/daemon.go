package alerts

import (
	"fmt"
	"time"

	"wickd/model"
)

// behindLimit is how far the history may lag before somebody is told: an hour
// is far above a restart of the database, and far below the days that the
// journal keeps.
const behindLimit = time.Hour

// daemonParts are those of the daemon that its own conditions are about.
var daemonParts = []string{"journal", "disk", "clock", "broker", "forward"}

func daemonConditions() []Definition {
	return []Definition{
		{
			Condition: JournalFailing, Kind: model.KindDaemon, Priority: model.PriorityHigh,
			OnDelay: time.Minute, OffDelay: 10 * time.Minute,
			Reason: "one failed commit may be a slow disk; a minute of them is not",
			Rationale: Rationale{
				Cause:       "the disk is full, worn out or read-only",
				Consequence: "readings are no longer kept and no alert can be trusted",
				Action:      "free some space, or replace the disk and restart wickd",
				Severity:    Severe,
				Respond:     12 * time.Hour,
			},
			dated: true, plural: "cannot write their journal", judge: journalFailing,
		},
		diskFillingDefinition(),
		{
			Condition: ClockWrong, Kind: model.KindDaemon, Priority: model.PriorityMedium,
			OnDelay: 5 * time.Minute, OffDelay: 10 * time.Minute,
			Reason: "a board without a battery clock takes minutes to find the time after a power cut",
			Rationale: Rationale{
				Cause:       "the board has no clock battery and reaches no time server, or the sensors' clock is set to a local time",
				Consequence: "forecasts and daily figures are wrong",
				Action:      "restore the network, or set the clock and its time zone",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			dated: true, plural: "have a wrong clock", judge: clockWrong,
		},
		{
			Condition: BrokerLost, Kind: model.KindDaemon, Priority: model.PriorityHigh,
			OnDelay: 5 * time.Minute, OffDelay: 2 * time.Minute,
			Reason: "a broker restarts in seconds and a router in about three minutes",
			Rationale: Rationale{
				Cause:       "the broker, the network or the power of the sensors is down",
				Consequence: "nothing at the site is watched",
				Action:      "restore broker, network and power",
				Severity:    Severe,
				Respond:     12 * time.Hour,
			},
			dated: true, plural: "have lost the broker", judge: brokerLost,
		},
		{
			Condition: ForwardingBehind, Kind: model.KindDaemon, Priority: model.PriorityLow,
			OnDelay: 15 * time.Minute, OffDelay: 15 * time.Minute, Deadband: 0.5, Unit: "h",
			Reason: "nothing is lost while the journal holds the readings, so this can wait",
			Rationale: Rationale{
				Cause:       "the database is down or refuses the readings",
				Consequence: "the charts stop; nothing is lost while the journal has room",
				Action:      "restore the database; wickd sends what is missing by itself",
				Severity:    Slight,
				Respond:     7 * 24 * time.Hour,
			},
			plural: "are behind with the history", judge: forwardingBehind,
		},
	}
}

func journalFailing(sc *scene, d *Definition) []finding {
	return sc.daemon(d, "journal", func(h *model.DaemonHealth, held bool) Verdict {
		if !h.JournalFailing {
			return relief(held, "wickd keeps its readings again")
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: "wickd cannot keep its readings: no alert can be trusted now",
			Why:      sentences(h.JournalEvidence, "A reading that cannot be written to disk is not used"),
			Action:   "If the disk is full, free some space: wickd goes on by itself. If it is worn out or read-only, replace it and restart wickd. Look at the bags yourself until then.",
		}}
	})
}

// clockWrong is of wickd's own clock, and of those that date the readings of sensors.
func clockWrong(sc *scene, d *Definition) []finding {
	return append(ownClock(sc, d), finding{OutageSubject(1), sensorClocks(sc, sc.held(d.Condition, OutageSubject(1)))})
}

// sensorClocks is of sensors that date every reading hours back.
func sensorClocks(sc *scene, held bool) Verdict {
	var behind []model.SensorHealth
	most := time.Duration(0)
	for _, s := range sc.snap.Sensors {
		if s.Behind > 0 {
			behind, most = append(behind, s), max(most, s.Behind)
		}
	}
	if len(behind) == 0 {
		return relief(held, "No sensor's clock is behind any more")
	}
	whose, which := listed(behind), ""
	if len(behind) > 1 {
		whose, which = fmt.Sprintf("%d sensors", len(behind)), "They are "+whose
	}
	return Verdict{State: Holds, Message: model.Message{
		Headline: fmt.Sprintf("A clock at the site is %s behind: it dates the readings of %s", length(most), whose),
		Why: sentences(which,
			"Each reading arrives so long after the time that it carries, message for message, as from a clock that was set to a local time or never",
			"Until it is right they are dated by as much later"),
		Action: "Set the clock of the sensors or of their gateway, and see to its time zone: a local time has to say of which zone it is.",
	}}
}

func ownClock(sc *scene, d *Definition) []finding {
	return sc.daemon(d, "clock", func(h *model.DaemonHealth, held bool) Verdict {
		if !h.ClockWrong {
			return relief(held, "wickd's clock is right again")
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: "wickd's clock is wrong: times and forecasts cannot be trusted",
			Why:      sentences(h.ClockEvidence),
			Action:   "See that the board reaches the network, so that it can fetch the time, or set the clock by hand.",
		}}
	})
}

func brokerLost(sc *scene, d *Definition) []finding {
	return sc.daemon(d, "broker", func(h *model.DaemonHealth, held bool) Verdict {
		if h.BrokerLostSince.IsZero() {
			return relief(held, "Readings arrive again: the broker is back")
		}
		return Verdict{State: Holds, Since: h.BrokerLostSince, Message: model.Message{
			Headline: "No readings arrive: wickd has lost the MQTT broker",
			Why:      "Nothing at the site is watched until it is back.",
			Action:   "See that the broker runs and that network and power are on. Look at the bags yourself until then.",
			Caution:  cautionElectric,
		}}
	})
}

func forwardingBehind(sc *scene, d *Definition) []finding {
	return sc.daemon(d, "forward", func(h *model.DaemonHealth, held bool) Verdict {
		if above(h.ForwardBehind.Hours(), behindLimit.Hours(), d.Deadband, held) == Clear {
			return relief(held, "The history is up to date again")
		}
		return Verdict{State: Holds, Message: model.Message{
			Headline: fmt.Sprintf("The history is %s behind; nothing is lost so far", length(h.ForwardBehind)),
			Why:      fmt.Sprintf("%d messages and hourly estimates wait for the database, which does not take them.", h.ForwardPending),
			Action:   "Restore the database. wickd sends what is missing by itself.",
		}}
	})
}
