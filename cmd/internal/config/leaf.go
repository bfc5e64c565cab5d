package config

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"wickd/model/unit"
)

// The leaves of the raw structs: each knows its place, its value and how it is
// written.

// text is a string.
type text struct {
	place
	value string
}

func (t *text) decode(d *decoder, n *node, p place, f field) {
	switch {
	case n.kind == textual && n.text == "":
		d.report(p, "is empty", f.help())
	case n.kind == textual && len(f.enum) > 0 && !slices.Contains(f.enum, n.text):
		d.report(p, fmt.Sprintf("%s is not known", n.shown()), choose(n.text, f.enum))
	case n.kind == textual:
		t.place, t.value = p, n.text
	case n.kind == numeric || n.kind == boolean:
		d.report(p, fmt.Sprintf("%s is %s, but text is needed", n.shown(), n.kind), fmt.Sprintf("put it in quotes: %q", n.text))
	case n.parted() != "":
		d.report(p, fmt.Sprintf("%s is given, but text is needed", n.shown()), fmt.Sprintf("put it in quotes: %q", n.parted()))
	default:
		d.wrongKind(n, p, textual, f)
	}
}

// parted is the text without quotes that YAML reads as a map for the colon in it, as
// it does in a list: [06:00-12:00]; empty: n is no such map.
func (n *node) parted() string {
	if n.kind != mapping || len(n.entries) != 1 {
		return ""
	}
	key, value := n.entries[0].key, n.entries[0].value
	if value.text == "" || value.line != key.line || value.column != key.column+utf8.RuneCountInString(key.text)+1 {
		return ""
	}
	return key.text + ":" + value.text
}

// choose points at the words that would do.
func choose(word string, known []string) string {
	if near := nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return "known are " + strings.Join(known, ", ")
}

// label is a name or an id, which may look like a number.
type label struct{ text }

func (l *label) decode(d *decoder, n *node, p place, f field) {
	if n.kind == numeric {
		l.place, l.value = p, n.text
		return
	}
	l.text.decode(d, n, p, f)
}

// number is a plain number without a unit.
type number struct {
	place
	value float64
}

func (x *number) decode(d *decoder, n *node, p place, f field) {
	if n.kind == mapping || n.kind == sequence || n.kind == boolean {
		d.wrongKind(n, p, numeric, f)
		return
	}
	v, err := unit.Number(n.text)
	if err != nil {
		d.explain(p, err)
		return
	}
	if n.kind == textual {
		d.report(p, fmt.Sprintf("%s is text", n.shown()), "write the number without quotes")
		return
	}
	if f.bounds != nil && !f.bounds.hold(v) {
		d.report(p, fmt.Sprintf("%s is impossible", n.text), fmt.Sprintf("must lie between %s and %s%s", f.low, f.high, f.also()))
		return
	}
	x.place, x.value = p, v
}

// integer is a whole number.
type integer struct {
	place
	value int
}

func (x *integer) decode(d *decoder, n *node, p place, f field) {
	var v number
	if v.decode(d, n, p, f); !v.given() {
		return
	}
	if v.value != math.Trunc(v.value) || math.Abs(v.value) > math.MaxInt32 {
		d.report(p, fmt.Sprintf("%s is not a whole number", n.text), f.help())
		return
	}
	x.place, x.value = p, int(v.value)
}

// flag is true or false.
type flag struct {
	place
	value bool
}

func (b *flag) decode(d *decoder, n *node, p place, f field) {
	if n.kind != boolean {
		d.wrongKind(n, p, boolean, f)
		return
	}
	v, err := strconv.ParseBool(n.text)
	if err != nil {
		d.wrongKind(n, p, boolean, f)
		return
	}
	b.place, b.value = p, v
}

// date is a day, at midnight UTC.
type date struct {
	place
	value time.Time
}

func (t *date) decode(d *decoder, n *node, p place, f field) {
	v, err := time.Parse(time.DateOnly, n.text)
	if n.kind != textual || err != nil {
		d.report(p, fmt.Sprintf("%s is not a date", n.shown()), "for example 2026-04-10")
		return
	}
	if v.Year() < 2000 || v.Year() > 2100 {
		d.report(p, fmt.Sprintf("%s is impossible", n.text), "the year must lie between 2000 and 2100")
		return
	}
	t.place, t.value = p, v
}

// explain reports an error of a quantity.
func (d *decoder) explain(p place, err error) {
	var e *unit.Error
	if errors.As(err, &e) {
		d.report(p, e.Reason, e.Hint)
		return
	}
	d.report(p, err.Error(), "")
}
