package sim

import (
	"math/rand/v2"

	"wickd/model/design"
	"wickd/model/hydraulics"
)

// similar is a medium whose pores are those of another, all larger or smaller
// in one proportion (Miller & Miller 1956, J. Appl. Phys. 27:324): heads scale
// with one length. Content and conductivity are scaled beside it.
type similar struct {
	of hydraulics.Material
	factors
}

var _ hydraulics.Material = similar{}

func (s similar) Residual() float64  { return s.of.Residual() }
func (s similar) Saturated() float64 { return s.scale(s.of.Saturated()) }

func (s similar) Theta(h float64) float64 { return s.scale(s.of.Theta(s.head * h)) }

func (s similar) Capacity(h float64) float64 {
	return s.content * s.head * s.of.Capacity(s.head*h)
}

func (s similar) Conductivity(h float64) float64 {
	return s.conductivity * s.of.Conductivity(s.head*h)
}

func (s similar) scale(theta float64) float64 {
	return s.of.Residual() + s.content*(theta-s.of.Residual())
}

// factors are one draw of a medium.
type factors struct{ content, head, conductivity float64 }

func (s Scatter) draw(rng *rand.Rand, share float64) factors {
	return factors{
		content:      lognormal(rng, share*s.Content),
		head:         lognormal(rng, share*s.Suction),
		conductivity: lognormal(rng, share*s.Conductivity),
	}
}

func (f factors) times(g factors) factors {
	return factors{f.content * g.content, f.head * g.head, f.conductivity * g.conductivity}
}

// fullest keeps a scattered medium from being all pores.
const fullest = 0.99

// of scatters a material. One of van Genuchten's stays one, which the solver
// evaluates faster.
func (f factors) of(m hydraulics.Material) hydraulics.Material {
	room := (fullest - m.Residual()) / (m.Saturated() - m.Residual())
	f.content = min(f.content, max(1, room))
	v, ok := m.(hydraulics.VanGenuchten)
	if !ok {
		return similar{of: m, factors: f}
	}
	v.SaturatedTheta = v.ResidualTheta + f.content*(v.SaturatedTheta-v.ResidualTheta)
	v.Alpha *= f.head
	v.Ks *= f.conductivity
	return v
}

// batches are the deliveries of media and wicks: what all bags of a kind share.
type batches struct {
	seed    uint64
	scatter Scatter
}

func (b *batches) draw(kind string) factors {
	return b.scatter.draw(stream(b.seed, kind), 1)
}

// materials are a bag's medium and wick: the batch's, and the bag's own
// packing on top.
func (b *batches) materials(d *design.Bag, rng *rand.Rand) (hydraulics.Material, hydraulics.Wick) {
	packing, cutting := b.scatter.draw(rng, 0.5), b.scatter.draw(rng, 0.5)
	medium := b.draw("media/" + d.Bag.Media).times(packing).of(d.Hydraulic.Store.Material())
	wick := d.Wick
	wick.Material = b.draw("wicks/" + d.Bag.Wick).times(cutting).of(wick.Material)
	return medium, wick
}
