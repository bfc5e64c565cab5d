package plot

import (
	"slices"

	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

const (
	flagHeight = vg.Length(10) // of a row of names over a panel, points
	// flagRows is how high names are piled: beyond, they would take the room of
	// what they explain, and only the rule is drawn.
	flagRows = 6
)

// flag is the name of an upright rule over its panel: its pole goes on from the
// rule up to the row in which the name begins.
type flag struct {
	name  string
	pole  vg.Length
	width vg.Length // of the name
	left  vg.Length // where the name begins
	row   int       // from 0, the lowest; -1: no room
}

type flags []flag

func flagStyle() text.Style { return lettering(8, faint(), text.XLeft, text.YBottom) }

// flags are the names of a panel's upright rules, none of which may go beyond
// the right.
func (p Panel) flags(x func(float64) vg.Length, right vg.Length) flags {
	style := flagStyle()
	var all flags
	for _, r := range p.Rules {
		if r.Upright && r.Name != "" {
			all = append(all, flag{name: r.Name, pole: x(r.At), width: style.Width(r.Name) + vg.Points(4)})
		}
	}
	all.arrange(right)
	return all
}

// arrange gives every name its row: from the right to the left, each above all
// the poles that it would cross, so that no pole goes through a name. A name
// that already stands over its neighbour's is not written twice.
func (f flags) arrange(right vg.Length) {
	slices.SortStableFunc(f, func(a, b flag) int {
		switch {
		case a.pole > b.pole:
			return -1
		case a.pole < b.pole:
			return 1
		}
		return 0
	})
	for i := range f {
		f[i].left = min(f[i].pole, right-f[i].width)
		for _, other := range f[:i] {
			if other.row < f[i].row || f[i].left+f[i].width <= other.left {
				continue
			}
			if other.name == f[i].name {
				f[i].row = -1
				break
			}
			f[i].row = other.row + 1
		}
		if f[i].row >= flagRows {
			f[i].row = -1
		}
	}
}

// rows is how many rows of names there are.
func (f flags) rows() int {
	most := -1
	for _, one := range f {
		most = max(most, one.row)
	}
	return most + 1
}

// draw writes the names over what is drawn in c.
func (f flags) draw(c draw.Canvas) {
	style := flagStyle()
	for _, one := range f {
		if one.row < 0 {
			continue
		}
		foot := c.Max.Y + flagHeight*vg.Length(one.row)
		c.StrokeLine2(rulePen(), one.pole, c.Max.Y, one.pole, foot+flagHeight)
		c.FillText(style, vg.Point{X: one.left + vg.Points(2), Y: foot + vg.Points(1)}, one.name)
	}
}
