package estimate

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wickd/model"
)

// document is the state of an Estimator as it is kept.
type document struct {
	Version    int
	BagIDs     []string
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
	for _, b := range e.bags {
		d.BagIDs = append(d.BagIDs, b.physics.Bag.ID)
	}
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

// restoreEach decodes into the objects that New has made, whose links to
// physics and to each other stay.
func restoreEach[T any](to []*T, from []json.RawMessage) error {
	for i, raw := range from {
		if err := json.Unmarshal(raw, to[i]); err != nil {
			return err
		}
	}
	return nil
}

// documentVersion is raised when older checkpoints can no longer be read.
const documentVersion = 6

// ErrOtherSite says that a checkpoint belongs to another set of bags.
var ErrOtherSite = errors.New("the checkpoint belongs to a site with other bags, channels or reservoirs")

// UnmarshalJSON restores a checkpoint into an estimator that New has made for
// the same site. On an error the estimator must be thrown away.
func (e *Estimator) UnmarshalJSON(data []byte) error {
	var d document
	if err := json.Unmarshal(data, &d); err != nil {
		return fmt.Errorf("estimate: checkpoint: %w", err)
	}
	if d.Version != documentVersion {
		return fmt.Errorf("estimate: the checkpoint is of version %d, this one reads %d", d.Version, documentVersion)
	}
	if !e.sameSite(d.BagIDs) || len(d.Bags) != len(e.bags) || len(d.Channels) != len(e.channels) || len(d.Reservoirs) != len(e.reservoirs) {
		return fmt.Errorf("estimate: %w", ErrOtherSite)
	}
	err := errors.Join(restoreEach(e.bags, d.Bags), restoreEach(e.channels, d.Channels), restoreEach(e.reservoirs, d.Reservoirs))
	if err != nil {
		return fmt.Errorf("estimate: checkpoint: %w", err)
	}
	if err := json.Unmarshal(d.Weather, e.weather.demand.Tracker); err != nil {
		return fmt.Errorf("estimate: checkpoint: %w", err)
	}
	e.hour, e.beliefs, e.empty, e.course, e.late = d.Hour, d.Beliefs, d.Empty, d.Course, d.Late
	e.weather.warmth, e.weather.dark = d.Warmth, d.Dark
	e.weather.version++
	return nil
}

func (e *Estimator) sameSite(ids []string) bool {
	if len(ids) != len(e.bags) {
		return false
	}
	for i, b := range e.bags {
		if b.physics.Bag.ID != ids[i] {
			return false
		}
	}
	return true
}
