package plot

import (
	"errors"
	"fmt"
	"math"
)

// Figure is one picture: panels one above the other that share nothing but
// their width.
type Figure struct {
	Title  string
	Note   string // under the title: what is shown, for whom, when
	Panels []Panel
	// Narrow makes it as wide as a phone held upright. Then there is no room
	// beside the panels: limits are named on their line, and lines that end at
	// the right stay without a name.
	Narrow bool
}

// Panel is one pair of axes. Limits are taken from what is drawn where both
// ends of an axis are 0.
type Panel struct {
	X, Y  Axis
	Areas []Area
	Bands []Band
	Lines []Line
	Rules []Rule
	Marks []Mark
}

// Axis is named with its unit: "lift, mm".
type Axis struct {
	Name     string
	From, To float64
	Every    float64 // distance of the ticks; 0: chosen
	Ticks    []Tick  // these and no others; nil: chosen
}

// Tick is a place on an axis with its label.
type Tick struct {
	At    float64
	Label string
}

// Stroke tells lines apart: its pattern and its tone.
type Stroke int

// The strokes, in the order of weight.
const (
	Solid Stroke = iota
	Dashed
	Dotted
	DashDot
)

// Line is a curve, named at its right end, or where Beside says.
type Line struct {
	Name   string
	X, Y   []float64
	Stroke Stroke
	Beside Beside
}

// Beside puts the name of a line beside one of its points, for lines that do
// not end at the right.
type Beside struct {
	Share float64 // of the way along the line, 0–1
	Side  Side
}

// Side is where a name stands.
type Side int

// The sides. AtEnd is beyond the right end of the line.
const (
	AtEnd Side = iota
	Left
	Right
)

// Rule is a straight line across the panel: a limit. A level one is named at
// its right end, an upright one at its top.
type Rule struct {
	Name    string
	At      float64
	Upright bool
}

// Area shades a span of the X axis, or of the Y axis.
type Area struct {
	Name     string
	From, To float64
	OfY      bool
}

// Band is what lies between two curves, such as how sure a line is. It has no
// name of its own: the line in it has.
type Band struct {
	X, Low, High []float64
}

// Mark is a point with a name beside it.
type Mark struct {
	Name string
	X, Y float64
}

// Validate names what cannot be drawn.
func (f Figure) Validate() error {
	var errs []error
	if len(f.Panels) == 0 {
		errs = append(errs, errors.New("no panel"))
	}
	for i, p := range f.Panels {
		if err := p.validate(); err != nil {
			errs = append(errs, fmt.Errorf("panel %d: %w", i+1, err))
		}
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("draw %q: %w", f.Title, err)
	}
	return nil
}

func (p Panel) validate() error {
	if len(p.Lines) == 0 {
		return errors.New("no line")
	}
	for _, l := range p.Lines {
		if len(l.X) != len(l.Y) || len(l.X) < 2 {
			return fmt.Errorf("line %q has %d and %d numbers; it needs two points or more", l.Name, len(l.X), len(l.Y))
		}
		if !finite(l.X...) || !finite(l.Y...) {
			return fmt.Errorf("line %q has a number that is not finite", l.Name)
		}
		if l.Stroke < Solid || l.Stroke > DashDot {
			return fmt.Errorf("line %q has a stroke that does not exist", l.Name)
		}
	}
	for i, b := range p.Bands {
		if len(b.X) != len(b.Low) || len(b.X) != len(b.High) || len(b.X) < 2 {
			return fmt.Errorf("band %d has %d, %d and %d numbers; it needs two points or more", i+1, len(b.X), len(b.Low), len(b.High))
		}
		if !finite(b.X...) || !finite(b.Low...) || !finite(b.High...) {
			return fmt.Errorf("band %d has a number that is not finite", i+1)
		}
	}
	for _, r := range p.Rules {
		if !finite(r.At) {
			return fmt.Errorf("rule %q is nowhere", r.Name)
		}
	}
	for _, m := range p.Marks {
		if !finite(m.X, m.Y) {
			return fmt.Errorf("mark %q is nowhere", m.Name)
		}
	}
	for _, a := range p.Areas {
		if !finite(a.From, a.To) {
			return fmt.Errorf("area %q is nowhere", a.Name)
		}
	}
	return nil
}

func finite(all ...float64) bool {
	for _, v := range all {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
