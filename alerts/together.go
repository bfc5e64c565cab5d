package alerts

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"wickd/model"
)

// sensorsPart names what several sensors share, as a part of wickd.
const sensorsPart = "sensors"

// OutageSubject is the subject of an outage of several sensors, by its number from 1
// on: "wickd/sensors", and "wickd/sensors-2" for one that comes while the first stands.
func OutageSubject(number int) model.Subject {
	if number < 2 {
		return model.DaemonSubject(sensorsPart)
	}
	return model.DaemonSubject(fmt.Sprintf("%s-%d", sensorsPart, number))
}

// OfTheSite says of a part of wickd that the site's readings tell of it.
func OfTheSite(s model.Subject) bool { return outageNumber(s) > 0 }

// outageNumber is the number of an outage's subject; 0: it is none.
func outageNumber(s model.Subject) int {
	if s == OutageSubject(1) {
		return 1
	}
	_, text, _ := strings.Cut(s.ID(), "-")
	if n, err := strconv.Atoi(text); err == nil && n > 1 && s == OutageSubject(n) {
		return n
	}
	return 0
}

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
		chatters: silences,
		plural:   "have lost sensors", judge: sensorsLost,
	}
}

// sensorsLost tells of sensors that fell silent at once as of one trouble.
func sensorsLost(sc *scene, d *Definition) (found []finding) {
	sending, latest := 0, last(sc.snap.Sensors)
	outages := make([][]model.SensorHealth, mostOutages(len(sc.snap.Sensors)))
	for i := range sc.snap.Sensors {
		s := sc.snap.Sensors[i]
		if n := s.Together; n > 0 && n <= len(outages) {
			outages[n-1] = append(outages[n-1], s)
		} else if !s.Silent {
			sending++
		}
	}
	for i, lost := range outages {
		subject := OutageSubject(i + 1)
		v := relief(sc.held(d.Condition, subject), "The sensors that fell silent together %s", again(lost))
		if len(lost) > fewTogether {
			dark := sending == 0 && last(lost).Equal(latest)
			v = Verdict{State: Holds, Since: last(lost), Cause: model.CauseProbeSilent, Message: outageMessage(sc, lost, dark)}
		}
		found = append(found, finding{subject, v})
	}
	return found
}

// mostOutages is how many may stand beside each other among so many sensors, and one
// more for those that are about to.
func mostOutages(sensors int) int { return sensors/(fewTogether+1) + 1 }

// last is when the last of them was heard; zero: none ever was.
func last(sensors []model.SensorHealth) (at time.Time) {
	for _, s := range sensors {
		if s.LastMessage.After(at) {
			at = s.LastMessage
		}
	}
	return at
}

// outageMessage is of sensors that were lost together, in the dark when they were the
// last that sent.
func outageMessage(sc *scene, lost []model.SensorHealth, dark bool) model.Message {
	const points = "which points to what they share rather than to each of them"
	since := last(lost)
	m := model.Message{
		Headline: fmt.Sprintf("%d sensors fell silent at the same time, %s", len(lost), sc.clock(since)),
		Why:      sentences("They are "+listed(lost), "They stopped within a message or two of each other, "+points),
		Action:   "See to what they share: power, a gateway, the network, the radio's base. Look yourself at what they watched until then.",
		Caution:  cautionElectric,
	}
	switch {
	case since.IsZero():
		m.Headline = fmt.Sprintf("%d sensors have never sent anything", len(lost))
		m.Why = sentences("They are "+listed(lost), "So many at once point to what they share rather than to each of them")
		m.Action = "See that power, gateway and network are on, and that the sensors publish to the broker and the topics in the site file. Look yourself at what they are to watch until then."
	case dark:
		m.Headline = fmt.Sprintf("No sensor has sent anything since %s: nothing is watched", sc.clock(since))
		m.Why = fmt.Sprintf("The last %d fell silent within a message or two of each other, %s.", len(lost), points)
		m.Action = "See that power and network of the site are on, and the gateway or the radio's base of the sensors. Look at the bags and the reservoirs yourself until then."
	}
	return m
}

// again says who sends again.
func again(left []model.SensorHealth) string {
	if len(left) == 0 {
		return "all send again"
	}
	return "send again, but for " + listed(left)
}

// listed names the sensors, of many the first.
func listed(sensors []model.SensorHealth) string {
	const most = 4
	var names []string
	for _, s := range sensors[:min(len(sensors), most)] {
		names = append(names, "the "+Name(s.Sensor))
	}
	if more := len(sensors) - most; more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(names, ", "), more)
	}
	if len(names) == 1 {
		return names[0]
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// together is the outage in which each sensor fell silent with others.
func together(sensors []model.SensorHealth) map[model.Subject]int {
	found := map[model.Subject]int{}
	for i := range sensors {
		if n := sensors[i].Together; n > 0 {
			found[sensors[i].Sensor] = n
		}
	}
	return found
}
