package sim

import (
	"fmt"

	"wickd/model"
)

// probes makes every sensor of the site, in the site's order.
func (s *Sim) probes(o Options) ([]*probe, error) {
	var all []*probe
	for _, sensor := range o.Site.AllSensors() {
		read, err := s.source(sensor)
		if err != nil {
			return nil, err
		}
		p, err := newProbe(sensor, read, o)
		if err != nil {
			return nil, err
		}
		all = append(all, p)
		if sensor.Quantity == model.Moisture {
			s.offsets[sensor.ID.Owner()] = p.offset
		}
	}
	return all, nil
}

// source is where a sensor's true value comes from.
func (s *Sim) source(sensor model.Sensor) (func() float64, error) {
	var read func() float64
	switch sensor.ID.Kind() {
	case model.KindAir:
		read = s.airSource(sensor.Quantity)
	case model.KindReservoir:
		for _, r := range s.reservoirs {
			if r.subject == sensor.ID.Owner() {
				read = r.source(sensor)
			}
		}
	case model.KindBag:
		for _, b := range s.bags {
			if b.subject == sensor.ID.Owner() {
				read = b.source(sensor)
			}
		}
	}
	if read == nil {
		return nil, fmt.Errorf("sensor %s: there is nothing there that has a %s", sensor.ID, sensor.Quantity)
	}
	return read, nil
}

func (s *Sim) airSource(q model.Quantity) func() float64 {
	switch q {
	case model.Temperature:
		return func() float64 { return s.air.Temperature }
	case model.Humidity:
		return func() float64 { return s.air.Humidity }
	case model.Radiation:
		if s.site.RadiationOutside {
			return func() float64 { return s.air.Outside }
		}
		return func() float64 { return s.air.Inside }
	}
	return nil
}

func (r *reservoir) source(sensor model.Sensor) func() float64 {
	switch sensor.Quantity {
	case model.Level:
		return r.level
	case model.EC:
		return func() float64 { return r.ec() * warmth(sensor, r.temperature) }
	case model.PH:
		return func() float64 { return r.ph }
	case model.Temperature:
		return func() float64 { return r.temperature }
	}
	return nil
}

func (b *bag) source(sensor model.Sensor) func() float64 {
	switch sensor.Quantity {
	case model.Moisture:
		return b.waterContent
	case model.EC:
		return func() float64 { return b.ec() * warmth(sensor, b.temperature) }
	case model.Temperature:
		return func() float64 { return b.temperature }
	}
	return nil
}

// warmth is by what a conductivity at 25 °C differs at a temperature, for a
// probe that leaves the compensation to its reader: linear, as compensated
// (ISO 7888).
func warmth(sensor model.Sensor, temperature float64) float64 {
	if !sensor.CompensateTo25 {
		return 1
	}
	return 1 + sensor.TemperatureCoefficient*(temperature-25)
}
