package estimate

import (
	"math"
	"time"

	"wickd/model"
	"wickd/model/design"
)

// Prior standard deviations and drifts. Each is a statement about bags and
// probes in general, and a bag's own readings soon outweigh it.
const (
	priorStorage = 0.05  // m³/m³: a bag may have been planted yesterday
	priorHealth  = 0.15  // ln: section, contact and packing of hand-cut wicks
	priorDemand  = 0.17  // ln: plants of one house against each other
	priorProbe   = 0.012 // m³/m³: a calibrated probe in another bag
	priorModel   = 0.015 // m³/m³: equilibrium of the medium as described, common to its bags
	startNoise   = 0.010 // m³/m³: white noise of a capacitive probe
	leastNoise   = 0.001 // m³/m³: the resolution in which probes report

	driftStorage = 0.0006 // m³/m³ per √h: what the quick model leaves out
	driftHealth  = 0.03   // per √d
	driftDemand  = 0.04   // per √d
	driftOffset  = 0.0015 // m³/m³ per √d

	// The demand of an hour differs from the reference by passing clouds and
	// drafts: its relative standard deviation, and how long that lasts.
	demandScatter  = 0.25
	scatterPersist = 2 * time.Hour
)

// state is a bag's filter at one time.
type state struct {
	Time      time.Time
	X         vector
	P         matrix
	Uptake    float64 // L since the start
	Potential float64 // L that unstressed plants would have taken
}

// bag is the filter of one bag.
type bag struct {
	physics *design.Bag
	weather *weather
	common  func() float64 // the factor that the bags of a reservoir share

	Base state // at the last reading that was used
	Roll state // carried on from Base to the last tick

	Noise    noise
	Readings int       // used
	First    time.Time // of the first used
	LastGood time.Time // of the last used
	LastY    float64
	Resets   int

	Suspect  suspicion
	Lost     bool // the probe lost contact
	LostFrom time.Time
	Agree    int // readings that agree again

	Cut     bool // the channel under it is dry
	CutFrom time.Time

	NIS     float64 // running mean of normalised innovation squared
	Cause   model.Cause
	Since   time.Time
	Rivals  []rival
	Weighed bool // readings were weighed since the channel last judged

	History history // uptake by the hour
	Shown   float64 // greatest uptake published, L
}

// suspicion counts readings in a row that the filter does not believe.
type suspicion struct {
	Count int
	Since time.Time
	Fall  bool
	Sum   float64
}

func newBag(p *design.Bag, w *weather, common func() float64) *bag {
	return &bag{physics: p, weather: w, common: common, Noise: newNoise(startNoise)}
}

func (b *bag) volume() float64 { return b.physics.Hydraulic.Store.Volume() }

// begin starts the filter at t: at rest over the channel.
func (b *bag) begin(t time.Time) {
	s := b.physics.Hydraulic.Store
	b.Base = state{Time: t}
	b.Base.X[iStorage] = s.Equilibrium(b.physics.Lift)
	v := b.volume()
	b.Base.P[iStorage][iStorage] = sq(priorStorage * v)
	b.Base.P[iHealth][iHealth] = sq(priorHealth)
	b.Base.P[iDemand][iDemand] = sq(priorDemand)
	b.Base.P[iOffset][iOffset] = sq(priorProbe) + sq(priorModel)
	b.Roll = b.Base
}

func (b *bag) started() bool { return !b.Base.Time.IsZero() }

// health is the effective share of the wicks that works under a state.
func (b *bag) health(lnH float64) float64 {
	if b.Cut {
		return dryShare
	}
	return math.Exp(lnH)
}

// advance carries a state on to t, in steps short enough that the demand may
// count as constant.
func (b *bag) advance(s state, t time.Time) state {
	for s.Time.Before(t) {
		next := s.Time.Add(stride(t.Sub(s.Time)))
		if next.After(t) {
			next = t
		}
		s = b.step(s, next)
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
func (b *bag) step(s state, t time.Time) state {
	dt := t.Sub(s.Time).Hours()
	mm, rung := b.weather.reference(s.Time, t)
	want := b.physics.Demand(s.Time, mm) * b.common() / dt // cm³/h at ln D = 0
	h := b.physics.Hydraulic
	rate := want * math.Exp(s.X[iDemand])
	health := b.health(s.X[iHealth])
	out := h.Step(s.X[iStorage], rate, health, dt)

	const dS, dLn = 2.0, 0.05
	f := matrix{iHealth: {iHealth: 1}, iDemand: {iDemand: 1}, iOffset: {iOffset: 1}}
	f[iStorage][iStorage] = (h.Step(s.X[iStorage]+dS, rate, health, dt).Storage - out.Storage) / dS
	if !b.Cut {
		f[iStorage][iHealth] = (h.Step(s.X[iStorage], rate, health*math.Exp(dLn), dt).Storage - out.Storage) / dLn
	}
	f[iStorage][iDemand] = (h.Step(s.X[iStorage], rate*math.Exp(dLn), health, dt).Storage - out.Storage) / dLn

	v := b.volume()
	days := dt / 24
	scatter := math.Max(demandScatter, rung.RelativeError())
	q := vector{
		iStorage: sq(driftStorage*v)*dt + sq(scatter*out.TakenUp)*scatterPersist.Hours()/math.Max(dt, scatterPersist.Hours()),
		iHealth:  sq(driftHealth) * days,
		iDemand:  sq(driftDemand) * days,
		iOffset:  sq(driftOffset) * days,
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
		fresh := state{Time: s.Time, X: s.X, Uptake: s.Uptake, Potential: s.Potential}
		v := b.volume()
		fresh.P[iStorage][iStorage] = sq(priorStorage * v)
		fresh.P[iHealth][iHealth] = sq(priorHealth)
		fresh.P[iDemand][iDemand] = sq(priorDemand)
		fresh.P[iOffset][iOffset] = sq(priorProbe) + sq(priorModel)
		return fresh
	}
	return s
}

// roll carries the estimate on to a tick.
func (b *bag) roll(t time.Time) {
	if !b.started() {
		b.begin(t)
	}
	if b.Roll.Time.Before(t) {
		b.Roll = b.advance(b.Roll, t)
	}
	b.History.record(t, b.Roll.Uptake, b.Roll.Potential, b.Roll.X[iHealth])
}

func sq(x float64) float64 { return x * x }

func clamp(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }
