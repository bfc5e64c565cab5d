package design

import (
	"math"
)

// seriesSteps makes the height reached err by less than a thousandth.
const seriesSteps = 400

// Conveyed is what wick and medium in series carry to the roots in a steady
// state, L/d: the greatest flow at which the uppermost roots have not yet dried
// to where uptake begins to fall. A wick may lift more than a coarse medium
// passes on, and then it is the medium that decides.
//
// Water enters at the base and is taken up evenly through the medium, so above
// height z there flows what the volume above it asks for:
//
//	ds/dz = 1 + Q·(1 − V(z)/V) / (K(s)·A(z))
//
// with Q what the wick lifts at the base suction. A drier base means more flow
// and a drier top, so one base suction just keeps the top at the limit.
func (b *Bag) Conveyed() float64 {
	limit := b.Hydraulic.Feddes.Dry1
	height := b.Hydraulic.Store.Tube().Height()
	wettest, driest := b.Lift, limit
	if limit-wettest <= height {
		return 0 // even at rest the top is drier
	}
	for range 40 {
		base := (wettest + driest) / 2
		if b.reach(base, limit) >= height {
			wettest = base
		} else {
			driest = base
		}
	}
	return 24 * b.Hydraulic.Supply.Flow(wettest) / 1000
}

// reach is the height, cm, at which the suction has grown from base to limit,
// stepping in the logarithm of the suction: dz/ds stays below 1 however little
// the medium conducts.
func (b *Bag) reach(base, limit float64) float64 {
	store := b.Hydraulic.Store
	section := store.Tube().Section()
	length, height := store.Tube().Length, section.Height()
	total := section.Area(height)
	flow := b.Hydraulic.Supply.Flow(base) / length // cm²/h
	z := 0.0
	ratio := math.Pow(limit/base, 1.0/seriesSteps)
	for s := base; s < limit*(1-1e-9) && z < height; s *= ratio {
		mid := s * math.Sqrt(ratio)
		k := store.Material().Conductivity(-mid)
		width := section.Width(math.Max(z, height/seriesSteps))
		through := 0.0
		if width > 0 {
			through = flow * (1 - section.Area(z)/total) / width
		}
		z += s * (ratio - 1) * k / (k + through)
	}
	return z
}
