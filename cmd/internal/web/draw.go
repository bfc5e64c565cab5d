package web

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// The picture's frame, in its own units: wide enough for a 360-px phone, where
// one unit is about one pixel.
const (
	frameWidth, frameHeight = 340.0, 190.0
	plotLeft, plotRight     = 40.0, 332.0
	plotTop, plotBottom     = 12.0, 162.0
)

// picture is a chart drawn: everything that the SVG needs, in its units.
type picture struct {
	Title, Text  string
	Unit         string
	Bands, Lines []string // points; a gap in the past parts them
	Fan, Ahead   string   // points of the forecast; empty: there is none
	Limits       []mark
	Ticks, Days  []mark
	NowX         float64
	Now          *spot
}

// mark is a line across at a height or a place, with its label.
type mark struct {
	At    float64
	Label string
}

type spot struct{ X, Y float64 }

// frame turns times and values into places.
type frame struct {
	from, to    time.Time
	least, most float64
}

func (f frame) x(t time.Time) float64 {
	share := t.Sub(f.from).Hours() / f.to.Sub(f.from).Hours()
	return round(plotLeft + (plotRight-plotLeft)*min(max(share, 0), 1))
}

func (f frame) y(v float64) float64 {
	share := (v - f.least) / (f.most - f.least)
	return round(plotBottom - (plotBottom-plotTop)*min(max(share, 0), 1))
}

func round(v float64) float64 { return math.Round(v*10) / 10 }

// gapAfter parts a line: an hourly figure that is missing for two hours is not
// to be guessed from its neighbours.
const gapAfter = 2 * time.Hour

func (ch chart) draw(c clock, points []Point) picture {
	f := ch.frame(c, points)
	p := picture{Title: ch.title, Text: ch.words(c, points), Unit: ch.unit, NowX: f.x(c.now)}
	for _, run := range runs(points) {
		line, upper, lower := "", "", ""
		for _, q := range run {
			x := f.x(q.Time)
			line += at(x, f.y(q.Value))
			upper += at(x, f.y(q.Value+q.SD))
			lower = at(x, f.y(q.Value-q.SD)) + lower
		}
		p.Lines = append(p.Lines, strings.TrimSpace(line))
		p.Bands = append(p.Bands, strings.TrimSpace(upper+lower))
	}
	for _, l := range ch.limits {
		p.Limits = append(p.Limits, mark{f.y(l.value), l.label})
	}
	p.Ticks, p.Days = ch.ticks(f), f.days(c)
	if ch.now.Value != nil {
		p.Now = &spot{f.x(c.now), f.y(*ch.now.Value)}
		ch.ahead(&p, f)
	}
	return p
}

// ahead draws the forecast: a straight way to the limit, and the fan in which
// it lies nine times in ten.
func (ch chart) ahead(p *picture, f frame) {
	if ch.goal == nil || ch.goal.P50 == nil {
		return
	}
	goal := f.y(ch.limits[0].value)
	from := at(p.Now.X, p.Now.Y)
	end := func(t time.Time) string {
		x := plotLeft + (plotRight-plotLeft)*t.Sub(f.from).Hours()/f.to.Sub(f.from).Hours()
		if x <= plotRight {
			return at(round(x), goal)
		}
		// It ends beyond the frame: cut the way off where it leaves.
		share := (plotRight - p.Now.X) / (x - p.Now.X)
		return at(plotRight, round(p.Now.Y+(goal-p.Now.Y)*share))
	}
	p.Ahead = strings.TrimSpace(from + end(*ch.goal.P50))
	if ch.goal.P05 != nil && ch.goal.P95 != nil {
		p.Fan = strings.TrimSpace(from + end(*ch.goal.P05) + end(*ch.goal.P95))
	}
}

func at(x, y float64) string { return fmt.Sprintf("%g,%g ", x, y) }

// frame fits values, limits and forecast, with a little room.
func (ch chart) frame(c clock, points []Point) frame {
	f := frame{from: c.now.Add(-past), to: c.now.Add(time.Hour), least: math.Inf(1), most: math.Inf(-1)}
	if ch.goal != nil && ch.goal.P50 != nil {
		end := *ch.goal.P50
		if ch.goal.P95 != nil {
			end = *ch.goal.P95
		}
		f.to = c.now.Add(min(max(end.Sub(c.now), 6*time.Hour), future))
	}
	take := func(v float64) { f.least, f.most = min(f.least, v), max(f.most, v) }
	for _, p := range points {
		take(p.Value - p.SD)
		take(p.Value + p.SD)
	}
	for _, l := range ch.limits {
		take(l.value)
	}
	if ch.now.Value != nil {
		take(*ch.now.Value)
	}
	room := max((f.most-f.least)/12, math.Pow10(-ch.decimals)/ch.scale)
	f.least, f.most = f.least-room, f.most+room
	return f
}

// runs parts points where some are missing.
func runs[T interface{ when() time.Time }](points []T) [][]T {
	var out [][]T
	begin := 0
	for i := 1; i <= len(points); i++ {
		if i == len(points) || points[i].when().Sub(points[i-1].when()) > gapAfter {
			out = append(out, points[begin:i])
			begin = i
		}
	}
	return out
}

// ticks are at round values, three to six of them.
func (ch chart) ticks(f frame) []mark {
	span := (f.most - f.least) * ch.scale
	step := math.Pow10(int(math.Floor(math.Log10(span / 3))))
	for _, factor := range []float64{5, 2} {
		if span/(step*factor) >= 3 {
			step *= factor
			break
		}
	}
	decimals := max(0, int(-math.Floor(math.Log10(step))))
	var marks []mark
	for n := math.Ceil(f.least * ch.scale / step); n*step <= f.most*ch.scale; n++ {
		marks = append(marks, mark{f.y(n * step / ch.scale), decimal(n*step, decimals)})
	}
	return marks
}

// days are the local midnights within the frame.
func (f frame) days(c clock) []mark {
	var marks []mark
	first := f.from.In(c.zone)
	for day := 1; ; day++ {
		midnight := time.Date(first.Year(), first.Month(), first.Day()+day, 0, 0, 0, 0, c.zone)
		if !midnight.Before(f.to) {
			return marks
		}
		marks = append(marks, mark{f.x(midnight), midnight.Format("Mon")})
	}
}
