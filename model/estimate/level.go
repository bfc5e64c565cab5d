package estimate

import (
	"math"
	"time"
)

// observeLevel takes a good reading of the level, mm.
func (r *reservoir) observeLevel(t time.Time, level float64) (late bool) {
	if r.Time.IsZero() {
		r.begin(t)
	}
	if t.Before(r.Time) && r.Time.Sub(t) > neighbours {
		return true
	}
	r.Noise.observe(t, level, leastLevel)
	r.advance(t)
	v := r.physics.Volume(level)
	litres := r.physics.AreaAt(level) // per mm
	noiseV := r.Noise.Variance * sq(litres)
	if r.Readings == 0 || r.physics.Reservoir.FloatValve {
		r.setVolume(t, v, noiseV)
		return false
	}
	nu := v - r.X[jVolume]
	s := r.P[jVolume][jVolume] + noiseV
	if math.Abs(nu) > math.Max(refillSigma*math.Sqrt(s), refillFloor*litres) {
		r.jump(t, v, nu, noiseV)
		return false
	}
	r.Doubt = track{}
	r.NIS += (nu*nu/s - r.NIS) / nisMemory
	r.weighBreaches(v, noiseV)
	r.fuse(nu, s, noiseV)
	r.Readings++
	r.LastGood = t
	r.breached(t)
	r.launchBreaches(t)
	return false
}

// jump waits for a second reading before it believes a refill, a spill or a
// change of the solution.
func (r *reservoir) jump(t time.Time, v, nu, noiseV float64) {
	if r.Doubt.Doubts > 0 && math.Abs(v-r.Doubt.Value) > 4*math.Sqrt(2*noiseV)+refillFloor {
		r.Doubt = track{}
	}
	r.Doubt.Doubts++
	r.Doubt.Value = v
	if r.Doubt.Doubts < 2 {
		return
	}
	r.Doubt = track{}
	if nu > 0 {
		r.Refilled = t
		r.Solution.refilled(pour{At: t, Before: r.X[jVolume], After: v, VolumeSD: math.Sqrt(noiseV)})
	}
	r.setVolume(t, v, noiseV)
}

func (r *reservoir) setVolume(t time.Time, v, variance float64) {
	r.X, r.P = withVolume(r.X, r.P, v, variance)
	for i := range r.Breaches {
		b := &r.Breaches[i]
		b.X, b.P = withVolume(b.X, b.P, v, variance)
		b.Still, b.Tight = withVolume(b.Still, b.Tight, v, variance)
	}
	r.Readings++
	r.LastGood = t
}

// withVolume sets the volume anew and keeps what is known of the rest.
func withVolume(x rvector, p rmatrix, v, variance float64) (rvector, rmatrix) {
	x[jVolume] = v
	for j := range reservoirStates {
		p[jVolume][j], p[j][jVolume] = 0, 0
	}
	p[jVolume][jVolume] = variance
	return x, p
}

func (r *reservoir) fuse(nu, s, noise float64) {
	r.Drawn -= r.P[jVolume][jVolume] / s * nu
	r.X, r.P = fuseLevel(r.X, r.P, nu, s, noise)
}

// fuseLevel fuses a volume with innovation nu of variance s and measurement
// variance noise, in Joseph's form.
func fuseLevel(x rvector, p rmatrix, nu, s, noise float64) (rvector, rmatrix) {
	var gain rvector
	var a rmatrix
	for i := range reservoirStates {
		gain[i] = p[i][jVolume] / s
		x[i] += gain[i] * nu
		a[i][i] = 1
		a[i][jVolume] -= gain[i]
	}
	p = p.propagate(a, rvector{})
	for i := range reservoirStates {
		for j := range reservoirStates {
			p[i][j] += gain[i] * noise * gain[j]
		}
	}
	x[jVolume] = math.Max(0, x[jVolume])
	return x, p
}
