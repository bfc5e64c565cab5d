package estimate

import "math"

// Bags of one medium over one lift share the error of that medium's figures.
// A probe's offset and that error look alike in one bag; over many bags the
// offsets average out and the error remains. What the offsets have in common,
// shrunk by how much of it may be chance, is taken as the model's error.

// kin lists the bags that share medium, tube and lift with b, itself included,
// whose probes are in use.
func (e *Estimator) kin(b *bag) (sum float64, n int) {
	for _, o := range e.bags {
		if o.physics.Hydraulic.Store == b.physics.Hydraulic.Store && o.physics.Lift == b.physics.Lift && o.Readings > 0 && !o.Lost {
			sum += o.Roll.X[iOffset]
			n++
		}
	}
	return sum, n
}

// shift is the model's error of the water content of a bag, m³/m³, to be added
// to what the filter holds.
func (e *Estimator) shift(b *bag) float64 {
	sum, n := e.kin(b)
	if n == 0 {
		return 0
	}
	chance := sq(priorProbe) / float64(n)
	return sum / float64(n) * sq(priorModel) / (sq(priorModel) + chance)
}

func (e *Estimator) shiftSD(b *bag) float64 {
	_, n := e.kin(b)
	if n == 0 {
		return priorModel
	}
	chance := sq(priorProbe) / float64(n)
	return math.Sqrt(sq(priorModel) * chance / (sq(priorModel) + chance))
}

// commonOf is the demand factor that a bag shares with its reservoir's others,
// averaged over days, and its standard deviation of the logarithm.
func (e *Estimator) commonOf(b *bag) (factor, sd float64) {
	for _, r := range e.reservoirs {
		if r.physics.Reservoir.ID == b.physics.Channel.Reservoir {
			return math.Exp(r.Slow), math.Sqrt(r.P[jCommon][jCommon])
		}
	}
	return 1, priorCommon
}
