package config

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"wickd/model"
)

// maxName bounds ids and names: they are part of topics, of metric labels and
// of lines on a phone's lock screen.
const maxName = 64

// checkID refuses an id that could not stand in a topic, a subject or a label:
// letters, digits and - _ . only, a letter or digit first.
func (d *decoder) checkID(p place, id string) bool {
	return d.checkName(p, id, "-_.")
}

// checkTitle refuses a name of a medium, a wick or a crop that could not stand
// in a label or a message; unlike an id it may have spaces.
func (d *decoder) checkTitle(p place, name string) bool {
	return d.checkName(p, name, "-_. ")
}

func (d *decoder) checkName(p place, name, punctuation string) bool {
	if name == "" || utf8.RuneCountInString(name) > maxName {
		d.report(p, "a name has 1 to 64 characters", "for example a1")
		return false
	}
	for i, r := range name {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || i > 0 && strings.ContainsRune(punctuation, r) {
			continue
		}
		d.report(p, fmt.Sprintf("%q has the character %q", name, r), "use letters, digits, - _ and ., a letter or digit first")
		return false
	}
	if strings.HasSuffix(name, " ") {
		d.report(p, fmt.Sprintf("%q ends in a space", name), "")
		return false
	}
	return true
}

// refer checks a reference to a key of known. When that part of the file is
// missing or empty as a whole, that has been reported already.
func refer[T any](d *decoder, l label, what string, known map[string]T) {
	if _, ok := known[l.value]; ok || !l.given() || len(known) == 0 {
		return
	}
	d.report(l.place, fmt.Sprintf("no %s %q", what, l.value), choose(l.value, inOrder(known)))
}

// inOrder lists the keys of a map in a stable order.
func inOrder[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }

// conditions are those of the alerts with the quantity that their deadband is
// in; an empty quantity: it cannot be changed.
var conditions = []struct {
	name     model.Condition
	deadband model.Quantity
}{
	{"bag-dry", model.Moisture},
	{"bag-drying", ""},
	{"bag-waterlogged", model.Moisture},
	{"wick-failing", ""},
	{"bag-not-drinking", ""},
	{"salt-building", model.EC},
	{"roots-hot", model.Temperature},
	{"channel-dry", ""},
	{"reservoir-low", model.Level},
	{"reservoir-runout", ""},
	{"reservoir-exhausted", model.Level},
	{"leak", ""},
	{"ec-off-target", model.EC},
	{"ec-drift", model.EC},
	{"ph-off-target", model.PH},
	{"solution-warm", model.Temperature},
	{"sensors-lost", ""},
	{"sensor-silent", ""},
	{"sensor-stuck", ""},
	{"sensor-implausible", ""},
	{"disk-filling", ""},
	{"forwarding-behind", ""},
	{"clock-wrong", ""},
	{"journal-failing", ""},
	{"broker-lost", ""},
}

// Conditions lists the conditions that the site file may change, in the order
// of the design.
func Conditions() []model.Condition {
	var all []model.Condition
	for _, c := range conditions {
		all = append(all, c.name)
	}
	return all
}
