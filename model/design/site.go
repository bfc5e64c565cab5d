package design

import (
	"errors"
	"fmt"

	"wickd/model"
	"wickd/model/climate"
	"wickd/model/hydraulics"
)

// Site is a model.Site with its physics. Bags are in the order of the site,
// reservoirs and channels too.
type Site struct {
	Site       *model.Site
	Place      *climate.Place // nil when the site gives none
	Lamps      climate.Lamps  // over the crop
	Bags       []*Bag
	Reservoirs []*Reservoir

	byBag map[string]*Bag
}

// Build works out the physics of a site. The error names every bag that
// cannot be built and why.
func Build(site *model.Site) (*Site, error) {
	s := &Site{Site: site, Lamps: Lamps(site), byBag: make(map[string]*Bag, len(site.Bags))}
	if p := site.Place; p != nil {
		s.Place = &climate.Place{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}
	}
	b := builder{site: site, stores: map[storeKey]*hydraulics.Store{}, supplies: map[supplyKey]*hydraulics.Supply{}, bags: map[bagKey]*hydraulics.Bag{}}
	var faults []error
	for i := range site.Bags {
		bag, err := b.bag(site.Bags[i])
		if err != nil {
			faults = append(faults, fmt.Errorf("bag %s: %w", site.Bags[i].ID, err))
			continue
		}
		s.Bags = append(s.Bags, bag)
		s.byBag[bag.Bag.ID] = bag
	}
	for i := range site.Reservoirs {
		r, err := newReservoir(site.Reservoirs[i])
		if err != nil {
			faults = append(faults, fmt.Errorf("reservoir %s: %w", site.Reservoirs[i].ID, err))
			continue
		}
		r.Standing = standing(site, r.Reservoir.ID)
		s.Reservoirs = append(s.Reservoirs, r)
	}
	if len(faults) > 0 {
		return nil, errors.Join(faults...)
	}
	return s, nil
}

// Lamps are those over the crop of a site.
func Lamps(site *model.Site) climate.Lamps {
	if site.Lamps == nil {
		return climate.Lamps{}
	}
	l := climate.Lamps{Radiation: site.Lamps.Radiation, Zone: site.TimeZone}
	for _, h := range site.Lamps.Hours {
		l.Hours = append(l.Hours, climate.Hours(h))
	}
	return l
}

// Bag finds a bag by its id; nil when there is none.
func (s *Site) Bag(id string) *Bag { return s.byBag[id] }

// Reservoir finds a reservoir by its id; nil when there is none.
func (s *Site) Reservoir(id string) *Reservoir {
	for _, r := range s.Reservoirs {
		if r.Reservoir.ID == id {
			return r
		}
	}
	return nil
}

// standing is the solution in the channels that a reservoir feeds, L.
func standing(s *model.Site, reservoir string) float64 {
	sum := 0.0
	for _, c := range s.Channels {
		if c.Reservoir == reservoir {
			sum += c.Holds
		}
	}
	return sum
}

// OnChannel lists the bags that lie over a channel, in the order of the site.
func (s *Site) OnChannel(id string) []*Bag {
	var bags []*Bag
	for _, b := range s.Bags {
		if b.Channel.ID == id {
			bags = append(bags, b)
		}
	}
	return bags
}

// FedBy lists the bags that drink from a reservoir, in the order of the site.
func (s *Site) FedBy(reservoir string) []*Bag {
	var bags []*Bag
	for _, b := range s.Bags {
		if b.Channel.Reservoir == reservoir {
			bags = append(bags, b)
		}
	}
	return bags
}
