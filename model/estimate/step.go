package estimate

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/hydraulics"
)

// advance carries a state on to t, in steps short enough that the demand may
// count as constant. drift is by how much the wicks' health may wander, per √d.
func (b *bag) advance(s state, t time.Time, drift float64) state {
	for s.Time.Before(t) {
		next := s.Time.Add(stride(t.Sub(s.Time)))
		if next.After(t) {
			next = t
		}
		s = b.step(s, next, drift)
	}
	return s
}

// stride is the length of the next step of what is left.
func stride(left time.Duration) time.Duration {
	switch {
	case left <= 3*time.Hour:
		return 10 * time.Minute
	case left <= 48*time.Hour:
		return 30 * time.Minute
	default:
		return time.Hour
	}
}

// step makes one step of mean and covariance. The Jacobian is by differences:
// the quick model is cheap, and closed forms would tie the filter to it.
func (b *bag) step(s state, t time.Time, drift float64) state {
	dt := t.Sub(s.Time).Hours()
	mm, rung := b.weather.reference(s.Time, t)
	want := b.physics.Demand(s.Time, mm) * b.common() / dt // cm³/h at ln D = 0
	h := b.physics.Hydraulic
	rate := want * math.Exp(s.X[iDemand])
	health := b.health(s.X[iHealth])
	out := h.Step(s.X[iStorage], rate, health, dt)

	const dS, dLn = 2.0, 0.05
	f := transition{keep: vector{0, 1, 1, 1, 1}}
	var takes vector // what TakenUp gains with the state, L
	vary := func(i int, by float64, varied hydraulics.Step) {
		f.first[i] = (varied.Storage - out.Storage) / by
		takes[i] = (varied.TakenUp - out.TakenUp) / by / 1000
	}
	vary(iStorage, dS, h.Step(s.X[iStorage]+dS, rate, health, dt))
	if !b.Cut {
		vary(iHealth, dLn, h.Step(s.X[iStorage], rate, health*math.Exp(dLn), dt))
	}
	vary(iDemand, dLn, h.Step(s.X[iStorage], rate*math.Exp(dLn), health, dt))

	v := b.volume()
	days := dt / 24
	scatter := math.Max(demandScatter, rung.RelativeError())
	q := vector{
		// From step to step one bag's whims are taken for independent; what lasts for
		// hours is in all bags, and in the reservoir's filter.
		iStorage: sq(driftStorage*v)*dt + sq(scatter*out.TakenUp),
		iHealth:  sq(drift) * days,
		iDemand:  sq(driftDemand) * days,
		iOffset:  sq(driftOffset) * days,
	}
	if b.Cause == model.CauseNotDrinking && s.P[iDemand][iDemand] < sq(mostWaking) {
		q[iDemand] = sq(driftWaking) * days
	}
	if b.failing() {
		s.With = f.carry(s.With.less(-1, s.P.times(takes)))
		s.With[iStorage] -= sq(scatter*out.TakenUp) / 1000
	} else {
		s.With = vector{}
	}
	s.P = s.P.propagate(f, q)
	s.X[iStorage] = out.Storage
	s.Uptake += out.TakenUp / 1000
	s.Potential += rate * dt / 1000
	s.Time = t
	return b.bounded(s)
}

// Bounds of the logarithms: outside them the linearisation says nothing, and
// no grower's bag is there.
const (
	minLnHealth, maxLnHealth = -4.6, 1.1 // 1 % to threefold
	minLnDemand, maxLnDemand = -3.5, 1.4 // 3 % to fourfold
)

func (b *bag) bounded(s state) state {
	st := b.physics.Hydraulic.Store
	s.X[iStorage] = clamp(s.X[iStorage], st.Min(), st.Max())
	s.X[iHealth] = clamp(s.X[iHealth], minLnHealth, maxLnHealth)
	s.X[iDemand] = clamp(s.X[iDemand], minLnDemand, maxLnDemand)
	if !s.P.sound() {
		b.Resets++
		return state{Time: s.Time, X: s.X, P: b.prior(), Uptake: s.Uptake, Potential: s.Potential}
	}
	return s
}

func sq(x float64) float64 { return x * x }

func clamp(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }
