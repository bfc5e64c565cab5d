package web

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"wickd/cmd/internal/expose"
	"wickd/model"
)

const (
	past = 48 * time.Hour
	// future is how far a forecast is drawn; beyond it the text says when.
	future = 48 * time.Hour
	// maxPictures of a channel's bags: more would take a minute to scroll past.
	maxPictures = 6
)

// chart is a figure's past, its limits and its forecast, before it is drawn.
type chart struct {
	title    string
	unit     string
	scale    float64 // from the record's unit to the one shown
	decimals int
	series   Series
	now      Figure
	limits   []limit
	goal     *model.Quantiles // when the value reaches the first limit; nil: no forecast
}

type limit struct {
	value float64 // in the record's unit
	label string
}

// pictures draws what an alert is about. What cannot be read is left out: the
// words of the alert do not depend on it.
func (s *Server) pictures(ctx context.Context, a expose.AlertState, snap model.Snapshot, c clock) []picture {
	if s.options.History == nil {
		return nil
	}
	var drawn []picture
	for _, ch := range s.charts(a, snap) {
		points, err := s.options.History(ctx, ch.series, c.now.Add(-past))
		if err != nil {
			s.options.Log.Error("read the past for a picture", "series", ch.series.ID, "error", err)
			continue
		}
		if len(points) > 1 {
			drawn = append(drawn, ch.draw(c, points))
		}
	}
	return drawn
}

func (s *Server) charts(a expose.AlertState, snap model.Snapshot) []chart {
	owner := a.Subject.Owner()
	var charts []chart
	for _, b := range snap.Bags {
		if model.BagSubject(b.Bag) == owner || model.ChannelSubject(b.Channel) == owner && len(charts) < maxPictures {
			charts = append(charts, bagChart(a, b))
		}
	}
	for _, r := range snap.Reservoirs {
		if model.ReservoirSubject(r.Reservoir) == owner {
			charts = append(charts, s.reservoirChart(a, r))
		}
	}
	return charts
}

func waterOf(bag string) Series {
	return Series{Kind: "bag", ID: bag, Value: "water_content", SD: "water_content_sd"}
}

// bagChart shows what the alert is about: the salt in a bag, how warm its roots
// are, or its water.
func bagChart(a expose.AlertState, b model.BagEstimate) chart {
	of := func(value string) Series { return Series{Kind: "bag", ID: b.Bag, Value: value} }
	switch about := string(a.Condition) + " " + string(a.Subject); {
	case strings.HasPrefix(about, "salt-"):
		return chart{
			title: "Salt in bag " + b.Bag, unit: "mS/cm", scale: 1, decimals: 1,
			series: of("salt_ec"), now: figure(b.Salt.EC), limits: []limit{{b.Salt.Limit, "limit"}},
		}
	case strings.HasPrefix(about, "roots-hot") || strings.HasSuffix(about, "/temperature"):
		return chart{
			title: "Warmth at the roots of bag " + b.Bag, unit: "°C", scale: 1, decimals: 1,
			series: of("root_temperature"), now: figure(b.Temperature),
		}
	}
	dry := b.Dry
	if dry.P50 == nil {
		dry.P50 = b.DryAt
	}
	return chart{
		title: "Water in bag " + b.Bag, unit: "%", scale: 100,
		series: waterOf(b.Bag),
		now:    figure(b.WaterContent), goal: &dry,
		limits: []limit{{b.DryLimit, "dry"}, {b.WetLimit, "wet"}},
	}
}

// reservoirChart shows what the alert is about: strength, acidity, warmth or
// how much is left.
func (s *Server) reservoirChart(a expose.AlertState, r model.ReservoirEstimate) chart {
	ch := chart{scale: 1, decimals: 1, series: Series{Kind: "reservoir", ID: r.Reservoir}}
	var target model.Target
	if s.options.Site != nil {
		built, _ := s.options.Site.ReservoirByID(r.Reservoir)
		target = built.Target
	}
	about := string(a.Condition) + " " + string(a.Subject)
	switch {
	case strings.HasPrefix(about, "ec-") || strings.HasSuffix(about, "/ec"):
		ch.title, ch.unit, ch.now, ch.series.Value = "EC of "+r.Reservoir, "mS/cm", figure(r.EC), "ec"
		ch.limits = band(target.EC, target.ECBand())
	case strings.HasPrefix(about, "ph-") || strings.HasSuffix(about, "/ph"):
		ch.title, ch.now, ch.series.Value = "pH of "+r.Reservoir, figure(r.PH), "ph"
		ch.limits = band(target.PH, target.PHBand())
	case strings.HasPrefix(about, "solution-warm") || strings.HasSuffix(about, "/temperature"):
		ch.title, ch.unit, ch.now, ch.series.Value = "Warmth of "+r.Reservoir, "°C", figure(r.Temperature), "temperature"
	default:
		ch.title, ch.unit, ch.decimals, ch.now = "Solution left in "+r.Reservoir, "L", 0, figure(r.Volume)
		ch.series.Value, ch.series.SD = "volume_l", "volume_sd"
		ch.emptying(r)
	}
	return ch
}

func band(target, tolerance float64) []limit {
	if target == 0 {
		return nil
	}
	return []limit{{target - tolerance, "low"}, {target + tolerance, "high"}}
}

// emptying adds what is left when the channels are no longer fed: what the
// present draw leaves at the median forecast.
func (ch *chart) emptying(r model.ReservoirEstimate) {
	if r.EmptyAt == nil || r.EmptyAt.P50 == nil || !known(r.Volume) || !known(r.DrawPerDay) {
		return
	}
	days := r.EmptyAt.P50.Sub(r.Time).Hours() / 24
	ch.limits = []limit{{max(0, r.Volume.Value-r.DrawPerDay.Value*days), "empty"}}
	ch.goal = r.EmptyAt
}

// words says a picture to those who do not see it.
func (ch chart) words(c clock, points []Point) string {
	first, last := points[0], points[len(points)-1]
	text := fmt.Sprintf("From %s to %s it went from %s to %s", c.moment(first.Time), c.moment(last.Time), ch.say(first.Value), ch.say(last.Value))
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		lowest, highest = min(lowest, p.Value), max(highest, p.Value)
	}
	text += fmt.Sprintf(", lowest %s, highest %s.", ch.say(lowest), ch.say(highest))
	for _, l := range ch.limits {
		text += fmt.Sprintf(" Limit %s at %s.", l.label, ch.say(l.value))
	}
	if ch.goal != nil && ch.goal.P50 != nil {
		text += fmt.Sprintf(" Forecast: %s on %s%s.", ch.limits[0].label, c.moment(*ch.goal.P50), c.between(ch.goal.P05, ch.goal.P95))
	}
	return text
}

func (ch chart) say(v float64) string {
	return strings.TrimSpace(decimal(v*ch.scale, ch.decimals) + " " + ch.unit)
}
