package twin

import (
	"bytes"
	"fmt"
	"time"

	"wickd/model"
	"wickd/model/sim"
)

// Bench is a kind of site on which faults are tried.
type Bench struct {
	Name  string
	About string        // what kind of site it is, for the table
	Every time.Duration // between messages of one sensor
	Loss  float64       // share of messages that never arrive
	Held  time.Duration // a gateway keeps what was measured, with its time, and hands it over so often; 0: at once
	Site  func() *model.Site
}

// Benches are the sites of the study: one as its grower would wish it, one
// with tall lifts and another medium, one whose air nobody measures, one of few
// bags, one at the limit of its wicks, two at other paces: slow sensors on a
// bad link, and fast ones, one whose gateway keeps what it hears for hours, and one
// whose channels are filled at times.
func Benches() []Bench {
	return []Bench{
		{Name: "plain", About: "twelve bags of sweet peppers over two channels, as their grower would wish it", Every: 10 * time.Minute, Loss: 0.01, Site: plain},
		{Name: "tall", About: "wicks that lift 120 mm into a finer mix in thinner tubes", Every: 10 * time.Minute, Loss: 0.01, Site: tall},
		{Name: "no climate", About: "the plain site, of whose air nobody measures anything", Every: 10 * time.Minute, Loss: 0.01, Site: blind},
		{Name: "slow", About: "the plain site with slow sensors on a bad link", Every: 30 * time.Minute, Loss: 0.05, Site: plain},
		{Name: "few", About: "a beginner's four bags over one channel and a box of 78 L", Every: 10 * time.Minute, Loss: 0.01, Site: few},
		{Name: "limit", About: "plants that on bright days ask for all that their wicks lift, and more", Every: 10 * time.Minute, Loss: 0.01, Site: limit},
		{Name: "fast", About: "the plain site with fast sensors", Every: 2 * time.Minute, Loss: 0.01, Site: plain},
		{Name: "kept", About: "the plain site behind a gateway that keeps what it hears for hours", Every: 10 * time.Minute, Loss: 0.01, Held: 3 * time.Hour, Site: plain},
		{Name: "at times", About: "the plain site, whose channels somebody fills twice a day", Every: 10 * time.Minute, Loss: 0.01, Site: atTimes},
	}
}

// plain is the trial bench of package sim.
func plain() *model.Site { return sim.DemoSite() }

// tall lifts 120 mm into a finer mix in thinner tubes.
func tall() *model.Site {
	s := sim.DemoSite()
	s.Media["mix"] = model.Medium{
		Name: "mix", Conductivity: 180,
		Retention: &model.Retention{Residual: 0.10, Saturated: 0.86, Alpha: 0.09, N: 1.45},
	}
	for i := range s.Channels {
		s.Channels[i].Lift = 120
	}
	for i := range s.Bags {
		s.Bags[i].Diameter, s.Bags[i].Length = 108, 1000
	}
	return s
}

// few is a beginner's bench: four bags over one channel and a box of 78 L.
func few() *model.Site {
	s := sim.DemoSite()
	s.Channels, s.Bags = s.Channels[:1], s.Bags[:4]
	s.Reservoirs[0].Shape = model.Shape{Kind: model.Box, Length: 600, Width: 400}
	return s
}

// limit lifts 135 mm with three wicks to four plants in each tube: on bright
// days they ask for all that the wicks lift, and more.
func limit() *model.Site {
	s := sim.DemoSite()
	for i := range s.Channels {
		s.Channels[i].Lift = 135
	}
	for i := range s.Bags {
		b := &s.Bags[i]
		b.Diameter, b.Length, b.Plants, b.Canopy, b.WickCount = 110, 800, 4, 0.4, 3
	}
	return s
}

// blind measures nothing of the air.
func blind() *model.Site {
	s := sim.DemoSite()
	s.Air = nil
	return s
}

// atTimes has channels that stand on what they hold: more than a bright day takes.
func atTimes() *model.Site {
	s := sim.DemoSite()
	s.Reservoirs[0].FeedsAtTimes = true
	for i := range s.Channels {
		s.Channels[i].Holds = 20
	}
	return s
}

// site is the bench's site, with sensors that are expected at its pace.
func (b Bench) site() *model.Site {
	s := b.Site()
	pace := func(sensor *model.Sensor) {
		sensor.ExpectEvery = b.heardEvery()
		if b.Held > 0 {
			sensor.Pointer, sensor.TimePointer = "/value", "/time"
		}
	}
	for i := range s.Air {
		pace(&s.Air[i])
	}
	for i := range s.Reservoirs {
		for j := range s.Reservoirs[i].Sensors {
			pace(&s.Reservoirs[i].Sensors[j])
		}
	}
	for i := range s.Bags {
		if s.Bags[i].Moisture != nil {
			pace(s.Bags[i].Moisture)
		}
	}
	return s
}

// heardEvery is how often something is heard of a sensor.
func (b Bench) heardEvery() time.Duration { return max(b.Every, b.Held) }

// handed is what arrives when a message is handed over, and when.
func (b Bench) handed(m sim.Message) (payload []byte, at time.Time) {
	if b.Held == 0 {
		return m.Payload, m.Time
	}
	document := bytes.TrimPrefix(m.Payload, []byte("{"))
	return fmt.Appendf(nil, `{"time":%q,%s`, m.Time.Format(time.RFC3339), document), m.Time.Add(b.Held - 1).Truncate(b.Held)
}
