package alerts

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"wickd/model"
)

// Errors of what people ask for.
var (
	ErrNoSuchAlert = errors.New("there is no such alert")
	ErrNotShelved  = errors.New("it is not put aside")
	ErrShelveTime  = errors.New("cannot shelve for this long")
)

// Acknowledge records that somebody has seen an occurrence. Doing it twice
// changes nothing the second time. ErrNoSuchAlert: it has cleared and is
// forgotten, or never was.
func (e *Engine) Acknowledge(now time.Time, occurrence, by string) ([]model.Transition, error) {
	now = now.Round(0).UTC()
	for k, r := range e.records {
		if r.Occurrence != occurrence || occurrence == "" {
			continue
		}
		if r.Acked || !r.Active && !r.Announced {
			return nil, nil
		}
		r.Acked, r.By = true, by
		t := r.transition(now, model.Acknowledged, e.byName[k.condition].Priority)
		t.Message.Why = sentences("Acknowledged by "+by, t.Message.Why)
		return []model.Transition{t}, nil
	}
	return nil, fmt.Errorf("acknowledge %q: %w", occurrence, ErrNoSuchAlert)
}

// Shelve puts an alert aside until a time. The target is an occurrence, or a
// subject with everything below it: shelving "bag/a4" covers its probe too,
// and what is raised on it until then.
func (e *Engine) Shelve(now time.Time, target string, until time.Time) ([]model.Transition, error) {
	now, until = now.Round(0).UTC(), until.Round(0).UTC()
	if !until.After(now) || until.Sub(now) > e.maxShelve {
		return nil, fmt.Errorf("shelve %q until %s: %w: choose a time within the next %s",
			target, until.In(e.site.TimeZone).Format(time.RFC3339), ErrShelveTime, length(e.maxShelve))
	}
	whole := known(e.site, model.Subject(target))
	matched := e.matching(target)
	if !whole && len(matched) == 0 {
		return nil, fmt.Errorf("shelve %q: %w", target, ErrNoSuchAlert)
	}
	if whole {
		e.shelves[model.Subject(target)] = until
	}
	var changes []model.Transition
	for _, r := range matched {
		switch shelf := e.shelf(r.Subject); {
		case !whole:
			r.ShelvedUntil = until
		case r.Subject == model.Subject(target) || shelf.After(r.ShelvedUntil):
			r.ShelvedUntil = shelf
		} // else it is put aside for longer by itself
		changes = append(changes, r.transition(now, model.Shelved, e.byName[r.Condition].Priority))
	}
	return changes, nil
}

// Unshelve takes an alert up again before its time. ErrNotShelved: it stands, or
// the site has the subject, but nobody has put it aside.
func (e *Engine) Unshelve(now time.Time, target string) ([]model.Transition, error) {
	now = now.Round(0).UTC()
	_, whole := e.shelves[model.Subject(target)]
	delete(e.shelves, model.Subject(target))
	standing := e.matching(target)
	matched := slices.DeleteFunc(slices.Clone(standing), func(r *record) bool { return r.ShelvedUntil.IsZero() })
	switch {
	case whole || len(matched) > 0:
	case len(standing) > 0 || known(e.site, model.Subject(target)):
		return nil, fmt.Errorf("unshelve %q: %w", target, ErrNotShelved)
	default:
		return nil, fmt.Errorf("unshelve %q: %w", target, ErrNoSuchAlert)
	}
	var changes []model.Transition
	for _, r := range matched {
		if own := e.shelves[r.Subject]; r.Subject.Owner() == model.Subject(target) && !own.IsZero() {
			r.ShelvedUntil = own // what is put aside by itself stays so
			continue
		}
		changes = append(changes, e.unshelve(now, r))
	}
	return changes, nil
}

// matching finds the standing alerts that a target names, in a stable order.
func (e *Engine) matching(target string) []*record {
	var found []*record
	for _, r := range e.ordered() {
		s := model.Subject(target)
		if r.Active && (r.Occurrence == target || r.Subject == s || r.Subject.Owner() == s) {
			found = append(found, r)
		}
	}
	return found
}

// shelf is until when a subject or what it belongs to is shelved.
func (e *Engine) shelf(s model.Subject) time.Time {
	until := e.shelves[s]
	if owner := e.shelves[s.Owner()]; owner.After(until) {
		until = owner
	}
	return until
}

// expire takes up again what was shelved until now.
func (e *Engine) expire(now time.Time) []model.Transition {
	for s, until := range e.shelves {
		if !until.After(now) {
			delete(e.shelves, s)
		}
	}
	var changes []model.Transition
	for _, r := range e.ordered() {
		if !r.ShelvedUntil.IsZero() && !r.ShelvedUntil.After(now) {
			changes = append(changes, e.unshelve(now, r))
		}
	}
	return changes
}

// unshelve reminds of an alert that still stands when its time is over.
func (e *Engine) unshelve(now time.Time, r *record) model.Transition {
	r.ShelvedUntil = time.Time{}
	if !r.quiet() {
		r.Announced = true
		r.call(now)
	}
	t := r.transition(now, model.Unshelved, e.byName[r.Condition].Priority)
	if r.Returning.IsZero() {
		t.Message.Headline = "Still: " + t.Message.Headline
	}
	return t
}
