package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/plot"
	"wickd/model"
)

const (
	// maxAttached panels are drawn for one alert: a phone scrolls past more.
	maxAttached = 3
	week        = 7 * 24 * time.Hour
)

// Picture draws what an alert is about as a PNG for a message: the last two
// days with the estimate's standard deviation, the limits and the forecast. It
// is nil where there is nothing to draw, such as for an alert about the broker.
func (s *Server) Picture(ctx context.Context, condition model.Condition, subject model.Subject) ([]byte, error) {
	if s.options.History == nil {
		return nil, nil
	}
	c := clock{s.options.Now(), s.options.TimeZone}
	var panels []plot.Panel
	for _, ch := range s.charts(expose.AlertState{Condition: condition, Subject: subject}, s.options.Snapshot()) {
		if len(panels) == maxAttached {
			break
		}
		points, err := s.options.History(ctx, ch.series, c.now.Add(-past))
		if err != nil {
			return nil, fmt.Errorf("read the past of %s for a picture: %w", ch.series.ID, err)
		}
		if p := ch.panel(c, ch.frame(c, points), courses(points)); len(p.Lines) > 0 {
			panels = append(panels, p)
		}
	}
	return png(s.options.SiteName, "As of "+c.now.In(c.zone).Format("Mon 2 Jan 15:04")+". Shaded: one standard deviation. Dashed: forecast.", panels)
}

// Draws says whether an alert is about anything that has a picture.
func (s *Server) Draws(condition model.Condition, subject model.Subject) bool {
	return s.options.History != nil && len(s.charts(expose.AlertState{Condition: condition, Subject: subject}, s.options.Snapshot())) > 0
}

// Week draws the seven days up to a time: every reservoir's content, strength
// and acidity, and the span of the water in the bags of every channel.
func (s *Server) Week(ctx context.Context, end time.Time) ([]byte, error) {
	site := s.options.Site
	if s.options.History == nil || site == nil {
		return nil, nil
	}
	c := clock{end, s.options.TimeZone}
	var panels []plot.Panel
	add := func(ch chart, all []course) {
		all = slices.DeleteFunc(all, func(q course) bool { return q.at.After(end) })
		f := frame{from: end.Add(-week), to: end}
		f.around(ch, all)
		if p := ch.panel(c, f, all); len(p.Lines) > 0 {
			panels = append(panels, p)
		}
	}
	for _, r := range site.Reservoirs {
		for _, ch := range s.weekCharts(r.ID) {
			points, err := s.options.History(ctx, ch.series, end.Add(-week))
			if err != nil {
				return nil, fmt.Errorf("read the week of %s for a picture: %w", r.ID, err)
			}
			add(ch, courses(points))
		}
	}
	for _, channel := range site.Channels {
		ch, all, err := s.channelWeek(ctx, channel.ID, end.Add(-week))
		if err != nil {
			return nil, err
		}
		add(ch, all)
	}
	return png(s.options.SiteName, "The week to "+end.In(s.options.TimeZone).Format("Mon 2 Jan")+". Shaded: from the driest to the wettest bag.", panels)
}

// weekCharts are those of a reservoir; what it has no probe for has no course.
func (s *Server) weekCharts(id string) []chart {
	about := func(condition model.Condition) chart {
		ch := s.reservoirChart(expose.AlertState{Condition: condition}, model.ReservoirEstimate{Reservoir: id})
		ch.now = Figure{} // the week's end may lie a while back
		return ch
	}
	return []chart{about("reservoir-low"), about("ec-off-target"), about("ph-off-target")}
}

// channelWeek is the middle of a channel's bags, from the driest to the wettest.
func (s *Server) channelWeek(ctx context.Context, channel string, from time.Time) (chart, []course, error) {
	ch := chart{title: "Water in the bags of " + channel, unit: "%", scale: 100}
	var all []course
	count := map[time.Time]float64{}
	place := map[time.Time]int{}
	for _, b := range s.options.Site.Bags {
		if b.Channel != channel {
			continue
		}
		points, err := s.options.History(ctx, waterOf(b.ID), from)
		if err != nil {
			return ch, nil, fmt.Errorf("read the week of bag %s for a picture: %w", b.ID, err)
		}
		for _, p := range points {
			i, ok := place[p.Time]
			if !ok {
				i = len(all)
				place[p.Time] = i
				all = append(all, course{p.Time, p.Value, 0, p.Value})
			}
			n := count[p.Time]
			q := &all[i]
			q.low, q.high, q.mid = min(q.low, p.Value), max(q.high, p.Value), (q.mid*n+p.Value)/(n+1)
			count[p.Time] = n + 1
		}
	}
	slices.SortFunc(all, func(a, b course) int { return a.at.Compare(b.at) })
	return ch, all, nil
}

// picture answers with the picture of a link's alert, for services that fetch
// what they show.
func (s *Server) picture(w http.ResponseWriter, r *http.Request) {
	claim, err := s.holder(w, r)
	if err != nil {
		return
	}
	image, err := s.pictureOf(r.Context(), claim.Occurrence)
	switch {
	case err != nil && !errors.Is(err, context.Canceled):
		s.options.Log.Error("draw the picture of a link", "error", err)
		http.Error(w, "the picture cannot be drawn", http.StatusInternalServerError)
	case image == nil:
		http.Error(w, "there is nothing to draw for this alert", http.StatusNotFound)
	default:
		w.Header().Set("Content-Type", "image/png")
		w.Write(image)
	}
}

// pictureOf draws an occurrence, condition|subject|time, or the week of a
// digest, digest|time.
func (s *Server) pictureOf(ctx context.Context, occurrence string) ([]byte, error) {
	condition, rest, _ := strings.Cut(occurrence, "|")
	if end, err := time.Parse(time.RFC3339, rest); err == nil {
		return s.Week(ctx, end)
	}
	return s.Picture(ctx, model.Condition(condition), model.Subject(subjectOf(occurrence)))
}
