package sim

import (
	"slices"
	"time"
)

// Truth is everything that is so at one time. It shares no memory with the Sim.
type Truth struct {
	Time       time.Time
	Air        Air
	Bags       []BagTruth       // in the order of the site
	Reservoirs []ReservoirTruth // in the order of the site
}

// BagTruth is what is so of one bag. Totals count from the start.
type BagTruth struct {
	ID           string
	Channel      string
	WaterContent float64 // mean of the bag, m³/m³
	Storage      float64 // in the bag, L
	WickStorage  float64 // in its wicks, L
	Uptake       float64 // total taken up by plants, L
	Wicked       float64 // total lifted by the wicks, less what drained back, L
	Watered      float64 // total that entered from above, L
	Wanted       float64 // total that the plants would have taken, L
	Demand       float64 // what they would take now, L/h
	DemandFactor float64 // against canopy × Kc × reference of the site file, whims of the hour aside
	WickHealth   float64 // 1: as the wick's own figures have it
	Fed          bool    // its channel holds water
	EC           float64 // of the root zone, mS/cm at 25 °C
	Temperature  float64 // of the root zone, °C
	ProbeOffset  float64 // of its moisture probe, m³/m³
	Salt         float64 // mS/cm × L
	SaltAdded    float64 // total, with water from above
	SaltTaken    float64 // total, by the plants
}

// ReservoirTruth is what is so of one reservoir. Totals count from the start.
type ReservoirTruth struct {
	ID          string
	Volume      float64 // L
	Standing    float64 // L in its channels, where it feeds at times
	Level       float64 // mm
	EC          float64 // mS/cm at 25 °C
	PH          float64
	Temperature float64 // °C
	Drawn       float64 // total by wicks, L
	Leaked      float64 // total, L
	Evaporated  float64 // total, L
	Refilled    float64 // total, L
	Refills     int
	Salt        float64 // mS/cm × L, with that in its channels
	SaltAdded   float64 // total, by refills and doses; negative when diluted on balance
	SaltLeaked  float64 // total
}

// Truth is the state now.
func (s *Sim) Truth() Truth {
	t := Truth{
		Time: s.now, Air: s.air,
		Bags:       make([]BagTruth, 0, len(s.bags)),
		Reservoirs: make([]ReservoirTruth, 0, len(s.reservoirs)),
	}
	for _, b := range s.bags {
		t.Bags = append(t.Bags, b.truth(s.offsets[b.subject]))
	}
	for _, r := range s.reservoirs {
		t.Reservoirs = append(t.Reservoirs, r.truth())
	}
	for _, c := range s.troughs {
		r := &t.Reservoirs[slices.Index(s.reservoirs, c.from)]
		r.Standing += c.water
		r.Salt += c.salt
	}
	return t
}

func (b *bag) truth(offset float64) BagTruth {
	storage := b.column.BagStorage() / 1000
	return BagTruth{
		ID: b.design.Bag.ID, Channel: b.design.Channel.ID,
		WaterContent: b.waterContent(), Storage: storage, WickStorage: b.litres() - storage,
		Uptake: b.uptake, Wicked: b.wicked, Watered: b.watered, Wanted: b.wanted,
		Demand: b.demand, DemandFactor: b.now, WickHealth: b.health * b.faults, Fed: b.fed,
		EC: b.ec(), Temperature: b.temperature, ProbeOffset: offset,
		Salt: b.salt, SaltAdded: b.saltAdded, SaltTaken: b.saltTaken,
	}
}

func (r *reservoir) truth() ReservoirTruth {
	return ReservoirTruth{
		ID: r.design.Reservoir.ID, Volume: r.volume, Level: r.level(),
		EC: r.ec(), PH: r.ph, Temperature: r.temperature,
		Drawn: r.drawn, Leaked: r.leaked, Evaporated: r.evaporated,
		Refilled: r.refilled, Refills: r.refills,
		Salt: r.salt, SaltAdded: r.saltAdded, SaltLeaked: r.saltLeaked,
	}
}
