package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
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
	flag string // that names the daemon in commands to come
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
	return running{doc: doc, zone: zone}
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
func (r running) named(word string) (web.AlertDoc, error) {
	var meant []web.AlertDoc
	for _, a := range r.doc.Alerts {
		if a.Occurrence == word {
			return a, nil
		}
		if about(a, word) {
			meant = append(meant, a)
		}
	}
	switch len(meant) {
	case 1:
		return meant[0], nil
	case 0:
		return web.AlertDoc{}, fmt.Errorf("no open alert is called %q; %s", word, openText(r.doc.Alerts))
	}
	return web.AlertDoc{}, fmt.Errorf("%q may mean several alerts; give the whole name: %s", word, openText(meant))
}

// about says that a word, in whatever case, is what an alert is about.
func about(a web.AlertDoc, word string) bool {
	owner := a.Subject.Owner()
	return slices.ContainsFunc([]string{string(a.Subject), string(owner), owner.ID(), string(a.Condition)}, func(name string) bool {
		return strings.EqualFold(name, word)
	})
}

// shelved is what a person puts aside: an alert, or a part of the site with all
// that comes of it.
func (r running) shelved(word string) (string, error) {
	if part(word) {
		return word, nil // the daemon knows its parts, also while nothing is known of them
	}
	a, err := r.named(word)
	if err == nil || slices.ContainsFunc(r.doc.Alerts, func(a web.AlertDoc) bool { return about(a, word) }) {
		return a.Occurrence, err
	}
	meant := slices.DeleteFunc(r.parts(), func(name string) bool { return !strings.EqualFold(model.Subject(name).ID(), word) })
	if len(meant) == 1 {
		return meant[0], nil
	}
	return "", err
}

// part says that a word has the form of a part of a site: bag/p2, air/humidity.
func part(word string) bool {
	s := model.Subject(word)
	kinds := []string{model.KindBag, model.KindChannel, model.KindReservoir, model.KindAir, model.KindDaemon}
	return slices.Contains(kinds, s.Kind()) && s.ID() != "" && !strings.Contains(word, "|")
}

// parts names those of the site of which something is known.
func (r running) parts() (all []string) {
	for _, b := range r.doc.Bags {
		all = append(all, string(model.BagSubject(b.Bag)))
	}
	for _, c := range r.doc.Channels {
		all = append(all, string(model.ChannelSubject(c.Channel)))
	}
	for _, v := range r.doc.Reservoirs {
		all = append(all, string(model.ReservoirSubject(v.Reservoir)))
	}
	return all
}

func (r running) partsText() string {
	all := r.parts()
	if len(all) == 0 {
		return ""
	}
	return " (it has " + list(all) + ")"
}

// explain adds what is open to the answer that an alert is not.
func (r running) explain(err error, word string) error {
	switch {
	case errors.Is(err, web.ErrNoAlert) && part(word):
		return fmt.Errorf("the site has no %s, and no open alert is about it%s; %s", word, r.partsText(), openText(r.doc.Alerts))
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
