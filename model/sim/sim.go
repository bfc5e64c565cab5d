package sim

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"wickd/model"
	"wickd/model/design"
)

// Message is what a sensor publishes.
type Message struct {
	Topic   string
	Payload []byte
	Time    time.Time
}

// Sim is a simulated site. It is not safe for concurrent use.
type Sim struct {
	site       *model.Site
	stepping   time.Duration
	faults     schedule
	policy     RefillPolicy
	lossy      float64
	losses     *rand.Rand
	weather    *weather
	bags       []*bag
	reservoirs []*reservoir
	troughs    []*trough
	outlets    []*outlet
	offsets    map[model.Subject]float64 // of moisture probes, by bag

	now time.Time
	air Air
	err error
}

// New sets the site up, at rest over its channels. The error names every fault
// of o at once.
func New(o Options) (*Sim, error) {
	o = o.withDefaults()
	if err := o.validate(); err != nil {
		return nil, fmt.Errorf("simulate site: %w", err)
	}
	physics, err := design.Build(o.Site)
	if err != nil {
		return nil, fmt.Errorf("simulate site: %w", err)
	}
	s := &Sim{
		site: o.Site, stepping: o.Step, policy: o.Refill, now: o.Start.UTC(),
		faults: append(schedule(nil), o.Faults...),
		lossy:  o.Loss, losses: stream(o.Seed, "losses"),
		weather: newWeather(physics, o.Seed, o.Scatter),
		offsets: map[model.Subject]float64{},
	}
	if err := s.build(physics, o); err != nil {
		return nil, fmt.Errorf("simulate site: %w", err)
	}
	return s, nil
}

func (s *Sim) build(physics *design.Site, o Options) error {
	zone := o.Site.TimeZone
	if zone == nil {
		zone = time.UTC
	}
	for _, d := range physics.Reservoirs {
		s.reservoirs = append(s.reservoirs, newReservoir(d, zone, o))
	}
	for _, c := range o.Site.Channels {
		k := slices.IndexFunc(s.reservoirs, func(r *reservoir) bool { return r.design.Reservoir.ID == c.Reservoir })
		if k < 0 {
			return fmt.Errorf("channel %s: reservoir %q is not in the site", c.ID, c.Reservoir)
		}
		s.troughs = append(s.troughs, newTrough(c, s.reservoirs[k], o.Seed))
	}
	house := lognormal(stream(o.Seed, "demand"), o.Scatter.House)
	for _, d := range physics.Bags {
		b, err := newBag(d, &batches{o.Seed, o.Scatter}, house, o)
		if err != nil {
			return err
		}
		b.trough = s.troughs[slices.IndexFunc(s.troughs, func(t *trough) bool { return t.design.ID == d.Channel.ID })]
		b.salt = b.trough.ec() * b.litres()
		s.bags = append(s.bags, b)
	}
	probes, err := s.probes(o)
	if err != nil {
		return err
	}
	s.outlets, err = outlets(probes)
	s.acclimatise()
	return err
}

// acclimatise gives everything the temperature of the air at the start.
func (s *Sim) acclimatise() {
	s.air = s.weather.step(s.now, s.now.Add(s.stepping), 0)
	for _, b := range s.bags {
		b.temperature = s.air.Temperature
	}
	for _, r := range s.reservoirs {
		r.temperature = s.air.Temperature
	}
}

// Err is the first failure of the solver, if any. The bag it names stood still
// for the rest of that step; water is conserved all the same.
func (s *Sim) Err() error { return s.err }

// Now is the virtual time reached.
func (s *Sim) Now() time.Time { return s.now }
