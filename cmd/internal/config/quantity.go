package config

import (
	"fmt"
	"math"

	"wickd/model/unit"
)

// dimensioned ties a Go type to a dimension, so that a raw struct's field says
// in its type what it takes.
type dimensioned interface{ dimension() *unit.Dimension }

type (
	lengthOf       struct{}
	areaOf         struct{}
	volumeOf       struct{}
	sectionOf      struct{}
	ecOf           struct{}
	temperatureOf  struct{}
	ratioOf        struct{}
	inverseOf      struct{}
	conductivityOf struct{}
	durationOf     struct{}
	suctionOf      struct{}
	flowOf         struct{}
	slopeOf        struct{}
	coefficientOf  struct{}
	alkalinityOf   struct{}
	irradianceOf   struct{}
)

func (lengthOf) dimension() *unit.Dimension       { return unit.Length }
func (areaOf) dimension() *unit.Dimension         { return unit.Area }
func (volumeOf) dimension() *unit.Dimension       { return unit.Volume }
func (sectionOf) dimension() *unit.Dimension      { return unit.Section }
func (ecOf) dimension() *unit.Dimension           { return unit.EC }
func (temperatureOf) dimension() *unit.Dimension  { return unit.Temperature }
func (ratioOf) dimension() *unit.Dimension        { return unit.Ratio }
func (inverseOf) dimension() *unit.Dimension      { return unit.InverseLength }
func (conductivityOf) dimension() *unit.Dimension { return unit.Conductivity }
func (durationOf) dimension() *unit.Dimension     { return unit.Duration }
func (suctionOf) dimension() *unit.Dimension      { return unit.Suction }
func (flowOf) dimension() *unit.Dimension         { return unit.Flow }
func (slopeOf) dimension() *unit.Dimension        { return unit.Slope }
func (coefficientOf) dimension() *unit.Dimension  { return unit.TemperatureCoefficient }
func (alkalinityOf) dimension() *unit.Dimension   { return unit.Alkalinity }
func (irradianceOf) dimension() *unit.Dimension   { return unit.Radiation }

type (
	length       = quantity[lengthOf]
	area         = quantity[areaOf]
	volume       = quantity[volumeOf]
	section      = quantity[sectionOf]
	conductance  = quantity[ecOf]
	temperature  = quantity[temperatureOf]
	ratio        = quantity[ratioOf]
	inverse      = quantity[inverseOf]
	conductivity = quantity[conductivityOf]
	duration     = quantity[durationOf]
	suction      = quantity[suctionOf]
	flow         = quantity[flowOf]
	slope        = quantity[slopeOf]
	coefficient  = quantity[coefficientOf]
	alkalinity   = quantity[alkalinityOf]
	irradiance   = quantity[irradianceOf]
)

// quantity is a number with a unit of dimension D; value is in the canonical
// unit.
type quantity[D dimensioned] struct {
	place
	value float64
	shown string
}

func (q *quantity[D]) dimension() *unit.Dimension {
	var d D
	return d.dimension()
}

func (q *quantity[D]) decode(d *decoder, n *node, p place, f field) {
	dim := q.dimension()
	v, ok := d.amount(n, p, dim)
	if !ok {
		return
	}
	if f.bounds != nil && !d.within(p, v, dim, f) {
		return
	}
	q.place, q.value, q.shown = p, v.Canonical(), n.text
}

// amount reads a number with a unit.
func (d *decoder) amount(n *node, p place, dim *unit.Dimension) (unit.Value, bool) {
	if n.kind != textual && n.kind != numeric {
		d.report(p, fmt.Sprintf("%s is given, but %s is needed", n.shown(), dim), fmt.Sprintf("for example \"10 %s\"", dim.Usual()))
		return unit.Value{}, false
	}
	v, err := unit.Parse(n.text, dim)
	if err != nil {
		d.explain(p, err)
		return unit.Value{}, false
	}
	return v, true
}

// within refuses an impossible value. When the same number in another unit of
// the dimension comes near to the example, that is the likely mistake.
func (d *decoder) within(p place, v unit.Value, dim *unit.Dimension, f field) bool {
	if f.bounds.hold(v.Canonical()) {
		return true
	}
	hint := fmt.Sprintf("must lie between %s and %s%s", f.low, f.high, f.also())
	if meant, ok := mistaken(v, dim, f); ok {
		hint = fmt.Sprintf("must lie between %s and %s; did you mean %s?", f.low, f.high, meant)
	}
	d.report(p, fmt.Sprintf("%s is impossible", v), hint)
	return false
}

// mistaken finds the unit in which the number comes nearest to the example, on
// a logarithmic scale and within a factor of ten.
func mistaken(v unit.Value, dim *unit.Dimension, f field) (unit.Value, bool) {
	usual, err := unit.Parse(f.example, dim)
	if err != nil || v.Number <= 0 {
		return unit.Value{}, false
	}
	best, nearest, found := unit.Value{}, 1.0, false
	for _, symbol := range dim.Symbols() {
		u, err := dim.Lookup(symbol)
		if err != nil {
			continue
		}
		candidate := unit.Value{Number: v.Number, Unit: u}
		off := math.Abs(math.Log10(candidate.Canonical() / usual.Canonical()))
		if f.bounds.hold(candidate.Canonical()) && off < nearest {
			best, nearest, found = candidate, off, true
		}
	}
	return best, found
}

// loose is a quantity whose dimension depends on where it stands; it is read
// by decoder.resolve.
type loose struct {
	place
	node *node
}

func (l *loose) decode(d *decoder, n *node, p place, f field) { l.place, l.node = p, n }

// resolve reads a loose quantity. A pH may stand without a unit.
func (d *decoder) resolve(l loose, dim *unit.Dimension) (float64, bool) {
	if !l.given() {
		return 0, false
	}
	if dim == unit.PH && l.node.kind == numeric {
		x, err := unit.Number(l.node.text)
		if err != nil {
			d.explain(l.place, err)
			return 0, false
		}
		return x, true
	}
	v, ok := d.amount(l.node, l.place, dim)
	return v.Canonical(), ok
}
