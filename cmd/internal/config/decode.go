package config

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
)

// maxVisits bounds the values that aliases may unfold into while reading. A bag
// that uses every key takes 45, a usual one 15; there are at most 10 000.
const maxVisits = 500_000

// decoder fills the raw structs from the tree. It is strict about keys and
// kinds, and goes on after a problem so that all are found at once.
type decoder struct {
	file     string
	problems Problems
	visits   int
	fields   map[reflect.Type][]field
	// faulty has the paths of all problems, and of what they are part of, so
	// that one mistake is not told twice.
	faulty map[string]bool
}

// newDecoder starts with the problems of the YAML itself.
func newDecoder(file string, problems Problems) *decoder {
	d := &decoder{file: file, problems: problems, fields: map[reflect.Type][]field{}, faulty: map[string]bool{}}
	for _, p := range problems {
		d.mark(p.Path)
	}
	return d
}

// leaf is a value that reads itself from a node.
type leaf interface {
	decode(d *decoder, n *node, at place, f field)
}

// placed is a value that remembers where it stands.
type placed interface{ put(place) }

// report adds a problem at a place.
func (d *decoder) report(p place, message, hint string) {
	d.mark(p.path)
	d.problems = append(d.problems, Problem{File: d.file, Line: max(p.line, 1), Column: max(p.column, 1), Path: p.path, Message: message, Hint: hint})
}

// mark remembers that something is wrong at a path.
func (d *decoder) mark(path string) {
	for !d.faulty[path] {
		d.faulty[path] = true
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
}

// reported says that a problem at a place or within it is known already.
func (d *decoder) reported(p place) bool { return d.faulty[p.path] }

// missing reports a key that is not there, unless something is known to be
// wrong with it.
func (d *decoder) missing(owner place, key, message, hint string) {
	if p := owner.under(key); !d.reported(p) {
		d.report(p, message, hint)
	}
}

// value decodes n into v. The place of a map is that of its key, where there
// is one, because that is what a person looks for.
func (d *decoder) value(v reflect.Value, n *node, where place, f field) {
	if d.visits++; d.visits > maxVisits {
		if d.visits == maxVisits+1 {
			d.report(where, "aliases unfold into too much", "write fewer of them")
		}
		return
	}
	if n.kind == nothing {
		if n.text != unusable {
			d.report(at(n, where.path), "has no value", f.help())
		}
		return
	}
	if l, ok := v.Addr().Interface().(leaf); ok {
		l.decode(d, n, at(n, where.path), f)
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.value(v.Elem(), n, where, f)
	case reflect.Slice:
		d.list(v, n, where, f)
	case reflect.Map:
		d.table(v, n, where, f)
	case reflect.Struct:
		d.structure(v, n, where, f)
	default:
		panic("config: no way to decode " + v.Type().String())
	}
}

func (d *decoder) wrongKind(n *node, where place, want kind, f field) {
	d.report(at(n, where.path), fmt.Sprintf("%s is given, but %s is needed", n.shown(), want), f.help())
}

// filled reports a list or a map that must have entries and has none.
func (d *decoder) filled(entries int, n *node, where place, f field) {
	if entries == 0 && f.required {
		d.report(at(n, where.path), "has no entries", f.help())
	}
}

// list decodes a sequence.
func (d *decoder) list(v reflect.Value, n *node, where place, f field) {
	if n.kind != sequence {
		d.wrongKind(n, where, sequence, f)
		return
	}
	d.filled(len(n.items), n, where, f)
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		d.value(v.Index(i), item, at(item, fmt.Sprintf("%s[%d]", where.path, i)), field{example: f.element()})
	}
}

// table decodes a map whose keys are the grower's own names.
func (d *decoder) table(v reflect.Value, n *node, where place, f field) {
	if n.kind != mapping {
		d.wrongKind(n, where, mapping, f)
		return
	}
	d.filled(len(n.entries), n, where, f)
	v.Set(reflect.MakeMap(v.Type()))
	for _, e := range d.unparted(n, where) {
		item := reflect.New(v.Type().Elem()).Elem()
		d.value(item, e.value, at(e.key, join(where.path, e.key.text)), field{})
		if e.value.kind != nothing {
			v.SetMapIndex(reflect.ValueOf(e.key.text), item)
		}
	}
}

// structure decodes a map whose keys are known.
func (d *decoder) structure(v reflect.Value, n *node, where place, f field) {
	if n.kind != mapping {
		d.wrongKind(n, where, mapping, f)
		return
	}
	if p, ok := v.Addr().Interface().(placed); ok {
		p.put(where)
	}
	known := d.fieldsOf(v.Type())
	given := map[string]bool{}
	for _, e := range n.entries {
		given[e.key.text] = true
	}
	found := map[string]bool{}
	for _, e := range d.unparted(n, where) {
		i := slices.IndexFunc(known, func(f field) bool { return f.key == e.key.text })
		if i < 0 {
			d.unknownKey(e.key, where, known, given)
			continue
		}
		found[e.key.text] = true
		d.value(v.FieldByIndex(known[i].index), e.value, at(e.key, join(where.path, e.key.text)), known[i])
	}
	for _, f := range known {
		if f.required && !found[f.key] {
			d.missing(where, f.key, "is missing", f.help())
		}
	}
}

// integral is what stands before a decimal comma.
var integral = regexp.MustCompile(`^[+-]?[0-9]+$`)

// unparted reports numbers with a decimal comma, and gives the other entries: within
// braces the comma parts a number, and what follows looks like a key without a
// value: {lift: 7,0 cm}.
func (d *decoder) unparted(n *node, where place) []entry {
	var all []entry
	for _, e := range n.entries {
		last := len(all) - 1
		bare := e.value.kind == nothing && e.key.text != "" && e.key.text[0] >= '0' && e.key.text[0] <= '9'
		if !bare || last < 0 || !integral.MatchString(all[last].value.text) {
			all = append(all, e)
			continue
		}
		before := all[last]
		d.comma(at(before.value, join(where.path, before.key.text)), before.value.text, e.key.text)
		all = all[:last]
	}
	return all
}

// comma reports a number that its decimal comma parts in two.
func (d *decoder) comma(p place, whole, rest string) {
	d.report(p, fmt.Sprintf("%q has a comma", whole+","+rest), fmt.Sprintf("write a decimal point: %q", whole+"."+rest))
}

// unknownKey says which key was meant: one that is not given beside it.
func (d *decoder) unknownKey(key *node, where place, known []field, given map[string]bool) {
	names, free := make([]string, len(known)), []string(nil)
	for i, f := range known {
		names[i] = f.key
		if !given[f.key] {
			free = append(free, f.key)
		}
	}
	hint := "known here: " + strings.Join(names, ", ")
	if near := nearest(key.text, free); near != "" {
		d.mark(join(where.path, near)) // so it is not missing as well
		hint = fmt.Sprintf("did you mean %q?", near)
	} else if home := d.belongs(key.text, where); home != "" {
		hint = fmt.Sprintf("%s belongs %s; %s", key.text, home, hint)
	}
	d.report(at(key, join(where.path, key.text)), "unknown key", hint)
}

// shown is how a problem quotes a value.
func (n *node) shown() string {
	switch n.kind {
	case textual, numeric, boolean:
		text := n.text
		if len(text) > 60 {
			text = strings.ToValidUTF8(text[:60], "") + "…"
		}
		return fmt.Sprintf("%q", text)
	}
	return string(n.kind)
}
