package config

import (
	"fmt"

	"wickd/model/climate"
	"wickd/model/hydraulics"
)

// material takes the name of a built-in medium or wick material. Media and
// wicks share one list: stone wool serves as either.
func (b *builder) material(t text, what string) string {
	if m, ok := hydraulics.Typical(t.value); ok {
		return m.Name
	}
	b.report(t.place, fmt.Sprintf("no %s %q", what, t.value), choose(t.value, hydraulics.TypicalNames()))
	return t.value
}

// builtInCrop finds the proper name of a built-in crop.
func builtInCrop(name string) (string, bool) {
	c, ok := climate.Lookup(name)
	return c.Name, ok
}

func builtInCropNames() []string {
	var names []string
	for _, c := range climate.Crops() {
		names = append(names, c.Name)
	}
	return names
}
