package estimate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"wickd/model"
	"wickd/model/design"
)

// Options say what is to be estimated.
type Options struct {
	Design *design.Site
}

// Estimator holds the filters of a site. It is not safe for concurrent use.
type Estimator struct {
	design     *design.Site
	weather    *weather
	bags       []*bag
	channels   []*channel
	reservoirs []*reservoir

	sensors map[model.Subject]sink
	hour    time.Time // of the last forecast
	beliefs []belief  // forecasts, by bag
	empty   []*model.Quantiles
	course  course
	late    uint64
}

// belief is what the forecast said of a bag at the last full hour, or since then when
// the diagnosis changed.
type belief struct {
	Dry   model.Quantiles
	Under model.Cause `json:",omitempty"` // what the diagnosis favoured then
}

// sink takes the good readings of one sensor.
type sink func(t time.Time, v float64) (late bool)

// New starts nothing: the estimator begins with the first reading or tick.
func New(o Options) (*Estimator, error) {
	if o.Design == nil {
		return nil, errors.New("estimate: no site")
	}
	w, err := newWeather(o.Design)
	if err != nil {
		return nil, fmt.Errorf("estimate: %w", err)
	}
	e := &Estimator{design: o.Design, weather: w, sensors: map[model.Subject]sink{}}
	for _, r := range o.Design.Reservoirs {
		e.reservoirs = append(e.reservoirs, newReservoir(r, w))
	}
	for _, b := range o.Design.Bags {
		if err := e.addBag(b); err != nil {
			return nil, fmt.Errorf("estimate: %w", err)
		}
	}
	for _, c := range o.Design.Site.Channels {
		e.channels = append(e.channels, &channel{channel: c, bags: e.bagsOn(c.ID)})
	}
	e.beliefs = make([]belief, len(e.bags))
	e.empty = make([]*model.Quantiles, len(e.reservoirs))
	e.wire()
	return e, nil
}

func (e *Estimator) addBag(p *design.Bag) error {
	b := newBag(p, e.weather)
	b.channel = slices.IndexFunc(e.design.Site.Channels, func(c model.Channel) bool { return c.ID == p.Channel.ID })
	k := slices.IndexFunc(e.reservoirs, func(r *reservoir) bool { return r.physics.Reservoir.ID == p.Channel.Reservoir })
	if k < 0 {
		return fmt.Errorf("bag %s: its channel %s is fed by no reservoir of the site", p.Bag.ID, p.Channel.ID)
	}
	b.source = e.reservoirs[k]
	b.source.bags = append(b.source.bags, b)
	e.bags = append(e.bags, b)
	return nil
}

func (e *Estimator) bagsOn(channel string) []*bag {
	var out []*bag
	for _, b := range e.bags {
		if b.physics.Channel.ID == channel {
			out = append(out, b)
		}
	}
	return out
}

// wire says which filter takes which sensor.
func (e *Estimator) wire() {
	for _, s := range e.design.Site.Air {
		q := s.Quantity
		e.sensors[s.ID] = func(t time.Time, v float64) bool {
			e.weather.observe(q, t, v)
			return false
		}
	}
	for _, b := range e.bags {
		if s := b.physics.Bag.Moisture; s != nil {
			e.sensors[s.ID] = b.Sieve.before(b.observe, leapMoisture)
		}
		for _, s := range b.physics.Bag.Sensors {
			if s.Quantity == model.Temperature {
				e.sensors[s.ID] = b.Heat.sink(temperatureDrift)
			}
		}
	}
	for _, r := range e.reservoirs {
		for _, s := range r.physics.Reservoir.Sensors {
			e.sensors[s.ID] = r.sink(s.Quantity)
		}
	}
}

func (r *reservoir) sink(q model.Quantity) sink {
	switch q {
	case model.Level:
		return r.Sieve.before(r.observeLevel, leapLevel)
	case model.EC:
		return r.observeEC
	case model.PH:
		return r.observePH
	default:
		return r.Temperature.sink(temperatureDrift)
	}
}

// Observe takes a reading. Readings of one sensor come in the order in which
// they were taken, however late; one of a bag or a reservoir that is older than what
// its filter has used is counted as late and passed over. A level from before its
// reservoir went back for another reason — a channel turned out dry — is taken as
// of now, if it is no older than neighbours. Only a good reading counts.
func (e *Estimator) Observe(r model.Reading) {
	if r.Verdict != model.Good {
		return
	}
	if take, ok := e.sensors[r.Sensor]; ok && take(r.Time, r.Value) {
		e.late++
	}
}

// release takes what of fast sensors was kept back for a while.
func (e *Estimator) release(now time.Time) {
	for _, b := range e.bags {
		if b.Sieve.release(now) {
			e.late++
		}
	}
	for _, r := range e.reservoirs {
		if r.Sieve.release(now) {
			e.late++
		}
	}
}

// Advance carries everything on to a tick and lets the explanations compete.
// Ticks come in order of time. Between full hours only what is due is moved:
// a bag whose last reading is younger than freshEnough stands as it is.
func (e *Estimator) Advance(now time.Time) {
	e.release(now)
	full := now.Equal(now.Truncate(time.Hour))
	for _, r := range e.reservoirs {
		// One that went back for late levels is brought up first: what is judged now is
		// no part of the hours before.
		if !r.Time.IsZero() && now.Sub(r.Time) > neighbours {
			r.keep()
			r.advance(now)
		}
	}
	for _, c := range e.channels {
		c.judge()
	}
	for _, b := range e.bags {
		if full || !b.started() || now.Sub(b.Roll.Time) > freshEnough {
			b.roll(now)
		}
	}
	for _, r := range e.reservoirs {
		if full || r.Time.IsZero() || now.Sub(r.Time) > freshEnough {
			r.keep()
			r.advance(now)
		}
	}
	if hour := now.Truncate(time.Hour); !hour.Equal(e.hour) {
		e.hour = hour
		e.forecast(now)
		e.balance(now)
	}
	for _, b := range e.bags {
		b.Shown = math.Max(b.Shown, b.Roll.Uptake)
	}
	for i, r := range e.reservoirs {
		if !r.News && !r.gushing() {
			continue
		}
		// A refill, a leak: the hour would go on telling what is over.
		e.empty[i] = r.emptyAt(now, e.course)
		if r.News {
			e.forecastBags(now, func(_ int, b *bag) bool { return b.source == r })
		}
		r.News = false
	}
	// Whoever is told of a wick or a channel that failed has to know how long there is.
	e.forecastBags(now, func(i int, b *bag) bool { return e.beliefs[i].Under != b.favoured() })
}

// freshEnough is how far behind a tick an estimate may lag between full hours.
const freshEnough = 15 * time.Minute

func (e *Estimator) forecast(now time.Time) {
	e.course = e.weather.course(now)
	for i, r := range e.reservoirs {
		e.empty[i], r.News = r.emptyAt(now, e.course), false
	}
	e.forecastBags(now, func(int, *bag) bool { return true })
}

// forecastBags forecasts the dryness of those bags that are asked for.
func (e *Estimator) forecastBags(now time.Time, of func(i int, b *bag) bool) {
	var kin map[kinKey]kinship
	ends := make([]*model.Quantiles, len(e.reservoirs))
	for i, b := range e.bags {
		if !b.started() || !of(i, b) {
			continue
		}
		if kin == nil {
			kin = e.kin()
			for k, r := range e.reservoirs {
				ends[k] = r.suppliesUntil(now, e.course, e.empty[k])
			}
		}
		common, sd := e.commonOf(b)
		var end model.Quantiles
		if k := slices.Index(e.reservoirs, b.source); ends[k] != nil && now.Sub(b.source.LastGood) <= levelTold {
			end = *ends[k]
		}
		e.beliefs[i] = belief{b.forecast(now, e.course, common, sd, kin[b.kinKey()].shift(), end), b.favoured()}
	}
}

// balance keeps the hourly account of the solution and of the salt in bags.
func (e *Estimator) balance(now time.Time) {
	for _, r := range e.reservoirs {
		r.watchSolution(now)
	}
	for _, b := range e.bags {
		b.keepSalt(now)
	}
}

// Late counts readings that came too late to be used.
func (e *Estimator) Late() uint64 { return e.late }

// Resets counts the times that a filter had to begin afresh.
func (e *Estimator) Resets() int {
	n := 0
	for _, b := range e.bags {
		n += b.Resets
	}
	for _, r := range e.reservoirs {
		n += r.Resets
	}
	return n
}
