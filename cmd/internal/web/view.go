package web

import (
	"fmt"
	"time"

	"wickd/model"
)

type alertView struct {
	Priority string
	State    string
	Message  model.Message
	Timing   string
}

func since(a AlertDoc) time.Time {
	if a.Since == nil {
		return time.Time{}
	}
	return *a.Since
}

func (c clock) alert(a AlertDoc) alertView {
	v := alertView{Priority: string(a.Priority), State: a.State, Message: a.Message}
	if v.Message.Headline == "" {
		v.Message.Headline = string(a.Condition) + " " + string(a.Subject)
	}
	if a.Since != nil {
		v.Timing = "since " + c.moment(*a.Since)
	}
	if a.Due != nil {
		v.Timing += ", due " + c.moment(*a.Due)
	}
	if a.By != "" {
		v.Timing += ", by " + a.By
	}
	if a.Chattering {
		v.Timing += ", comes and goes"
	}
	if a.Until != nil {
		v.Timing += ", back at " + c.moment(*a.Until)
	}
	return v
}

// between says how sure a forecast is: nine times in ten within it.
func (c clock) between(from, to *time.Time) string {
	switch {
	case from == nil:
		return ""
	case to == nil:
		return fmt.Sprintf(" (not before %s)", c.moment(*from))
	default:
		return fmt.Sprintf(" (%s to %s)", c.moment(*from), c.moment(*to))
	}
}

// undelivered says whom messages do not reach.
func (c clock) undelivered(u UndeliveredDoc) string {
	return fmt.Sprintf("Messages do not reach %s since %s: %s waiting; %s", u.Recipient, c.moment(u.Since), count(u.Waiting, "message"), u.Why)
}

// sensorView is a sensor and what there is to say about it.
type sensorView struct{ Name, Said string }

func (c clock) troubled(sensors []SensorDoc) []sensorView {
	var out []sensorView
	for _, s := range sensors {
		if t := c.trouble(s); t != "" {
			out = append(out, sensorView{string(s.Sensor), t})
		}
	}
	return out
}

// ages lists all sensors with how long ago each sent a good reading.
func (c clock) ages(sensors []SensorDoc) []sensorView {
	return each(sensors, func(s SensorDoc) sensorView {
		if s.LastGood == nil {
			return sensorView{string(s.Sensor), "never"}
		}
		age := Span(c.now.Sub(*s.LastGood)) + " ago"
		if s.Implausible {
			age += ", not believed"
		}
		return sensorView{string(s.Sensor), age}
	})
}

// trouble is what is wrong with a sensor; empty: nothing.
func (c clock) trouble(s SensorDoc) string {
	text := ""
	switch {
	case s.Silent && s.LastGood == nil:
		text = "has never sent a good reading"
	case s.Silent:
		text = "silent since " + c.moment(*s.LastGood)
	case s.Stuck:
		text = "stuck on one value"
	case s.Implausible:
		text = "not believable"
	default:
		return ""
	}
	if s.Evidence != "" {
		text += ": " + s.Evidence
	}
	return text
}

func (c clock) daemon(d DaemonDoc) []pair {
	broker := "connected"
	if d.BrokerLostSince != nil {
		broker = "lost since " + c.moment(*d.BrokerLostSince)
	}
	if d.BrokerDropped > 0 {
		broker += fmt.Sprintf("; it says that it dropped %s", count(int(d.BrokerDropped), "message"))
	}
	facts := []pair{{"Broker", broker}}
	if d.JournalFailing {
		facts = append(facts, pair{"Journal", "failing: " + d.JournalEvidence})
	}
	if d.DiskFreeBytes != nil {
		facts = append(facts, pair{"Disk", disk(d)})
	}
	if d.ClockWrong {
		facts = append(facts, pair{"Clock", "wrong: " + d.ClockEvidence})
	}
	if d.ForwardPending > 0 {
		behind := time.Duration(d.ForwardBehindSeconds * float64(time.Second))
		facts = append(facts, pair{"Forwarding", fmt.Sprintf("%s waiting, %s behind", count(int(d.ForwardPending), "reading"), Span(behind))})
	}
	return facts
}

// disk says how much room there is, and for how long where that is in sight.
func disk(d DaemonDoc) string {
	const gigabyte, inSight = 1e9, 60 * 24 * time.Hour
	text := fmt.Sprintf("%.1f GB free", float64(*d.DiskFreeBytes)/gigabyte)
	if d.DiskLastsSeconds != nil {
		if lasts := time.Duration(*d.DiskLastsSeconds * float64(time.Second)); lasts < inSight {
			text += ", full in about " + Span(lasts)
		}
	}
	return text
}

// sensor says what a sensor is worth now.
func (c clock) sensor(s SensorDoc) string {
	age := "no good reading yet"
	if s.LastGood != nil {
		age = "last good reading " + Span(c.now.Sub(*s.LastGood)) + " ago"
	}
	if t := c.trouble(s); t != "" {
		return t + " (" + age + ")"
	}
	return age
}
