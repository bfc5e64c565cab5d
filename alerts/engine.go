package alerts

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

// The defaults of Options.
const (
	// DefaultHorizon is two days: a weekend away.
	DefaultHorizon = 48 * time.Hour
	// DefaultMaxShelve is a week: what is put aside longer is forgotten.
	DefaultMaxShelve = 7 * 24 * time.Hour
	// DefaultForget is a day: an alert that came and went is news for no longer
	// (ISA-18.2 calls an alarm that stands longer stale).
	DefaultForget = 24 * time.Hour
)

// Options of an Engine. Only Site is required.
type Options struct {
	Site      *model.Site
	Horizon   time.Duration // of the forecasts that raise; zero: DefaultHorizon
	MaxShelve time.Duration // zero: DefaultMaxShelve
	Forget    time.Duration // of what returned unacknowledged; zero: DefaultForget
	Overrides map[model.Condition]Override
	// Reminders are how long after an unacknowledged alert was told it is told
	// again, by priority; none: it is told once.
	Reminders map[model.Priority]time.Duration
	// Escalations are how long an alert may stand unacknowledged before the next
	// people are told, each above zero; none: nobody else is.
	Escalations []time.Duration
}

// ErrOptions says that the Options cannot be used.
var ErrOptions = errors.New("alert options are not usable")

// Engine keeps the life of every alert. See the package for its invariants.
type Engine struct {
	site      *model.Site
	horizon   time.Duration
	maxShelve time.Duration
	forget    time.Duration
	reminders map[model.Priority]time.Duration
	steps     []time.Duration // of the escalation, rising
	table     []Definition
	byName    map[model.Condition]*Definition
	idle      map[model.Condition]bool // out of service
	covers    map[model.Condition][]cover

	last     time.Time
	together map[model.Subject]int // the outage in which a sensor fell silent with others
	records  map[key]*record
	shelves  map[model.Subject]time.Time
}

// New builds an engine in which nothing is wrong.
func New(o Options) (*Engine, error) {
	if o.Site == nil || o.Site.TimeZone == nil {
		return nil, fmt.Errorf("%w: a site with a time zone is needed", ErrOptions)
	}
	if o.Horizon < 0 || o.MaxShelve < 0 || o.Forget < 0 {
		return nil, fmt.Errorf("%w: a duration is negative", ErrOptions)
	}
	steps := slices.Compact(slices.Sorted(slices.Values(o.Escalations)))
	if len(steps) > 0 && steps[0] <= 0 {
		return nil, fmt.Errorf("%w: an escalation must come after some time", ErrOptions)
	}
	e := &Engine{
		site: o.Site, horizon: orDefault(o.Horizon, DefaultHorizon),
		maxShelve: orDefault(o.MaxShelve, DefaultMaxShelve), forget: orDefault(o.Forget, DefaultForget),
		reminders: o.Reminders, steps: steps,
		byName: map[model.Condition]*Definition{}, idle: map[model.Condition]bool{}, covers: covers(),
		records: map[key]*record{}, shelves: map[model.Subject]time.Time{},
	}
	if err := e.define(Conditions(), o.Overrides); err != nil {
		return nil, err
	}
	return e, nil
}

func orDefault(d, def time.Duration) time.Duration {
	if d == 0 {
		return def
	}
	return d
}

// define takes the table of conditions, each complete, each once and each
// after the causes that can stand over it.
func (e *Engine) define(table []Definition, overrides map[model.Condition]Override) error {
	e.table = table
	for i := range e.table {
		d := &e.table[i]
		if err := d.rationalised(); err != nil {
			return fmt.Errorf("define alert conditions: %w", err)
		}
		*d = overrides[d.Condition].apply(*d)
		if err := d.validate(); err != nil {
			return fmt.Errorf("define alert conditions: %w", err)
		}
		if e.byName[d.Condition] != nil {
			return fmt.Errorf("define alert conditions: %w: %s stands twice", ErrDefinition, d.Condition)
		}
		for _, c := range e.covers[d.Condition] {
			if e.byName[c.cause] == nil {
				return fmt.Errorf("define alert conditions: %w: %s must stand after %s, its cause", ErrDefinition, d.Condition, c.cause)
			}
		}
		e.byName[d.Condition] = d
		e.idle[d.Condition] = overrides[d.Condition].OutOfService
	}
	for name := range overrides {
		if e.byName[name] == nil {
			return fmt.Errorf("%w: there is no condition %q to override", ErrOptions, name)
		}
	}
	return nil
}

// Conditions lists the engine's conditions with its overrides applied.
func (e *Engine) Conditions() []Definition { return append([]Definition(nil), e.table...) }

// Status says where the alert of a condition on a subject is.
func (e *Engine) Status(c model.Condition, s model.Subject) Status {
	if e.idle[c] {
		return OutOfService
	}
	if r := e.records[key{c, s}]; r != nil {
		return r.status()
	}
	return Normal
}
