package estimate

import (
	"math"

	"wickd/model/hydraulics"
)

// Bags of one medium over one lift share the error of that medium's figures.
// A probe's offset and that error look alike in one bag; over many bags the
// offsets average out and the error remains. What the offsets have in common,
// shrunk by how much of it may be chance, is taken as the model's error.

// kinKey is what bags must share to share that error.
type kinKey struct {
	store *hydraulics.Store
	lift  float64
}

// kinship is what the offsets of one kind of bag have in common.
type kinship struct {
	sum float64
	n   int
}

// kin adds up the offsets of each kind of bag whose probes are in use.
func (e *Estimator) kin() map[kinKey]kinship {
	out := map[kinKey]kinship{}
	for _, b := range e.bags {
		if b.Readings > 0 && !b.Lost {
			k := out[b.kinKey()]
			k.sum += b.Roll.X[iOffset]
			k.n++
			out[b.kinKey()] = k
		}
	}
	return out
}

func (b *bag) kinKey() kinKey { return kinKey{b.physics.Hydraulic.Store, b.physics.Lift} }

// chance is the variance of the mean of what is each probe's own.
func (k kinship) chance() float64 { return sq(priorProbe) / float64(k.n) }

// shift is the model's error of the water content of a bag, m³/m³, to be added
// to what the filter holds.
func (k kinship) shift() float64 {
	if k.n == 0 {
		return 0
	}
	return k.sum / float64(k.n) * sq(priorModel) / (sq(priorModel) + k.chance())
}

// shiftSD is its standard deviation, with what one bag's packing differs from
// the next, which no single probe can tell from its own offset.
func (k kinship) shiftSD() float64 {
	common := sq(priorModel)
	if k.n > 0 {
		common *= k.chance() / (sq(priorModel) + k.chance())
	}
	return math.Sqrt(common + sq(priorPacking))
}

// commonOf is the demand factor that a bag shares with its reservoir's others,
// today's departure left out, and its standard deviation of the logarithm.
func (e *Estimator) commonOf(b *bag) (factor, sd float64) {
	return math.Exp(b.source.X[jHouse]), math.Sqrt(b.source.P[jHouse][jHouse])
}
