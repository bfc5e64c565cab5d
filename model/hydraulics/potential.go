package hydraulics

import "math"

// potential is the matric flux potential of a material (Gardner 1958),
//
//	Φ(s) = ∫ₛ^∞ K(s') ds'   cm²/h
//
// kept as ln Φ over ln s. It gives the mean conductivity between two heads as
// it is, where averages of a few values of K err by half when K falls by
// decades between two nodes.
type potential struct {
	material Material
	ks       float64
	wet      float64 // Φ at saturation
	table    *curve  // −ln Φ over ln s
}

const (
	potentialNodes       = 360
	wettestPotential     = 1e-4 // cm, below which K is Ks
	smallestPotentialLog = -600
)

func newPotential(m Material) (*potential, error) {
	lo, hi := math.Log(wettestPotential), math.Log(DriestSuction)
	step := (hi - lo) / (potentialNodes - 1)
	r := newRule(8)
	kds := func(u float64) float64 { return m.Conductivity(-math.Exp(u)) * math.Exp(u) }
	u, y, d := make([]float64, potentialNodes), make([]float64, potentialNodes), make([]float64, potentialNodes)
	// K falls at least as s⁻² when dry, so what lies beyond the table is less
	// than K·s there; the floor stands for what doubles cannot hold.
	phi := math.Max(kds(hi), math.Exp(smallestPotentialLog))
	for i := potentialNodes - 1; i >= 0; i-- {
		u[i] = lo + step*float64(i)
		if i < potentialNodes-1 {
			phi += r.over(kds, u[i], u[i]+step)
		}
		y[i] = -math.Log(phi)
		d[i] = kds(u[i]) / phi
	}
	table, err := newCurve(u, y, d)
	if err != nil {
		return nil, err
	}
	p := &potential{material: m, ks: m.Conductivity(0), table: table}
	p.wet = math.Exp(-y[0]) + p.ks*wettestPotential
	return p, nil
}

// at is Φ at a head; above saturation it goes on rising by Ks.
func (p *potential) at(h float64) float64 {
	if h > -wettestPotential {
		return p.wet + p.ks*h
	}
	return math.Exp(-p.table.at(math.Log(-h)))
}

// mean is the conductivity averaged over the heads from a to b, with its
// slopes in each, given K there.
func (p *potential) mean(a, b, ka, kb float64) (k, da, db float64) {
	d := a - b
	if math.Abs(d) <= 1e-3*(1e-3+math.Abs(a)+math.Abs(b)) {
		mid := p.material.Conductivity(0.5 * (a + b))
		return (ka + 4*mid + kb) / 6, 0, 0
	}
	k = (p.at(a) - p.at(b)) / d
	// A mean lies between its ends, whatever the table's rounding.
	k = math.Max(math.Min(ka, kb), math.Min(math.Max(ka, kb), k))
	return k, (ka - k) / d, (k - kb) / d
}

// climb is the suction reached when a flux times a distance, cm²/h, is passed
// from suction s on: Φ falls by it. Where it falls to nothing the medium
// cannot pass so much and is dry.
func (p *potential) climb(s, loss float64) float64 {
	if loss == 0 {
		return s
	}
	phi := p.at(-s) - loss
	switch {
	case phi >= p.wet:
		return -(phi - p.wet) / p.ks
	case phi <= 0:
		return DriestSuction
	}
	return math.Exp(p.table.solve(-math.Log(phi)))
}
