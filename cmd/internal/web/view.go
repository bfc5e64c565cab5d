package web

import (
	"fmt"
	"math"
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
	if a.Until != nil {
		v.Timing += ", back at " + c.moment(*a.Until)
	}
	return v
}

type reservoirView struct {
	Name  string
	Facts []pair
}

func (c clock) reservoir(r ReservoirDoc) reservoirView {
	empty := nothing
	if r.EmptyAt != nil && r.EmptyAt.P50 != nil {
		empty = c.moment(*r.EmptyAt.P50) + c.between(r.EmptyAt.P05, r.EmptyAt.P95)
	}
	return reservoirView{Name: r.Reservoir, Facts: []pair{
		{"Left", amount(r.Volume, 1, 0, "L")},
		{"Draws", amount(r.DrawPerDay, 1, 1, "L/day")},
		{"Empty", empty},
		{"EC at 25 °C", amount(r.EC, 1, 2, "mS/cm")},
		{"pH", amount(r.PH, 1, 1, "")},
		{"Solution", amount(r.Temperature, 1, 1, "°C")},
	}}
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

type bagView struct {
	Name, Water, Wick, Drinks, Dry string
	Bar                            *bar
}

// bar is the picture of a bag's water content, in per cent of the bag.
type bar struct{ Water, Dry, Wet float64 }

func (c clock) bag(b BagDoc) bagView {
	v := bagView{
		Name:   b.Bag,
		Water:  amount(b.WaterContent, 100, 0, "%"),
		Wick:   amount(b.WickHealth, 100, 0, "%"),
		Drinks: amount(b.UptakePerDay, 1, 1, ""),
		Dry:    c.maybe(b.DryAt),
	}
	if w, d, m := b.WaterContent.Value, b.DryLimit, b.WetLimit; w != nil && d != nil && m != nil {
		v.Bar = &bar{percent(*w), percent(*d), percent(*m)}
	}
	return v
}

// percent rounds a share to a tenth of a per cent within the picture.
func percent(v float64) float64 { return math.Round(1000*min(max(v, 0), 1)) / 10 }

type sensorView struct{ Name, Trouble string }

func (c clock) troubled(sensors []SensorDoc) []sensorView {
	var out []sensorView
	for _, s := range sensors {
		trouble := ""
		switch {
		case s.Silent && s.LastGood == nil:
			trouble = "has never sent a good reading"
		case s.Silent:
			trouble = "silent since " + c.moment(*s.LastGood)
		case s.Stuck:
			trouble = "stuck on one value"
		case s.Implausible:
			trouble = "not believable"
		default:
			continue
		}
		if s.Evidence != "" {
			trouble += ": " + s.Evidence
		}
		out = append(out, sensorView{string(s.Sensor), trouble})
	}
	return out
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
	if d.ClockWrong {
		facts = append(facts, pair{"Clock", "wrong: " + d.ClockEvidence})
	}
	if d.ForwardPending > 0 {
		behind := time.Duration(d.ForwardBehindSeconds * float64(time.Second))
		facts = append(facts, pair{"Forwarding", fmt.Sprintf("%s waiting, %s behind", count(int(d.ForwardPending), "reading"), span(behind))})
	}
	return facts
}
