package plot

import (
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
)

// limits are what an axis shows: as asked, or what is drawn with a little room,
// from 0 where that is near.
func limits(a Axis, values []float64) (low, high float64) {
	if a.From != 0 || a.To != 0 {
		return a.From, a.To
	}
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		low, high = math.Min(low, v), math.Max(high, v)
	}
	span := high - low
	if span == 0 {
		span = math.Max(1, math.Abs(high))
	}
	const room = 0.06
	if low >= 0 && low < high/3 {
		return 0, high + room*span
	}
	return low - room*span, high + room*span
}

// across are the X values of everything that a panel shows, up its Y values.
func (p Panel) across() []float64 {
	var all []float64
	for _, l := range p.Lines {
		all = append(all, l.X...)
	}
	for _, b := range p.Bands {
		all = append(all, b.X...)
	}
	for _, l := range p.Clouds {
		all = append(all, l.X...)
	}
	for _, m := range p.Marks {
		all = append(all, m.X)
	}
	for _, r := range p.Rules {
		if r.Upright {
			all = append(all, r.At)
		}
	}
	return all
}

func (p Panel) up() []float64 {
	var all []float64
	for _, l := range p.Lines {
		all = append(all, l.Y...)
	}
	for _, b := range p.Bands {
		all = append(append(all, b.Low...), b.High...)
	}
	for _, l := range p.Clouds {
		all = append(all, l.Y...)
	}
	for _, m := range p.Marks {
		all = append(all, m.Y)
	}
	for _, r := range p.Rules {
		if !r.Upright {
			all = append(all, r.At)
		}
	}
	return all
}

// ticks are 1, 2 or 5 times a power of ten apart, about six of them, unless a
// distance is asked for.
func ticks(every, low, high float64) plot.ConstantTicks {
	const wanted = 6
	step := every
	if step <= 0 {
		raw := (high - low) / wanted
		ten := math.Pow(10, math.Floor(math.Log10(raw)))
		step = 10 * ten
		for _, m := range []float64{1, 2, 5} {
			if m*ten >= raw {
				step = m * ten
				break
			}
		}
	}
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	var out plot.ConstantTicks
	for i := math.Ceil(low/step - 1e-9); i*step <= high+1e-9*step; i++ {
		at := i*step + 0 // + 0 turns a negative zero into a plain one
		out = append(out, plot.Tick{Value: at, Label: strconv.FormatFloat(at, 'f', decimals, 64)})
	}
	return out
}

// marker gives the ticks that were asked for, or chooses them.
func (a Axis) marker(low, high float64) plot.ConstantTicks {
	if a.Ticks == nil {
		return ticks(a.Every, low, high)
	}
	out := make(plot.ConstantTicks, 0, len(a.Ticks))
	for _, t := range a.Ticks {
		out = append(out, plot.Tick{Value: t.At, Label: t.Label})
	}
	return out
}

// dress gives an axis of a plot its limits, ticks and looks.
func dress(to *plot.Axis, a Axis, low, high float64) {
	to.Min, to.Max = low, high
	to.Label.Text = a.Name
	to.Label.TextStyle = lettering(9.5, ink(), text.XCenter, to.Label.TextStyle.YAlign)
	to.Label.Padding = vg.Points(4)
	to.Tick.Marker = a.marker(low, high)
	style := lettering(8.5, ink(), to.Tick.Label.XAlign, to.Tick.Label.YAlign)
	to.Tick.Label = style
	to.Tick.Length = vg.Points(3)
	to.LineStyle.Width = vg.Points(0.8)
	to.LineStyle.Color = ink()
	to.Tick.LineStyle.Width = vg.Points(0.8)
	to.Tick.LineStyle.Color = ink()
	to.Padding = 0
}
