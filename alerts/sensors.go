package alerts

import (
	"cmp"
	"fmt"
	"time"

	"wickd/model"
)

// silences is within what time they count together. A radio at the end of its reach
// falls silent once or twice a day, for days, and the third time says nothing that the
// second did not. Outages of several sensors count as long, so that they stand above
// those they are made of.
const silences = 72 * time.Hour

func sensorConditions() []Definition {
	return []Definition{
		sensorsLostDefinition(),
		{
			Condition: SensorSilent, Kind: kindSensor, Priority: model.PriorityMedium,
			OnDelay: 2 * time.Minute, OffDelay: 5 * time.Minute,
			Reason: "the expected time already allows for gaps; the delays only bridge a restart and a flapping radio",
			Rationale: Rationale{
				Cause:       "flat battery, lost radio, a pulled plug or a dead sensor",
				Consequence: "what it watched runs on the model alone, and the doubt grows by the hour",
				Action:      "see to its power and its radio, restart it, or change it",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			chatters: silences,
			plural:   "are silent", judge: sensorSilent,
		},
		{
			Condition: SensorStuck, Kind: kindSensor, Priority: model.PriorityMedium,
			OnDelay: 5 * time.Minute, OffDelay: time.Hour,
			Reason: "the health check already waits long enough to tell; an hour of moving values shows that it is well again",
			Rationale: Rationale{
				Cause:       "a frozen driver, a full data logger or a broken lead",
				Consequence: "the old value hides whatever happens now",
				Action:      "restart the sensor; compare it with a hand meter; change it",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			dated: true, plural: "are stuck", judge: sensorStuck,
		},
		{
			Condition: SensorImplausible, Kind: kindSensor, Priority: model.PriorityMedium,
			OnDelay: 15 * time.Minute, OffDelay: time.Hour,
			Reason: "a probe that is being moved or cleaned reads nonsense for some minutes",
			Rationale: Rationale{
				Cause:       "lost contact with the mix, a broken or dirty probe, a wrong calibration",
				Consequence: "its readings are set aside and the model runs alone",
				Action:      "press the probe in again, clean it, check it against a hand meter, calibrate it",
				Severity:    Moderate,
				Respond:     24 * time.Hour,
			},
			dated: true, plural: "read what cannot be", judge: sensorImplausible,
		},
	}
}

func sensorSilent(sc *scene, d *Definition) []finding {
	return sc.sensors(d, func(s *model.SensorHealth, held bool) Verdict {
		if !s.Silent {
			if !held {
				return Verdict{State: Clear} // by far the most common: spare the words
			}
			return relief(held, "%s sends again", title(s.Sensor))
		}
		v := Verdict{State: Holds, Since: s.LastMessage, Cause: s.Cause, Message: model.Message{
			Headline: title(s.Sensor) + " has never sent anything",
			Why:      sentences(expected(s), s.Evidence),
			Action:   "See that it has power and radio and that it publishes to the topic in the site file; then restart it.",
		}}
		if !s.LastMessage.IsZero() {
			v.Message.Headline = fmt.Sprintf("%s has been silent since %s", title(s.Sensor), sc.clock(s.LastMessage))
			v.Message.Why = sentences(cmp.Or(s.Evidence, expected(s))) // which knows how often it sends
			v.Message.Action = "See that it has power and radio, restart it, and change it if it stays silent."
			if s.Sensor.Quantity() == model.Moisture {
				v.Message.Action += " If you took the bag away, take it out of the site file too: till then it is booked a share of what the others drink."
			}
		}
		return v
	})
}

func expected(s *model.SensorHealth) string {
	if s.Expected <= 0 {
		return ""
	}
	return "A reading is due every " + length(s.Expected) + " at the latest"
}

// A silent sensor shows nothing of whether it is stuck or implausible.

func sensorStuck(sc *scene, d *Definition) []finding {
	return sc.sensors(d, func(s *model.SensorHealth, held bool) Verdict {
		switch {
		case s.Silent:
			return Verdict{State: Unknown}
		case !s.Stuck && !held:
			return Verdict{State: Clear}
		case !s.Stuck:
			return relief(held, "%s moves again", title(s.Sensor))
		}
		return Verdict{State: Holds, Since: s.StuckSince, Cause: s.Cause, Message: model.Message{
			Headline: title(s.Sensor) + " is stuck: the same value all the time",
			Why:      sentences("It has sent "+reading(s.Sensor, s.Value)+" ever since", s.Evidence),
			Action:   "Restart the sensor and compare it with a hand meter; change it if it stays stuck.",
		}}
	})
}

func sensorImplausible(sc *scene, d *Definition) []finding {
	return sc.sensors(d, func(s *model.SensorHealth, held bool) Verdict {
		switch {
		case s.Silent:
			return Verdict{State: Unknown}
		case !s.Implausible && !held:
			return Verdict{State: Clear}
		case !s.Implausible:
			return relief(held, "%s reads sensible values again", title(s.Sensor))
		}
		return Verdict{State: Holds, Since: s.Since, Cause: s.Cause, Message: model.Message{
			Headline: title(s.Sensor) + " cannot be right: its readings are set aside",
			Why:      sentences(why(s.Cause, s.Evidence), lastUsed(s)),
			Action:   mend(s.Sensor),
		}}
	})
}

// lastUsed is the last value that was believed. Where the diagnosis refuses what
// passed every check before, it tells that value itself.
func lastUsed(s *model.SensorHealth) string {
	switch {
	case s.LastGood.IsZero():
		return "No value of it could be used so far"
	case s.Evidence != "":
		return ""
	}
	return "The last value that could be used was " + reading(s.Sensor, s.Value)
}

// mend is what to do about a sensor whose readings cannot be right.
func mend(sensor model.Subject) string {
	switch sensor.Quantity() {
	case model.Moisture:
		return "Press the probe in again or clean it, compare it with a hand meter, and calibrate or change it."
	case model.Radiation:
		return "Look whether it is covered, dirty or unplugged, and compare it with another at noon; change it if it stays dark. If it was night, correct latitude and longitude in the site file."
	}
	return "Look at its cable and clean it, compare it with a hand meter, and calibrate or change it."
}

// reading says a value in the unit that growers read it in.
func reading(sensor model.Subject, v float64) string {
	switch sensor.Quantity() {
	case model.Moisture, model.Humidity:
		return percent(v)
	case model.Level:
		return fmt.Sprintf("%.0f mm", v)
	case model.EC:
		return ecText(v)
	case model.PH:
		return fmt.Sprintf("pH %.1f", v)
	case model.Temperature:
		return fmt.Sprintf("%.1f °C", v)
	case model.Radiation:
		return fmt.Sprintf("%.0f W/m²", v)
	}
	return fmt.Sprintf("%.3g", v)
}
