package plot

import (
	"errors"
	"fmt"
	"math"
)

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
	for _, l := range p.Clouds {
		if len(l.X) != len(l.Y) || len(l.X) == 0 {
			return fmt.Errorf("cloud %q has %d and %d numbers; it needs a point or more", l.Name, len(l.X), len(l.Y))
		}
		if !finite(l.X...) || !finite(l.Y...) {
			return fmt.Errorf("cloud %q has a number that is not finite", l.Name)
		}
	}
	for _, l := range p.Lanes {
		for _, s := range l.Spans {
			if !finite(s.From, s.To) {
				return fmt.Errorf("lane %q has a span that is nowhere", l.Name)
			}
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
