package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"wickd/cmd/internal/web"
	"wickd/model"
)

// running is a daemon as it answered: what is open there, and the clock and the
// zone in which its people count.
type running struct {
	doc  web.Document
	zone *time.Location
}

func ask(ctx context.Context, c web.Client) (running, error) {
	doc, err := c.Snapshot(ctx)
	if err != nil {
		return running{}, err
	}
	return answered(doc), nil
}

func answered(doc web.Document) running {
	zone, err := time.LoadLocation(doc.TimeZone)
	if err != nil {
		zone = time.UTC // which is then said beside the times
	}
	return running{doc, zone}
}

// moment writes a time on the site's clock, with the year where it is another.
func (r running) moment(t time.Time) string {
	t = t.In(r.zone)
	if t.Year() != r.doc.Now.In(r.zone).Year() {
		return t.Format("Mon 2 Jan 2006 15:04")
	}
	return t.Format("Mon 2 Jan 15:04")
}

// named is the alert that a person means: by its own name, or by what it is
// about where that leaves no doubt.
func (r running) named(word string) (occurrence string, err error) {
	var meant []web.AlertDoc
	for _, a := range r.doc.Alerts {
		if a.Occurrence == word {
			return word, nil
		}
		owner := a.Subject.Owner()
		if string(a.Subject) == word || string(owner) == word || owner.ID() == word || string(a.Condition) == word {
			meant = append(meant, a)
		}
	}
	switch len(meant) {
	case 1:
		return meant[0].Occurrence, nil
	case 0:
		return "", fmt.Errorf("no open alert is called %q; %s", word, openText(r.doc.Alerts))
	}
	return "", fmt.Errorf("%q may mean several alerts; give the whole name: %s", word, openText(meant))
}

// shelved is what a person puts aside: an alert, or a part of the site with all
// that comes of it.
func (r running) shelved(word string) (string, error) {
	for _, part := range r.parts() {
		if string(part) == word {
			return word, nil
		}
	}
	return r.named(word)
}

// parts are the things of the site that can be put aside as a whole.
func (r running) parts() []model.Subject {
	var all []model.Subject
	for _, b := range r.doc.Bags {
		all = append(all, model.BagSubject(b.Bag))
	}
	for _, c := range r.doc.Channels {
		all = append(all, model.ChannelSubject(c.Channel))
	}
	for _, v := range r.doc.Reservoirs {
		all = append(all, model.ReservoirSubject(v.Reservoir))
	}
	for _, s := range r.doc.Sensors {
		all = append(all, s.Sensor)
	}
	return all
}

// explain adds what is open to the answer that an alert is not.
func (r running) explain(err error, word string) error {
	switch {
	case errors.Is(err, web.ErrNoAlert):
		return fmt.Errorf("no open alert is called %q; %s", word, openText(r.doc.Alerts))
	case errors.Is(err, web.ErrNotAside):
		return fmt.Errorf("%q is not put aside, so there is nothing to take up", word)
	}
	return err
}

// openText lists alerts by their names, one a line.
func openText(open []web.AlertDoc) string {
	if len(open) == 0 {
		return "none is open"
	}
	var b strings.Builder
	b.WriteString("open:")
	for _, a := range open {
		fmt.Fprintf(&b, "\n  %q: %s", a.Occurrence, a.Message.Headline)
	}
	return b.String()
}
