package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/hydraulics"
	"wickd/model/unit"
)

// crop finds a crop by name, in the site file first.
func (z sizeCommand) crop(site *model.Site) (model.Crop, error) {
	c, ok := site.Crops[z.Crop]
	if !ok {
		built, known := climate.Lookup(z.Crop)
		if z.Crop != "" && !known {
			return c, unknown("crop", z.Crop, keys(site.Crops), builtInCrops())
		}
		if z.Crop == "" {
			return c, fmt.Errorf("nothing says what is to grow: give --crop, for example --crop strawberry (%s)", strings.Join(builtInCrops(), ", "))
		}
		c = model.Crop{Name: built.Name, Builtin: built.Name}
	}
	if z.Drink.given {
		c.LitresPerPlant = z.Drink.value
	}
	return c, nil
}

func builtInCrops() []string {
	var names []string
	for _, c := range climate.Crops() {
		names = append(names, c.Name)
	}
	return names
}

// medium finds a medium by name, in the site file first, or reads a mix; empty
// when none is asked for.
func (z sizeCommand) medium(site *model.Site) (model.Medium, error) {
	m := model.Medium{Shrink: -1}
	switch {
	case z.Media == "":
		if z.Shrink.given {
			return m, fmt.Errorf("--shrink belongs to a mix: name it with --media, for example --media 'perlite 50%%, coir 50%%'")
		}
		return m, nil
	case strings.ContainsAny(z.Media, ",%"):
		parts, err := mixParts(z.Media)
		if err != nil {
			return m, err
		}
		m.Name, m.Parts, m.Typical = "mix", parts, true
	default:
		named, ok := site.Media[z.Media]
		if t, built := hydraulics.Typical(z.Media); !ok && built {
			named, ok = model.Medium{Name: t.Name, BuiltIn: t.Name, Typical: true, Shrink: -1}, true
		}
		if !ok {
			return m, unknown("medium", z.Media, keys(site.Media), hydraulics.TypicalNames())
		}
		m = named
	}
	if z.Shrink.given {
		if len(m.Parts) == 0 {
			return m, fmt.Errorf("--shrink belongs to a mix, and %s is not one", m.Name)
		}
		m.Shrink = z.Shrink.value
	}
	return m, nil
}

// mixParts reads "perlite 50%, coir 30 %, peat 20%".
func mixParts(text string) ([]model.Part, error) {
	var parts []model.Part
	sum := 0.0
	for _, piece := range strings.Split(text, ",") {
		piece = strings.TrimSpace(piece)
		at := strings.IndexFunc(piece, func(r rune) bool { return r >= '0' && r <= '9' })
		if at < 1 {
			return nil, fmt.Errorf("%q does not say how much of what: write a mix as 'perlite 50%%, coir 50%%'", piece)
		}
		name := strings.TrimSpace(strings.TrimRight(piece[:at], " :="))
		share, err := unit.Parse(piece[at:], unit.Ratio)
		if err != nil {
			return nil, fmt.Errorf("share of %s: %w", name, err)
		}
		t, ok := hydraulics.Typical(name)
		if !ok {
			return nil, unknown("medium", name, nil, hydraulics.TypicalNames())
		}
		parts = append(parts, model.Part{Material: t.Name, Fraction: share.Canonical()})
		sum += share.Canonical()
	}
	const rounding = 0.005
	if sum < 1-rounding || sum > 1+rounding {
		return nil, fmt.Errorf("the parts of %q add up to %.4g %%: they must add up to 100 %%", text, 100*sum)
	}
	for i := range parts {
		parts[i].Fraction /= sum
	}
	return parts, nil
}

// wick finds a wick by name, in the site file first; empty when none is asked
// for. A section given beside it counts.
func (z sizeCommand) wick(site *model.Site) (model.WickKind, error) {
	w, ok := site.Wicks[z.Wick]
	if z.Wick != "" && !ok {
		t, built := hydraulics.Typical(z.Wick)
		if !built {
			return w, unknown("wick", z.Wick, keys(site.Wicks), hydraulics.TypicalNames())
		}
		w = model.WickKind{Name: t.Name, Material: t.Name, Typical: true}
	}
	if z.Section.given {
		w.Section = z.Section.value
	}
	return w, nil
}

func keys[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }

// unknown says that a name is not known and which are.
func unknown(what, name string, own, builtIn []string) error {
	hint := "built in are " + strings.Join(builtIn, ", ")
	if len(own) > 0 {
		hint = "the site file has " + strings.Join(own, ", ") + "; " + hint
	}
	return fmt.Errorf("no %s %q: %s", what, name, hint)
}
