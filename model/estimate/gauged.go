package estimate

import "math"

// gauged is what a reading of the level says: a volume, L, the variance of the
// sensor's noise in it, and the states that it depends on.
type gauged struct {
	volume, variance float64
	row              vector
}

// gauge reads a level, mm.
func (r *reservoir) gauge(level float64) gauged {
	litres := r.physics.AreaAt(level) // per mm
	return gauged{
		volume:   r.physics.Volume(level),
		variance: r.Noise.Variance * sq(litres),
		row:      vector{jVolume: 1, jWarm: litres * r.weather.warmth.excess(r.Time)},
	}
}

// innovation is what the reading says beyond a state, with its variance.
func (g gauged) innovation(x vector, p matrix) (nu, s float64) {
	return g.volume - g.row.dot(x), p.quadratic(g.row) + g.variance
}

// fuse learns from the reading; by is what it added to the volume, L.
func (g gauged) fuse(x vector, p matrix) (out vector, after matrix, by float64) {
	nu, s := g.innovation(x, p)
	gain, after := p.update(g.row, s, g.variance)
	for i := range states {
		x[i] += gain[i] * nu
	}
	x[jVolume] = math.Max(0, x[jVolume])
	return x, after, gain[jVolume] * nu
}

// set takes the reading at its word and keeps what is known of the rest.
func (g gauged) set(x vector, p matrix) (vector, matrix) {
	rest := g.row
	rest[jVolume] = 0
	x[jVolume] = math.Max(0, g.volume-rest.dot(x))
	return x, p.set(rest, 1, g.variance)
}
