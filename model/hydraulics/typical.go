package hydraulics

import (
	"fmt"
	"strings"
)

// TypicalMedium is a medium's typical figures. Deliveries differ widely (coir's air
// space alone runs from 11 to 89 %, Abad et al. 2005), so whatever rests on
// them must say so, and a weighed drain test replaces them.
type TypicalMedium struct {
	Name        string
	Material    VanGenuchten
	BulkDensity float64 // g/cm³, dry, at the usual packing
	Origin      string
}

// TypicalNames are the media with typical figures, in the order in which they
// are shown.
func TypicalNames() []string {
	names := make([]string, 0, 9)
	for _, t := range typicals() {
		names = append(names, t.Name)
	}
	return names
}

// Typical finds a medium by name, ignoring case.
func Typical(name string) (TypicalMedium, bool) {
	name = strings.ToLower(strings.TrimSpace(name))
	for _, t := range typicals() {
		if t.Name == name {
			return t, true
		}
	}
	return TypicalMedium{}, false
}

func typicals() []TypicalMedium {
	return []TypicalMedium{
		{"coir", VanGenuchten{ResidualTheta: 0.08, SaturatedTheta: 0.92, Alpha: 0.20, N: 1.55, Ks: 300}, 0.09,
			"typical: within the ranges for coir pith (θs 0.85–0.95, α 0.08–0.3 /cm, n 1.3–2); pore space and bulk density after Abad et al. 2005"},
		{"peat", VanGenuchten{ResidualTheta: 0.10, SaturatedTheta: 0.90, Alpha: 0.10, N: 1.45, Ks: 150}, 0.10,
			"typical: within the ranges for white sphagnum peat (θs 0.88–0.94, α 0.05–0.15 /cm, n 1.3–1.8, Ks 50–500 cm/h)"},
		{"perlite", VanGenuchten{ResidualTheta: 0.08, SaturatedTheta: 0.62, Alpha: 0.30, N: 1.60, Ks: 800}, 0.12,
			"typical: within the ranges for horticultural perlite 2–5 mm (θs 0.55–0.75, α 0.1–0.4 /cm, n 1.3–2.5)"},
		{"vermiculite", VanGenuchten{ResidualTheta: 0.12, SaturatedTheta: 0.75, Alpha: 0.12, N: 1.40, Ks: 150}, 0.12,
			"typical: common practice for medium vermiculite, no single source"},
		{"composted bark", VanGenuchten{ResidualTheta: 0.12, SaturatedTheta: 0.80, Alpha: 0.35, N: 1.40, Ks: 600}, 0.22,
			"typical: common practice for composted pine bark below 15 mm, no single source"},
		{"potting soil", VanGenuchten{ResidualTheta: 0.08, SaturatedTheta: 0.82, Alpha: 0.12, N: 1.40, Ks: 100}, 0.30,
			"typical: common practice for peat-based potting soil with compost, no single source"},
		{"stone wool", VanGenuchten{ResidualTheta: 0.01, SaturatedTheta: 0.95, Alpha: 0.09, N: 3.00, Ks: 120}, 0.07,
			"typical: within the ranges for stone wool (θs 0.92–0.96, α 0.05–0.2 /cm, n 2–4)"},
		{"wool felt", VanGenuchten{ResidualTheta: 0.03, SaturatedTheta: 0.85, Alpha: 0.05, N: 2.00, Ks: 60}, 0.18,
			"typical: common practice for needled wool felt, wetted through before use; no single source"},
		{"polyester felt", VanGenuchten{ResidualTheta: 0.01, SaturatedTheta: 0.90, Alpha: 0.10, N: 2.50, Ks: 200}, 0.12,
			"typical: common practice for needled polyester capillary matting, no single source"},
	}
}

// Porosities of compressed media stay below what would leave no pores between
// the solids.
const minPacking, maxPacking = 0.5, 2.0

// AtDensity is the medium packed to ratio times its usual bulk density. Solids
// are conserved, so pore space is 1 − ratio·(1 − θs); the pores' hydraulic
// radius goes with pore volume over solid surface, e = θs/(1 − θs), and α with
// it; conductivity follows Kozeny and Carman, Ks ∝ θs·e². Residual water sits
// on the solids and goes with the ratio. It states a tendency, not a
// measurement: a drain test at the real packing replaces it.
func (t TypicalMedium) AtDensity(ratio float64) (TypicalMedium, error) {
	if !(ratio >= minPacking && ratio <= maxPacking) {
		return TypicalMedium{}, fmt.Errorf("packing of %s: density ratio %g must lie in %g to %g of the usual %g g/cm³", t.Name, ratio, minPacking, maxPacking, t.BulkDensity)
	}
	m := t.Material
	before := m.SaturatedTheta / (1 - m.SaturatedTheta)
	m.SaturatedTheta = 1 - ratio*(1-m.SaturatedTheta)
	m.ResidualTheta *= ratio
	if m.SaturatedTheta <= m.ResidualTheta {
		return TypicalMedium{}, fmt.Errorf("packing of %s: density ratio %g leaves no pores; use a smaller one", t.Name, ratio)
	}
	after := m.SaturatedTheta / (1 - m.SaturatedTheta)
	m.Alpha *= after / before
	m.Ks *= m.SaturatedTheta / t.Material.SaturatedTheta * (after / before) * (after / before)
	t.Material = m
	t.BulkDensity *= ratio
	if ratio != 1 {
		t.Origin += fmt.Sprintf("; packed to %.2f of the usual density after Kozeny and Carman", ratio)
	}
	return t, m.Validate()
}
