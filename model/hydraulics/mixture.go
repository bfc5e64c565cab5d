package hydraulics

import (
	"fmt"
	"math"
	"sort"
)

// fill takes the lost pores from the parts, coarsest first.
func (m *Mixture) fill() error {
	order := make([]int, len(m.parts))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool {
		return halfDrained(m.parts[order[a]].Material) < halfDrained(m.parts[order[b]].Material)
	})
	if most := fillable(m.parts); m.shrink > most {
		return fmt.Errorf("shrink %g exceeds half the drainable pores of the parts (%.2g); measure it again", m.shrink, most)
	}
	left := 1 - m.shrink
	lost := m.shrink
	m.weight = make([]float64, len(m.parts))
	for _, i := range order {
		p := m.parts[i]
		span := drainable(p)
		take := math.Min(lost, span/2)
		lost -= take
		m.weight[i] = (span - take) / left
		m.residual += p.Fraction * p.Material.Residual() / left
	}
	m.saturated = m.residual
	for _, w := range m.weight {
		m.saturated += w
	}
	if m.saturated > 1+1e-9 {
		return fmt.Errorf("mix would hold %.3g of its volume; the parts' saturated contents are too high for shrink %g", m.saturated, m.shrink)
	}
	return nil
}

const mixtureNodes = 320

// tabulate takes Mualem's integral G(s) = ∫ₛ^∞ C/s' ds' from the dry end, in
// u = ln s, where it is ∫ C du, and beside it the effective saturation
// ∫ C·s' du, which as a difference of water contents would drown in rounding.
func (m *Mixture) tabulate() error {
	m.wettest, m.driest = math.Log(1e-6), math.Log(DriestSuction)
	r := newRule(10)
	c := func(u float64) pair {
		capacity := m.Capacity(-math.Exp(u))
		return pair{capacity, capacity * math.Exp(u)}
	}
	step := (m.driest - m.wettest) / (mixtureNodes - 1)
	u, y, d := make([]float64, mixtureNodes), make([]float64, mixtureNodes), make([]float64, mixtureNodes)
	// Beyond the ends C is a power of s, whose integral is its last value over
	// the exponent.
	a, b := c(m.driest-1), c(m.driest)
	sum := pair{tail(b.first, a.first), tail(b.second, a.second)}
	for i := mixtureNodes - 1; i >= 0; i-- {
		u[i] = m.wettest + step*float64(i)
		if i < mixtureNodes-1 {
			more := r.pairOver(c, u[i], u[i]+step)
			sum.first += more.first
			sum.second += more.second
		}
		here := c(u[i])
		y[i] = -DefaultConnectivity*math.Log(sum.second) - 2*math.Log(sum.first)
		d[i] = DefaultConnectivity*here.second/sum.second + 2*here.first/sum.first
	}
	end := c(m.wettest)
	full := DefaultConnectivity*math.Log(sum.second) + 2*math.Log(sum.first+tail(end.first, c(m.wettest+1).first))
	for i := range y {
		y[i] += full
	}
	var err error
	m.conductivity, err = newCurve(u, y, d)
	return err
}

// tail is the integral over u from a place on of a power law, given its value
// there and one e-fold towards the middle.
func tail(last, before float64) float64 {
	if last <= 0 || before <= last {
		return 100 * last
	}
	return last / math.Max(0.01, math.Log(before/last))
}

func (m *Mixture) Saturated() float64 { return m.saturated }
func (m *Mixture) Residual() float64  { return m.residual }

func (m *Mixture) Theta(h float64) float64 {
	theta, _ := m.retention(h)
	return theta
}

func (m *Mixture) Capacity(h float64) float64 {
	_, c := m.retention(h)
	return c
}

func (m *Mixture) retention(h float64) (theta, capacity float64) {
	if h >= 0 {
		return m.saturated, 0
	}
	theta = m.residual
	for i, p := range m.parts {
		t, c, _ := stateOf(p.Material, h)
		scale := m.weight[i] / (p.Material.Saturated() - p.Material.Residual())
		theta += scale * (t - p.Material.Residual())
		capacity += scale * c
	}
	return theta, capacity
}

func (m *Mixture) Conductivity(h float64) float64 {
	if h >= 0 {
		return m.ks
	}
	u := math.Log(-h)
	if u < m.wettest {
		// Between the driest and the wettest end K falls by a power of s; what
		// is left of the fall this close to saturation is shared in s.
		return m.ks * (1 + math.Exp(u-m.wettest)*math.Expm1(-m.conductivity.y[0]))
	}
	return m.ks * math.Exp(-m.conductivity.at(u))
}

func (m *Mixture) state(h float64) (theta, capacity, conductivity float64) {
	theta, capacity = m.retention(h)
	return theta, capacity, m.Conductivity(h)
}

// Shrink is the share of the parts' summed volumes that mixing loses, and
// whether it is the typical figure rather than a measured one.
func (m *Mixture) Shrink() (share float64, typical bool) { return m.shrink, m.typicalShrink }

// Yield is the volume of mix from one volume of parts.
func (m *Mixture) Yield() float64 { return 1 - m.shrink }

// EstimatedKs reports that the saturated conductivity was not measured.
func (m *Mixture) EstimatedKs() bool { return m.estimatedKs }

// Parts is a copy of what was mixed.
func (m *Mixture) Parts() []Part { return append([]Part(nil), m.parts...) }
