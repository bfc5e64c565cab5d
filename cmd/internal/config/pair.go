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
	if !d.pair(n, p, "[512, 0]", bare) {
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
	if !d.pair(n, p, "[400 mm, 150 L]", withUnits) {
		return
	}
	level, ok := d.amount(n.items[0], at(n.items[0], p.path+"[0]"), unit.Length)
	volume, ok2 := d.amount(n.items[1], at(n.items[1], p.path+"[1]"), unit.Volume)
	if ok && ok2 {
		r.place, r.level, r.volume = p, level.Canonical(), volume.Canonical()
	}
}

// written is how the values of a pair are written.
type written int

const (
	bare      written = iota // plain numbers
	withUnits                // each with its unit
)

// pair refuses what is not a list of two values.
func (d *decoder) pair(n *node, p place, example string, how written) bool {
	if n.kind != sequence {
		d.report(p, fmt.Sprintf("%s is given, but a pair is needed", n.shown()), "for example "+example)
		return false
	}
	halves := halves(n.items)
	switch {
	case len(n.items) == 2 && (how == bare || len(halves) == 0): // [512,0] is a pair
		return true
	case len(halves) == 0:
		d.report(p, fmt.Sprintf("a pair has 2 values, not %d", len(n.items)), "for example "+example)
	case how == bare && (len(n.items)-len(halves) != 2 || len(n.items) == 3 && halves[0] == 0 && halved(n.items[1], n.items[2])):
		// Which comma parts the two cannot be told.
		d.report(p, fmt.Sprintf("a pair has 2 values, not %d", len(n.items)), "for example "+example+"; a number has a decimal point, not a comma")
	default:
		for _, i := range halves {
			d.comma(at(n.items[i], fmt.Sprintf("%s[%d]", p.path, i)), n.items[i].text, n.items[i+1].text)
		}
	}
	return false
}

// halves finds the items of a list that a decimal comma parts from the one behind.
func halves(items []*node) (first []int) {
	for i := 0; i+1 < len(items); i++ {
		if halved(items[i], items[i+1]) {
			first = append(first, i)
			i++ // is the other half of this one
		}
	}
	return first
}

// halved says whether two items look like one number: digits, a comma without a
// space, and digits again.
func halved(a, b *node) bool {
	digits := b.text != "" && b.text[0] >= '0' && b.text[0] <= '9'
	return digits && integral.MatchString(a.text) && a.line == b.line && b.column == a.column+len(a.text)+len(",")
}
