package web

import (
	"fmt"
	"math"
	"time"
)

// reservoirView is one reservoir in words.
type reservoirView struct {
	Name  string
	Days  string // how long it lasts, in words
	Facts []pair
}

func (c clock) reservoir(r ReservoirDoc) reservoirView {
	empty := nothing
	if r.EmptyAt != nil && r.EmptyAt.P50 != nil {
		empty = c.moment(*r.EmptyAt.P50) + c.between(r.EmptyAt.P05, r.EmptyAt.P95)
	}
	return reservoirView{Name: r.Reservoir, Days: c.daysLeft(r), Facts: []pair{
		{"Left", amount(r.Volume, 1, 0, "L")},
		{"Draws", amount(r.DrawPerDay, 1, 1, "L/day")},
		{"Empty", empty},
		{"EC at 25 °C", amount(r.EC, 1, 2, "mS/cm")},
		{"pH", amount(r.PH, 1, 1, "")},
		{"Solution", withBand(r.Temperature, 1, "°C") + limited(r)},
	}}
}

// limited names the limit of the solution's temperature beside it.
func limited(r ReservoirDoc) string {
	if r.TemperatureLimit == nil || r.Temperature.Value == nil {
		return ""
	}
	return fmt.Sprintf(" (limit %s)", decimal(*r.TemperatureLimit, 0))
}

// daysLeft says how long the solution lasts as people count it.
func (c clock) daysLeft(r ReservoirDoc) string {
	if r.EmptyAt == nil || r.EmptyAt.P50 == nil {
		if r.Volume.Value == nil {
			return "not known"
		}
		return "lasts beyond the forecast"
	}
	left := r.EmptyAt.P50.Sub(c.now)
	if left <= 0 {
		return "empty"
	}
	if left < 48*time.Hour {
		return fmt.Sprintf("%.0f hours left", left.Hours())
	}
	return fmt.Sprintf("%.0f days left", math.Floor(left.Hours()/24))
}

// channelView is one channel with the bags that lie over it.
type channelView struct {
	Name, State string
	Bags        []bagView
}

// channels puts every bag under its channel, in the order of the snapshot. A
// bag of a channel that is not in the snapshot still gets a place.
func (c clock) channels(d Document) []channelView {
	var views []channelView
	place := map[string]int{}
	add := func(name, state string) int {
		place[name] = len(views)
		views = append(views, channelView{Name: name, State: state})
		return place[name]
	}
	for _, ch := range d.Channels {
		add(ch.Channel, c.channelState(ch))
	}
	for _, b := range d.Bags {
		i, ok := place[b.Channel]
		if !ok {
			i = add(b.Channel, "")
		}
		views[i].Bags = append(views[i].Bags, c.bag(b))
	}
	return views
}

func (c clock) channelState(ch ChannelDoc) string {
	text := "fed from " + ch.Reservoir
	switch {
	case ch.Dry == nil:
		return text + "; whether it carries solution is not known"
	case *ch.Dry:
		return text + "; dry"
	}
	return text + "; carries solution"
}

// bagView is one bag in words, with its picture.
type bagView struct {
	Name, Water, Wick, Drinks, Dry string
	Range                          string // where the water is between the limits
	Tube                           *tube
}

// tube is the picture of a bag, in per cent of its volume: the span between its
// dry and its wet limit, where the water is, and how sure that is.
type tube struct {
	Dry, Span     float64 // begin and width of the good span
	Water         float64
	Doubt, Spread float64 // begin and width of twice the standard deviation
}

func (c clock) bag(b BagDoc) bagView {
	v := bagView{
		Name:   b.Bag,
		Water:  amount(b.WaterContent, 100, 0, "%"),
		Wick:   amount(b.WickHealth, 100, 0, "%"),
		Drinks: amount(b.UptakePerDay, 1, 1, ""),
		Dry:    c.maybe(b.DryAt),
	}
	if w, d, m := b.WaterContent.Value, b.DryLimit, b.WetLimit; w != nil && d != nil && m != nil {
		v.Range = within(*w, *d, *m)
		v.Tube = draw(*w, *d, *m, b.WaterContent.SD)
	}
	return v
}

// within says in a word what the picture shows in colour.
func within(water, dry, wet float64) string {
	const near = 0.1 // of the way between the limits
	switch {
	case water < dry:
		return "dry"
	case water > wet:
		return "too wet"
	case water < dry+near*(wet-dry):
		return "near dry"
	}
	return "enough"
}

func draw(water, dry, wet float64, sd *float64) *tube {
	t := &tube{Dry: percent(dry), Water: percent(water)}
	t.Span = percent(wet) - t.Dry
	if sd != nil {
		t.Doubt = percent(water - 2**sd)
		t.Spread = percent(water+2**sd) - t.Doubt
	}
	return t
}

// percent rounds a share to a tenth of a per cent within the picture.
func percent(v float64) float64 { return math.Round(1000*min(max(v, 0), 1)) / 10 }
