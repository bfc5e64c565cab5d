package sim

import (
	"math"
	"math/rand/v2"
	"time"

	"wickd/model"
	"wickd/model/design"
)

const (
	// tankWarmth is in how many hours a reservoir follows the air's temperature
	// to 1/e (invented: a hundred and fifty litres in the shade of a bench).
	tankWarmth = 14.0
	// alkaline is how pH rises while plants take up nitrate, 1/d (invented;
	// a few hundredths to tenths a day are common practice).
	alkaline = 0.04
	// lowestPH and highestPH are where the solution's buffers hold at last.
	lowestPH, highestPH = 3.5, 9.0
)

// reservoir is the truth of one reservoir.
type reservoir struct {
	design  *design.Reservoir
	subject model.Subject
	rng     *rand.Rand // of the grower's mixing
	scatter Scatter
	zone    *time.Location
	open    float64 // m² of water surface

	volume      float64 // L
	salt        float64 // mS/cm × L
	ph          float64
	temperature float64 // °C

	due        time.Time // of the next refill; zero: none is
	draw       float64   // L in the last step
	drawn      float64   // L by wicks
	leaked     float64   // L
	evaporated float64   // L
	refilled   float64   // L
	refills    int
	saltAdded  float64
	saltLeaked float64
}

func newReservoir(d *design.Reservoir, zone *time.Location, o Options) *reservoir {
	r := &reservoir{
		design: d, subject: model.ReservoirSubject(d.Reservoir.ID),
		rng: stream(o.Seed, "reservoir/"+d.Reservoir.ID), scatter: o.Scatter,
		zone: zone, open: o.OpenWater,
	}
	fill := 0.85 + 0.15*r.rng.Float64()
	if o.Fill > 0 {
		fill = o.Fill
	}
	r.volume = d.Empty() + fill*d.Usable()
	r.salt = r.mixedEC() * r.volume
	r.ph = r.mixedPH()
	return r
}

// ec is that of the solution, mS/cm at 25 °C; 0 when there is none.
func (r *reservoir) ec() float64 {
	if r.volume <= 0 {
		return 0
	}
	return r.salt / r.volume
}

// level is mm above the floor.
func (r *reservoir) level() float64 { return r.design.Level(math.Max(0, r.volume)) }

// feeds says that the channels get solution: above empty, and with enough left
// for a step like the last.
func (r *reservoir) feeds() bool {
	return r.volume > math.Max(r.design.Empty(), 2*r.draw)
}

// take is what the wicks drew in a step.
func (r *reservoir) take(f flow) {
	r.volume -= f.water
	r.salt -= f.salt
	r.draw += f.water
	r.drawn += f.water
}

// outside is what acts on a reservoir in a step besides wicks.
type outside struct {
	from, to time.Time
	air      Air
	leak     float64 // L/h
	drift    float64 // of pH, 1/d, from faults
	creep    float64 // of the EC, mS/cm per day, from faults
	dose     float64 // mS/cm × L of concentrate
	absent   bool    // nobody refills
	policy   RefillPolicy
	wrong    []Fault // refills with the wrong solution
}

func (r *reservoir) step(o outside) {
	hours := o.to.Sub(o.from).Hours()
	r.lose(o.leak*hours, r.open*o.air.Reference*hours)
	added := math.Max(-r.salt, o.dose+o.creep*math.Max(0, r.volume)*hours/24)
	r.salt += added
	r.saltAdded += added
	r.ph = math.Min(highestPH, math.Max(lowestPH, r.ph+(alkaline+o.drift)*hours/24))
	r.temperature = follow(r.temperature, o.air.Temperature, hours/tankWarmth)
	for _, f := range o.wrong {
		r.refill(f.Size, r.mixedPH())
	}
	r.tend(o)
}

// lose takes a leak, with its salt, and evaporation, without, as far as there
// is water.
func (r *reservoir) lose(leak, evaporation float64) {
	leak = math.Min(leak, math.Max(0, r.volume))
	r.saltLeaked += leak * r.ec()
	r.salt -= leak * r.ec()
	r.volume -= leak
	r.leaked += leak
	evaporation = math.Min(evaporation, math.Max(0, r.volume))
	r.volume -= evaporation
	r.evaporated += evaporation
}
