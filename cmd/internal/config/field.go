package config

import (
	"reflect"
	"slices"
	"strconv"
	"strings"

	"wickd/model/unit"
)

// field is what the tags of a raw struct say about one key. The same tags make
// the JSON Schema:
//
//	yaml:"diameter"                  the key
//	jsonschema:"required"            it must be there
//	jsonschema:"example=108 mm"      shown when it is missing or wrong
//	jsonschema:"minimum=0,maximum=1" bounds of a plain number
//	jsonschema:"enum=low,enum=high"  the only texts that are allowed
//	range:"30 mm..1 m"               bounds of a quantity, in its dimension
//	jsonschema_description:"…"       shown by editors
type field struct {
	index     []int
	key       string
	required  bool
	example   string
	low, high string   // bounds as written; empty: none
	bounds    *bounds  // the same as numbers; nil: none
	enum      []string // the only texts that are allowed
}

// help shows how the key is written.
func (f field) help() string {
	switch {
	case f.example == "":
		return ""
	case f.key == "":
		return "for example " + f.example
	}
	return "for example " + f.key + ": " + f.example
}

// also appends the example to another hint.
func (f field) also() string {
	if f.example == "" {
		return ""
	}
	return ", " + f.help()
}

// element is the example of one item of a list.
func (f field) element() string {
	return strings.TrimSuffix(strings.TrimPrefix(f.example, "["), "]")
}

// fieldsOf lists the keys of a raw struct.
func (d *decoder) fieldsOf(t reflect.Type) []field {
	if fs, ok := d.fields[t]; ok {
		return fs
	}
	var fs []field
	for _, sf := range reflect.VisibleFields(t) {
		key, tagged := sf.Tag.Lookup("yaml")
		if !tagged {
			continue
		}
		f := field{index: sf.Index, key: key}
		f.low, f.high, _ = strings.Cut(sf.Tag.Get("range"), "..")
		f.annotate(sf.Tag.Get("jsonschema"))
		f.limit(sf.Type)
		fs = append(fs, f)
	}
	d.fields[t] = fs
	return fs
}

// belongs says where a key that stands in a wrong place would be right, or nothing
// where no place knows it, or so many do that naming them would not help.
func (d *decoder) belongs(key string, where place) string {
	const few = 3
	homes := d.homes(reflect.TypeFor[file](), "", key, map[reflect.Type]bool{})
	if len(homes) > few { // what is meant is more likely close by
		part, _, _ := strings.Cut(strings.ReplaceAll(where.path, "[", "."), ".")
		homes = slices.DeleteFunc(homes, func(home string) bool { return home != part && !strings.HasPrefix(home, part+".") })
	}
	switch n := len(homes); {
	case n == 0 || n > few:
		return ""
	case homes[0] != "":
		return "under " + either(homes)
	case n == 1:
		return "at the top of the file, beside site and bags"
	}
	return "at the top of the file or under " + either(homes[1:])
}

// either names things of which one is meant.
func either(names []string) string {
	last := len(names) - 1
	if last == 0 {
		return names[0]
	}
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// homes are the places of the file that know a key, as a person writes them:
// "crops.<name>"; empty: the top of the file.
func (d *decoder) homes(t reflect.Type, path, key string, above map[reflect.Type]bool) []string {
	switch t.Kind() {
	case reflect.Pointer, reflect.Slice:
		return d.homes(t.Elem(), path, key, above)
	case reflect.Map:
		return d.homes(t.Elem(), join(path, "<name>"), key, above)
	case reflect.Struct:
	default:
		return nil
	}
	if above[t] {
		return nil
	}
	above[t] = true
	defer delete(above, t)
	var found []string
	for _, f := range d.fieldsOf(t) {
		if f.key == key {
			found = append(found, path)
		}
		found = append(found, d.homes(t.FieldByIndex(f.index).Type, join(path, f.key), key, above)...)
	}
	return found
}

// annotate reads the schema's tag; a comma in an example is written \\, there.
func (f *field) annotate(tag string) {
	tag = strings.ReplaceAll(tag, `\,`, "\x00")
	for word := range strings.SplitSeq(tag, ",") {
		name, value, _ := strings.Cut(strings.ReplaceAll(word, "\x00", ","), "=")
		switch name {
		case "required":
			f.required = true
		case "example":
			f.example = value
		case "minimum":
			f.low = value
		case "maximum":
			f.high = value
		case "enum":
			f.enum = append(f.enum, value)
		}
	}
}

// bounds are the limits of a value; of a quantity, in its canonical unit.
type bounds struct{ low, high float64 }

func (b bounds) hold(x float64) bool { return x >= b.low && x <= b.high }

// limit reads the bounds of a field of type t. Tags are part of the program,
// so one that cannot be read is a bug.
func (f *field) limit(t reflect.Type) {
	if f.low == "" && f.high == "" {
		return
	}
	parse := func(s string) (float64, error) { return strconv.ParseFloat(s, 64) }
	if q, ok := reflect.New(t).Interface().(dimensioned); ok {
		parse = func(s string) (float64, error) {
			v, err := unit.Parse(s, q.dimension())
			return v.Canonical(), err
		}
	}
	low, err := parse(f.low)
	high, err2 := parse(f.high)
	if err != nil || err2 != nil {
		panic("config: bad bounds of " + f.key)
	}
	f.bounds = &bounds{low, high}
}
