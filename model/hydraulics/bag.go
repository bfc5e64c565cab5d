package hydraulics

import (
	"errors"
	"fmt"
	"math"
)

// Bag is the quick model: one storage, fed by its wicks and emptied by its
// plants,
//
//	dS/dt = health · area · q(s) − demand · stress(s)
//
// made by [NewBag] with the head loss of the flow in the bag accounted for, or
// as a literal of Store and Supply without it. Fields are read only once in
// use; a Bag is then safe for concurrent use.
type Bag struct {
	Store  *Store
	Supply *Supply
	// Feddes limits uptake; its zero value does not. NewBag builds it into its
	// tables: to change it, make a new Bag.
	Feddes Feddes
	// Stress, when set, is used instead of Feddes: the share of the demand met
	// where the suction is s, cm. It must not increase with s.
	Stress func(s float64) float64

	dynamics *dynamics
}

// Step is what one step did. Storage is the storage before + Wicked −
// TakenUp + Clipped, in cm³.
type Step struct {
	Storage float64 // at the end
	Wicked  float64 // lifted by the wicks; negative when the bag drained back
	TakenUp float64 // drunk by the plants
	Clipped float64 // correction of a storage handed in outside Min and Max
}

// rates are the right-hand side at one storage and its slopes.
type rates struct {
	suction          float64 // cm, at the base
	inflow, uptake   float64 // cm³/h
	dInflow, dUptake float64 // per cm³ of storage
}

func (r rates) net() float64   { return r.inflow - r.uptake }
func (r rates) slope() float64 { return math.Min(0, r.dInflow-r.dUptake) }

func (b *Bag) stress(s float64) float64 {
	if b.Stress != nil {
		return math.Max(0, math.Min(1, b.Stress(s)))
	}
	return b.Feddes.Factor(s)
}

// rates evaluates the balance. With x = ln(1 + s + H) the axis of the store,
// the base stands at x less what the flow takes.
func (b *Bag) rates(storage, demand, health float64) rates {
	x := b.Store.released.solve(b.Store.max - storage)
	// dx/dS is without bound at saturation. It only steers the step, so bound
	// it.
	perX := -1 / math.Max(1e-3*b.Store.volume, b.Store.released.slope(x))
	base, dbase := x, 1.0
	met, dmet := 0.0, 0.0
	if b.dynamics != nil {
		loss, dloss := b.dynamics.at(b.dynamics.loss, x, health)
		base, dbase = x-loss, 1-dloss
		met, dmet = b.dynamics.at(b.dynamics.stress, x, health)
	} else {
		met, dmet = b.stressAtMiddle(x)
	}
	s := b.Store.suctionAt(base)
	a := health * b.Supply.area
	return rates{
		suction: s,
		inflow:  a * b.Supply.Flux(s), uptake: demand * met,
		dInflow: a * b.Supply.Slope(s) * math.Exp(base) * dbase * perX,
		dUptake: demand * dmet * perX,
	}
}

// stressAtMiddle is the share of the demand met at mid height of the
// hydrostatic profile, and its slope in x.
func (b *Bag) stressAtMiddle(x float64) (met, slope float64) {
	s := b.Store.suctionAt(x) + b.Store.section.HalfHeight
	const step = 0.01
	return b.stress(s), (b.stress(s+step) - b.stress(s-step)) / (2 * step) * math.Exp(x)
}

// within brings a storage into its bounds; what is no number counts as empty.
func (b *Bag) within(storage float64) float64 {
	if math.IsNaN(storage) {
		return b.Store.min
	}
	return math.Max(b.Store.min, math.Min(b.Store.max, storage))
}

// Step advances the bag by dt hours from storage, cm³, under a demand, cm³/h,
// with wicks at a share health of their design (1 as designed, 0 out of
// contact). It is stable at any dt. Values that are not finite or negative
// count as 0.
func (b *Bag) Step(storage, demand, health, dt float64) Step {
	demand, health, dt = positive(demand), positive(health), positive(dt)
	start := b.within(storage)
	out := Step{Storage: start}
	if !bad(storage) {
		out.Clipped = start - storage
	}
	r := b.rates(out.Storage, demand, health)
	tries := 0
	for left, h := dt, dt; left > 0; {
		h = math.Min(h, left)
		var next Step
		var end rates
		if tries++; tries <= patience {
			var ok bool
			if next, end, ok = b.advance(out.Storage, r, demand, health, h); !ok && h > shortestSubstep {
				h /= 2
				continue
			}
		} else {
			h = math.Min(left, math.Max(h, dt/patience))
			next, end = b.implicit(out.Storage, demand, health, h)
		}
		if left -= h; left < 1e-12*dt {
			left = 0
		}
		out.Storage = next.Storage
		out.Wicked += next.Wicked
		out.TakenUp += next.TakenUp
		r = end
		h *= 2
	}
	return out
}

// BagOptions say how a bag is used.
type BagOptions struct {
	Feddes Feddes
	Stress func(s float64) float64 // instead of Feddes
	// Roots is the density of water-drawing roots at relative height 0 to 1,
	// per volume of medium; nil means even.
	Roots func(relative float64) float64
	// Hydrostatic leaves out what flow does to the profile.
	Hydrostatic bool
}

// NewBag is a bag.
func NewBag(store *Store, supply *Supply, o BagOptions) (*Bag, error) {
	if store == nil || supply == nil {
		return nil, errors.New("bag: needs a store and a supply")
	}
	b := &Bag{Store: store, Supply: supply, Feddes: o.Feddes, Stress: o.Stress}
	if o.Hydrostatic {
		return b, nil
	}
	if err := b.tabulate(o.Roots); err != nil {
		return nil, fmt.Errorf("bag: %w", err)
	}
	return b, nil
}
