package config

import (
	"fmt"
	"math"

	"wickd/model"
)

// unmeasuredShrink says that the loss on mixing is not known (model.Medium).
const unmeasuredShrink = -1

// media makes the media, each given in exactly one way.
func (b *builder) media() {
	b.site.Media = map[string]model.Medium{}
	for _, name := range inOrder(b.raw.Media) {
		raw := b.raw.Media[name]
		if !raw.given() || !b.checkTitle(raw.place, name) {
			continue
		}
		b.site.Media[name] = b.medium(name, raw)
	}
}

func (b *builder) medium(name string, raw rawMedium) model.Medium {
	m := model.Medium{Name: name, Shrink: unmeasuredShrink}
	b.exactlyOne(raw.place, "give retention with conductivity, parts, or typical, for example typical: coir",
		way{"retention", measured(raw.Retention, raw.Conductivity)}, way{"parts", raw.Parts != nil}, way{"typical", raw.Typical.given()})
	switch {
	case raw.Typical.given():
		m.BuiltIn, m.Typical = b.material(raw.Typical, "built-in medium"), true
	case raw.Parts != nil:
		m.Parts, m.Typical = b.parts(raw), true
	case measured(raw.Retention, raw.Conductivity):
		m.Retention, m.Conductivity = b.retention(raw.Retention, raw.Conductivity, raw.place)
	}
	if raw.Shrink.given() {
		m.Shrink = raw.Shrink.value
		if raw.Parts == nil {
			b.report(raw.Shrink.place, "shrink belongs to parts", "a medium that is measured as a whole has none")
		}
	}
	return m
}

// measured says that figures of one's own are given, be it half of them.
func measured(r *rawRetention, k conductivity) bool { return r != nil || k.given() }

// parts makes a mix, sorted by material.
func (b *builder) parts(raw rawMedium) []model.Part {
	var parts []model.Part
	var sum float64
	where := raw.under("parts")
	complete := !b.reported(where)
	for _, name := range inOrder(raw.Parts) {
		share := raw.Parts[name]
		if !share.given() {
			complete = false
			continue
		}
		where = place{line: share.line, column: share.column, path: where.path}
		material := b.material(text{place: share.place, value: name}, "built-in medium")
		if share.value <= 0 || share.value > 1 {
			b.report(share.place, fmt.Sprintf("%q is impossible", share.shown), "a part is above 0 % and at most 100 %")
			complete = false
		}
		sum += share.value
		parts = append(parts, model.Part{Material: material, Fraction: share.value})
	}
	// Shares are written in whole or half percents; three thirds of 33.3 %
	// must pass.
	const rounding = 0.005
	if complete && math.Abs(sum-1) > rounding {
		b.report(where, fmt.Sprintf("the parts add up to %.4g %%", sum*100), "they must add up to 100 %")
	}
	for i := range parts {
		parts[i].Fraction /= sum
	}
	return parts
}

// retention makes a measured curve with its conductivity.
func (b *builder) retention(raw *rawRetention, k conductivity, owner place) (*model.Retention, float64) {
	if raw == nil {
		b.missing(owner, "retention", "is missing beside the conductivity", "for example retention: {residual: 0.09, saturated: 0.73, alpha: 0.13 /cm, n: 1.53}")
		return nil, 0
	}
	if !k.given() {
		b.missing(owner, "conductivity", "is missing beside the retention", "for example conductivity: 330 cm/h")
	}
	if raw.Residual.given() && raw.Saturated.given() && raw.Residual.value >= raw.Saturated.value {
		b.report(raw.Residual.place, fmt.Sprintf("residual %g is not below saturated %g", raw.Residual.value, raw.Saturated.value), "")
	}
	return &model.Retention{
		Residual: raw.Residual.value, Saturated: raw.Saturated.value,
		Alpha: raw.Alpha.value, N: raw.N.value,
	}, k.value
}

// wicks makes the kinds of wick.
func (b *builder) wicks() {
	b.site.Wicks = map[string]model.WickKind{}
	for _, name := range inOrder(b.raw.Wicks) {
		raw := b.raw.Wicks[name]
		if !raw.given() || !b.checkTitle(raw.place, name) {
			continue
		}
		w := model.WickKind{Name: name, Section: raw.Section.value}
		b.exactlyOne(raw.place, "give material, or retention with conductivity, for example material: stone wool",
			way{"material", raw.Material.given()}, way{"retention", measured(raw.Retention, raw.Conductivity)})
		if raw.Material.given() {
			w.Material, w.Typical = b.material(raw.Material, "built-in wick material"), true
		} else if measured(raw.Retention, raw.Conductivity) {
			w.Retention, w.Conductivity = b.retention(raw.Retention, raw.Conductivity, raw.place)
		}
		b.site.Wicks[name] = w
	}
}

// way is one of several ways in which a thing can be given.
type way struct {
	key   string
	given bool
}

// exactlyOne reports ways that exclude each other, or none.
func (b *builder) exactlyOne(p place, how string, ways ...way) {
	given := 0
	for _, w := range ways {
		if w.given || b.reported(p.under(w.key)) {
			given++
		}
	}
	switch {
	case given == 0:
		b.report(p, "is incomplete", how)
	case given > 1:
		b.report(p, "is given in more than one way", how)
	}
}
