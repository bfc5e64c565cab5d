package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"wickd/model"
	"wickd/model/design"
	"wickd/model/hydraulics"
)

const (
	// bagWarmth is in how many hours a bag follows the air's temperature to 1/e
	// (invented: some ten litres of wet medium under a film).
	bagWarmth = 4.0
	// taken is the EC of what plants take up as a share of that in the root
	// zone: a little less salt than water, so that salt builds up where nothing
	// drains (invented).
	taken = 0.85
	// tapWater is the EC of water poured from above, mS/cm (invented).
	tapWater = 0.3
	// pouring is the share of a bag's free pores that one step of watering may
	// fill; the rest runs off.
	pouring = 0.7
)

// bag is the truth of one bag.
type bag struct {
	design  *design.Bag
	subject model.Subject
	trough  *trough
	column  column

	health float64    // of the wicks, before faults
	factor float64    // of this bag's plants and canopy, and of the house
	hourly *rand.Rand // for the whims
	spread float64
	hour   int64
	whim   float64 // factor of the present hour

	fed         bool
	faults      float64 // share of wick health that faults leave
	demand      float64 // L/h
	now         float64 // factor of the last step, whims aside
	wanted      float64 // L, all that was demanded
	uptake      float64 // L
	wicked      float64 // L
	watered     float64 // L
	salt        float64 // mS/cm × L
	saltAdded   float64 // with the water from above
	saltTaken   float64 // by the plants
	temperature float64 // °C
}

func newBag(d *design.Bag, batch *batches, house float64, o Options) (*bag, error) {
	rng := stream(o.Seed, "bag/"+d.Bag.ID)
	medium, wick := batch.materials(d, rng)
	b := &bag{
		design: d, subject: model.BagSubject(d.Bag.ID), fed: true, faults: 1,
		health: lognormal(rng, o.Scatter.Wick),
		factor: house * lognormal(rng, o.Scatter.Demand) * lognormal(rng, o.Scatter.Canopy),
		hourly: stream(o.Seed, "hours/"+d.Bag.ID), spread: o.Scatter.Hourly, whim: 1,
	}
	b.now = b.factor
	limit := d.Hydraulic.Feddes
	limit.Dry1 *= lognormal(rng, o.Scatter.Limit)
	limit.Dry2 = math.Max(limit.Dry2, limit.Dry1+1)
	lean := o.Scatter.Roots * (2*rng.Float64() - 1)
	roots := func(relative float64) float64 { return 1 + lean*(relative-0.5) }
	var err error
	b.column, err = newColumn(d.Hydraulic.Store.Tube(), medium, wick, limit, roots, cut{bagCells, wickCells})
	if err != nil {
		return nil, fmt.Errorf("bag %s: %w", d.Bag.ID, err)
	}
	return b, nil
}

// forcing is what acts on a bag in one step.
type forcing struct {
	from, to  time.Time
	air       Air
	fed       bool
	wick      float64 // share of health that faults leave
	demand    float64 // factor on demand, from faults
	watering  float64 // L from above
	reservoir float64 // EC of what the wicks lift, mS/cm
}

// flow is what passed from a reservoir into a bag in one step; negative when it
// drained back.
type flow struct{ water, salt float64 } // L, mS/cm × L

func (b *bag) step(f forcing) (flow, error) {
	hours := f.to.Sub(f.from).Hours()
	b.turn(f.from)
	b.fed, b.faults, b.now = f.fed, f.wick, b.factor*f.demand
	b.demand = b.design.Demand(f.from, f.air.Reference) * b.now * b.whim / 1000
	balance, err := b.column.Advance(hours, hydraulics.Forcing{
		Bottom:  b.bottom(),
		Top:     hydraulics.Boundary{Kind: hydraulics.FixedFlux, Value: -1000 * b.pour(f.watering) / hours / b.column.topArea},
		Demand:  1000 * b.demand,
		Contact: b.health * f.wick,
	})
	b.wanted += b.demand * hours
	b.temperature = follow(b.temperature, f.air.Temperature, hours/bagWarmth)
	if err != nil {
		// What passed before the solver gave up has passed.
		err = fmt.Errorf("bag %s at %s: %w", b.design.Bag.ID, f.from.Format(time.RFC3339), err)
	}
	return b.account(balance, f.reservoir), err
}

// turn draws the whim of a new hour.
func (b *bag) turn(t time.Time) {
	if hour := t.Unix() / 3600; hour != b.hour {
		b.hour, b.whim = hour, lognormal(b.hourly, b.spread)
	}
}

// bottom is the end of the wicks: in the water, or in the air of an empty
// channel, where nothing passes.
func (b *bag) bottom() hydraulics.Boundary {
	if b.fed {
		return hydraulics.Boundary{Kind: hydraulics.FixedHead}
	}
	return hydraulics.Boundary{Kind: hydraulics.FixedFlux}
}

// pour is how much of the litres from above enter the bag.
func (b *bag) pour(litres float64) float64 {
	room := math.Max(0, b.column.pores-b.column.BagStorage()) / 1000
	return math.Min(litres, pouring*room)
}

func (b *bag) account(balance hydraulics.Balance, reservoir float64) flow {
	own := b.ec()
	in := flow{water: balance.Bottom / 1000, salt: reservoir * balance.Bottom / 1000}
	if in.water < 0 {
		in.salt = own * in.water
	}
	uptake, poured := balance.TakenUp/1000, balance.Top/1000
	left := taken * own * uptake
	b.uptake += uptake
	b.wicked += in.water
	b.watered += poured
	b.saltTaken += left
	b.saltAdded += tapWater * poured
	b.salt += in.salt + tapWater*poured - left
	return in
}

// litres is all water in the bag and its wicks.
func (b *bag) litres() float64 { return b.column.Storage() / 1000 }

// ec is that of the root zone, mS/cm at 25 °C.
func (b *bag) ec() float64 { return b.salt / b.litres() }

func (b *bag) waterContent() float64 {
	return b.column.BagStorage() / 1000 / b.design.Volume()
}

// follow moves a value towards another by a time in units of its time constant.
func follow(value, to, times float64) float64 {
	return to + (value-to)*math.Exp(-times)
}
