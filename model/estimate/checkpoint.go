package estimate

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

// document is the state of an Estimator as it is kept.
type document struct {
	Version    int
	BagIDs     []string
	BagOn      []string // the channel of each bag
	ChannelIDs []string
	TankIDs    []string   // of the reservoirs
	Fed        [][]string // the bags of each reservoir
	Bags       []json.RawMessage
	Channels   []json.RawMessage
	Reservoirs []json.RawMessage
	Weather    json.RawMessage
	Warmth     warmth
	Dark       dark
	Hour       time.Time
	Beliefs    []belief
	Empty      []*model.Quantiles
	Course     course
	Late       uint64
}

// MarshalJSON writes the state for a checkpoint.
func (e *Estimator) MarshalJSON() ([]byte, error) {
	w, err := json.Marshal(e.weather.demand.Tracker)
	if err != nil {
		return nil, err
	}
	d := document{Version: documentVersion, Weather: w, Warmth: e.weather.warmth, Dark: e.weather.dark, Hour: e.hour, Beliefs: e.beliefs, Empty: e.empty, Course: e.course, Late: e.late}
	d.name(e)
	err = errors.Join(marshalEach(&d.Bags, e.bags), marshalEach(&d.Channels, e.channels), marshalEach(&d.Reservoirs, e.reservoirs))
	if err != nil {
		return nil, fmt.Errorf("estimate: checkpoint: %w", err)
	}
	return json.Marshal(d)
}

func marshalEach[T any](to *[]json.RawMessage, from []*T) error {
	for _, v := range from {
		raw, err := json.Marshal(v)
		if err != nil {
			return err
		}
		*to = append(*to, raw)
	}
	return nil
}

// documentVersion is raised when older checkpoints can no longer be read.
const documentVersion = 6

// ErrOtherSite says that nothing in a checkpoint is of this site.
var ErrOtherSite = errors.New("the checkpoint belongs to a site with other bags, channels and reservoirs")

// UnmarshalJSON restores a checkpoint into an estimator that New has made. What the
// site file has changed since begins anew: bags that are new or lie over another
// channel, channels and reservoirs of another name. On an error the estimator
// must be thrown away.
func (e *Estimator) UnmarshalJSON(data []byte) error {
	var d document
	if err := json.Unmarshal(data, &d); err != nil {
		return fmt.Errorf("estimate: checkpoint: %w", err)
	}
	if d.Version != documentVersion {
		return fmt.Errorf("estimate: the checkpoint is of version %d, this one reads %d", d.Version, documentVersion)
	}
	if d.ChannelIDs == nil {
		d.complete(e)
	}
	if !d.whole() {
		return fmt.Errorf("estimate: %w", ErrOtherSite)
	}
	if err := e.restoreParts(d); err != nil {
		return fmt.Errorf("estimate: checkpoint: %w", err)
	}
	if err := json.Unmarshal(d.Weather, e.weather.demand.Tracker); err != nil {
		return fmt.Errorf("estimate: checkpoint: %w", err)
	}
	e.hour, e.course, e.late = d.Hour, d.Course, d.Late
	e.weather.warmth, e.weather.dark = d.Warmth, d.Dark
	e.weather.version++
	return nil
}

// complete names the parts of a document that names its bags alone, as older ones
// did: they are those of this site where the bags are the same.
func (d *document) complete(e *Estimator) {
	var own document
	own.name(e)
	if slices.Equal(d.BagIDs, own.BagIDs) {
		d.BagOn, d.ChannelIDs, d.TankIDs, d.Fed = own.BagOn, own.ChannelIDs, own.TankIDs, own.Fed
	}
}

// name names the parts of an estimator, in their order.
func (d *document) name(e *Estimator) {
	for _, b := range e.bags {
		d.BagIDs, d.BagOn = append(d.BagIDs, b.physics.Bag.ID), append(d.BagOn, b.physics.Channel.ID)
	}
	for _, c := range e.channels {
		d.ChannelIDs = append(d.ChannelIDs, c.channel.ID)
	}
	for _, r := range e.reservoirs {
		d.TankIDs, d.Fed = append(d.TankIDs, r.physics.Reservoir.ID), append(d.Fed, r.bagIDs())
	}
}

// whole says that a document names all that it holds.
func (d *document) whole() bool {
	return len(d.BagOn) == len(d.BagIDs) && len(d.Bags) == len(d.BagIDs) && len(d.Beliefs) == len(d.BagIDs) &&
		len(d.Channels) == len(d.ChannelIDs) && len(d.Reservoirs) == len(d.TankIDs) && len(d.Fed) == len(d.TankIDs) && len(d.Empty) == len(d.TankIDs)
}

// restoreParts decodes into the objects that New has made, whose links to physics
// and to each other stay.
func (e *Estimator) restoreParts(d document) error {
	known, built := 0, map[*bag]float64{} // as the checkpoint has them
	for i, b := range e.bags {
		k := slices.Index(d.BagIDs, b.physics.Bag.ID)
		if k < 0 || d.BagOn[k] != b.physics.Channel.ID {
			continue
		}
		if err := json.Unmarshal(d.Bags[k], b); err != nil {
			return err
		}
		built[b] = b.Built
		b.rebuild()
		e.beliefs[i] = d.Beliefs[k]
		known++
	}
	for _, c := range e.channels {
		if k := slices.Index(d.ChannelIDs, c.channel.ID); k >= 0 {
			if err := json.Unmarshal(d.Channels[k], c); err != nil {
				return err
			}
			known++
		}
	}
	for i, r := range e.reservoirs {
		k := slices.Index(d.TankIDs, r.physics.Reservoir.ID)
		if k < 0 {
			continue
		}
		if err := json.Unmarshal(d.Reservoirs[k], r); err != nil {
			return err
		}
		if err := r.arrange(d.Fed[k]); err != nil {
			return err
		}
		r.rebuild(built)
		r.refit()
		e.empty[i] = d.Empty[k]
		known++
	}
	if known == 0 {
		return ErrOtherSite
	}
	return nil
}

// rebuild is told that the site file may say otherwise than it did how large the bag is.
// Its share of water stays, and its probe is taken at its word anew.
func (b *bag) rebuild() {
	by := b.volume() / b.Built
	b.Built = b.volume()
	if by == 1 || !b.started() {
		return
	}
	for _, s := range []*state{&b.Base, &b.Roll, &b.Sound} {
		s.X[iStorage] *= by
		s.P = s.P.forget(iStorage, sq(by)*s.P[iStorage][iStorage])
		s.With = vector{}
	}
	b.Salt.Zone = b.Salt.Zone.Scaled(by)
	if !b.Lost { // a probe that is not believed has to agree first, as before
		b.Readings, b.Suspect = 0, suspicion{}
	}
	b.compareAnew()
}

// rebuild is told the same of the reservoir, and of its bags as they were before: what
// fills it less or more than was thought is no refill.
func (r *reservoir) rebuild(built map[*bag]float64) {
	by := r.physics.Full() / r.Built
	r.Built = r.physics.Full()
	for i, b := range r.bags {
		if was := built[b]; was > 0 && was != b.Built && len(r.Shadow) > 0 {
			r.Shadow[i] *= b.Built / was
			r.Warm[i] *= b.Built / was
			r.Kept = nil
			r.watchAnew()
		}
	}
	if by == 1 || r.Time.IsZero() {
		return
	}
	r.X[jVolume] *= by
	r.P = r.P.forget(jVolume, sq(by)*r.P[jVolume][jVolume])
	if r.watchAnew() {
		r.Readings = 0
	}
	r.Kept, r.Before, r.Lately = nil, nil, nil // they know it as it was
}

// watchAnew begins to watch anew whether the level stands; false: it has jammed, and is
// not believed before it moves.
func (r *reservoir) watchAnew() bool {
	if r.Stand.Jammed {
		return false
	}
	r.Stand = stand{}
	return true
}

// bagIDs names the bags of a reservoir.
func (r *reservoir) bagIDs() []string {
	out := make([]string, 0, len(r.bags))
	for _, b := range r.bags {
		out = append(out, b.physics.Bag.ID)
	}
	return out
}

// arrange puts what a reservoir that was restored knows of its bags, then, in the order
// of those that it has now. A bag that is new is at rest.
func (r *reservoir) arrange(then []string) error {
	if r.Time.IsZero() {
		return nil
	}
	if len(r.Shadow) != len(then) || len(r.Warm) != len(then) || len(r.Lifts) != 0 && len(r.Lifts) != len(then) {
		return fmt.Errorf("reservoir %s does not know its bags", r.physics.Reservoir.ID)
	}
	if !slices.Equal(then, r.bagIDs()) {
		r.Kept, r.Stand.Known = nil, nil // they know the bags of then
	}
	shadow, warm, lifts := r.Shadow, r.Warm, r.Lifts
	r.rest()
	for i, id := range r.bagIDs() {
		k := slices.Index(then, id)
		if k < 0 {
			continue
		}
		r.Shadow[i], r.Warm[i] = shadow[k], warm[k]
		if len(lifts) > 0 {
			r.Lifts[i] = lifts[k]
		}
	}
	return nil
}
