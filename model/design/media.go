package design

import (
	"fmt"

	"wickd/model"
	"wickd/model/hydraulics"
)

// medium finds what a bag is filled with, and notes what is only typical.
func (b *builder) medium(name string) (model.Medium, hydraulics.Material, []string, error) {
	m, ok := b.site.Media[name]
	if !ok {
		// A bag may name a built-in medium directly.
		m = model.Medium{Name: name, BuiltIn: name, Typical: true}
	}
	material, notes, err := Material(m)
	if err != nil {
		return m, nil, nil, fmt.Errorf("media %s: %w", name, err)
	}
	return m, material, notes, nil
}

// Material makes the hydraulic material of a medium, with notes on what of it
// rests on typical values.
func Material(m model.Medium) (hydraulics.Material, []string, error) {
	switch {
	case m.Retention != nil:
		v, err := vanGenuchten(*m.Retention, m.Conductivity)
		return v, nil, err
	case len(m.Parts) > 0:
		return mix(m)
	default:
		t, ok := hydraulics.Typical(m.BuiltIn)
		if !ok {
			return nil, nil, fmt.Errorf("%q is neither given with figures nor built in", m.BuiltIn)
		}
		return t.Material, []string{m.Name + ": " + t.Origin}, nil
	}
}

func mix(m model.Medium) (hydraulics.Material, []string, error) {
	parts := make([]hydraulics.Part, 0, len(m.Parts))
	var notes []string
	for _, p := range m.Parts {
		t, ok := hydraulics.Typical(p.Material)
		if !ok {
			return nil, nil, fmt.Errorf("part %q is not built in", p.Material)
		}
		parts = append(parts, hydraulics.Part{Name: p.Material, Fraction: p.Fraction, Material: t.Material})
		notes = append(notes, p.Material+": "+t.Origin)
	}
	o := hydraulics.MixOptions{Ks: m.Conductivity}
	if m.Shrink >= 0 {
		o.Shrink, o.MeasuredShrink = m.Shrink, true
	}
	mixed, err := hydraulics.Mix(parts, o)
	if err != nil {
		return nil, nil, err
	}
	if share, typical := mixed.Shrink(); typical {
		notes = append(notes, fmt.Sprintf("%s: loses %.0f %% of its volume in mixing (typical; measure it)", m.Name, 100*share))
	}
	return mixed, notes, nil
}

func wickMaterial(k model.WickKind) (hydraulics.Material, []string, error) {
	if k.Retention != nil {
		v, err := vanGenuchten(*k.Retention, k.Conductivity)
		return v, nil, err
	}
	t, ok := hydraulics.Typical(k.Material)
	if !ok {
		return nil, nil, fmt.Errorf("wick %s: material %q is not built in", k.Name, k.Material)
	}
	if k.Conductivity > 0 {
		t.Material.Ks = k.Conductivity
	}
	return t.Material, []string{k.Name + ": " + t.Origin}, nil
}

// wickName is the built-in material, or else the name of the kind.
func wickName(k model.WickKind) string {
	if k.Material != "" {
		return k.Material
	}
	return k.Name
}

func vanGenuchten(r model.Retention, conductivity float64) (hydraulics.VanGenuchten, error) {
	v := hydraulics.VanGenuchten{
		ResidualTheta: r.Residual, SaturatedTheta: r.Saturated, Alpha: r.Alpha, N: r.N, Ks: conductivity,
	}
	return v, v.Validate()
}
