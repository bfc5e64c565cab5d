package alerts

import (
	"fmt"
	"strings"
	"time"

	"wickd/model"
)

// Sensors is the subject of what several sensors share. It is the one part of wickd
// that the site's readings tell of.
var Sensors = model.DaemonSubject("sensors")

// fewTogether is how many sensors silent still are each told of by itself: what the
// others shared works again.
const fewTogether = 2

func sensorsLostDefinition() Definition {
	return Definition{
		Condition: SensorsLost, Kind: model.KindDaemon, Priority: model.PriorityHigh,
		OnDelay: 2 * time.Minute, OffDelay: 5 * time.Minute,
		Reason: "as for one silent sensor, which this stands over",
		Rationale: Rationale{
			Cause:       "a power cut, a gateway or the radio's base that several sensors share",
			Consequence: "what they watched, often the whole site, is not watched",
			Action:      "restore what they share: power, network, radio",
			Severity:    Severe,
			Respond:     12 * time.Hour,
		},
		plural: "have lost sensors", judge: sensorsLost,
	}
}

// sensorsLost tells of sensors that fell silent at once as of one trouble.
func sensorsLost(sc *scene, d *Definition) []finding {
	return sc.daemon(d, "sensors", func(_ *model.DaemonHealth, held bool) Verdict {
		var lost []*model.SensorHealth
		sending := 0
		for i := range sc.snap.Sensors {
			switch s := &sc.snap.Sensors[i]; {
			case s.Together:
				lost = append(lost, s)
			case !s.Silent:
				sending++
			}
		}
		if len(lost) <= fewTogether {
			return relief(held, "The sensors that fell silent together %s", again(len(lost)))
		}
		since := lost[0].LastMessage
		for _, s := range lost {
			if s.LastMessage.After(since) {
				since = s.LastMessage
			}
		}
		v := Verdict{State: Holds, Since: since, Cause: model.CauseProbeSilent, Message: model.Message{
			Headline: fmt.Sprintf("%d sensors fell silent at the same time, %s", len(lost), sc.clock(since)),
			Why:      sentences("They are "+listed(lost), "They stopped within a message or two of each other, which points to what they share rather than to each of them"),
			Action:   "See to what they share: power, a gateway, the network, the radio's base. Look yourself at what they watched until then.",
			Caution:  cautionElectric,
		}}
		if sending == 0 {
			v.Message.Headline = fmt.Sprintf("No sensor has sent anything since %s: nothing is watched", sc.clock(since))
			v.Message.Why = fmt.Sprintf("All %d fell silent within a message or two of each other, which points to what they share rather than to each of them.", len(lost))
			v.Message.Action = "See that power and network of the site are on, and the gateway or the radio's base of the sensors. Look at the bags and the reservoirs yourself until then."
		}
		return v
	})
}

func again(left int) string {
	if left == 0 {
		return "all send again"
	}
	return fmt.Sprintf("send again, but for %d", left)
}

// listed names the sensors, of many the first.
func listed(sensors []*model.SensorHealth) string {
	const most = 4
	var names []string
	for _, s := range sensors[:min(len(sensors), most)] {
		names = append(names, "the "+name(s.Sensor))
	}
	if more := len(sensors) - most; more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(names, ", "), more)
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// together are the sensors that fell silent at the same time as others.
func together(sensors []model.SensorHealth) map[model.Subject]bool {
	found := map[model.Subject]bool{}
	for i := range sensors {
		if sensors[i].Together {
			found[sensors[i].Sensor] = true
		}
	}
	return found
}
