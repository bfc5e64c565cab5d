package config

import (
	"fmt"

	"wickd/model/unit"
)

// point is one calibration point, [raw, value].
type point struct {
	place
	raw, value number
}

func (pt *point) decode(d *decoder, n *node, p place, f field) {
	if !d.pair(n, p, "[512, 0]") {
		return
	}
	pt.raw.decode(d, n.items[0], at(n.items[0], p.path+"[0]"), field{})
	pt.value.decode(d, n.items[1], at(n.items[1], p.path+"[1]"), field{})
	if pt.raw.given() && pt.value.given() {
		pt.place = p
	}
}

// row is one row of a reservoir's table, [level, volume].
type row struct {
	place
	level, volume float64 // mm, L
}

func (r *row) decode(d *decoder, n *node, p place, f field) {
	if !d.pair(n, p, "[400 mm, 150 L]") {
		return
	}
	level, ok := d.amount(n.items[0], at(n.items[0], p.path+"[0]"), unit.Length)
	volume, ok2 := d.amount(n.items[1], at(n.items[1], p.path+"[1]"), unit.Volume)
	if ok && ok2 {
		r.place, r.level, r.volume = p, level.Canonical(), volume.Canonical()
	}
}

// pair refuses what is not a list of two values.
func (d *decoder) pair(n *node, p place, example string) bool {
	switch {
	case n.kind != sequence:
		d.report(p, fmt.Sprintf("%s is given, but a pair is needed", n.shown()), "for example "+example)
	case len(n.items) != 2:
		d.report(p, fmt.Sprintf("a pair has 2 values, not %d", len(n.items)), "for example "+example)
	default:
		return true
	}
	return false
}
