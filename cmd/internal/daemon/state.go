package daemon

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/ingest/journal"
	"wickd/model"
)

// health is the daemon's own state for alerts, metrics and the page.
func (d *Daemon) health() model.DaemonHealth {
	lost, dropped, _ := d.source.state()
	h := model.DaemonHealth{BrokerLostSince: lost, BrokerDropped: dropped}
	h.ClockEvidence, h.ClockWrong = clockHealth(d.o.Clock(), d.pipeline.Stats())
	if d.forward != nil {
		h.ForwardBehind, h.ForwardPending = d.forward.Behind()
	}
	h.DiskFree, h.DiskLoss, h.DiskKnown = d.disk.room()
	if why := d.room.evidence(); why != "" {
		h.JournalFailing, h.JournalEvidence = true, why
	}
	if why := d.damaged.Load(); why != nil {
		h.JournalFailing, h.JournalEvidence = true, *why
	}
	if why := d.failing.Load(); why != nil {
		h.JournalFailing, h.JournalEvidence = true, *why
	}
	return h
}

func (d *Daemon) snapshot() model.Snapshot {
	s := d.keeper.latest()
	s.Daemon = d.health()
	return s
}

func (d *Daemon) alertStates() []expose.AlertState {
	open := d.open()
	out := make([]expose.AlertState, 0, len(open))
	for _, s := range open {
		a := expose.AlertState{
			Occurrence: s.Occurrence, Condition: s.Condition, Subject: s.Subject, Priority: s.Priority,
			State: string(s.Status), Cause: s.Cause, Since: s.Since, Due: s.Due, Message: s.Message,
			By: s.By, Chattering: s.Chattering,
		}
		if !s.ShelvedUntil.IsZero() {
			until := s.ShelvedUntil
			a.Until = &until
		}
		out = append(out, a)
	}
	return out
}

// moment is how a time is written where it stands alone, on the site's clock.
const moment = "Mon 2 Jan 15:04 MST"

// zone is that of all times that people read.
func (d *Daemon) zone() *time.Location { return d.o.Config.Site.TimeZone }

func (d *Daemon) ready() error {
	if !d.running.Load() {
		return errors.New("starting or stopping")
	}
	if err := d.room.wanted(); err != nil {
		return err
	}
	if lost, _, listening := d.source.state(); !listening {
		if lost.IsZero() {
			return errors.New("not connected to the broker yet")
		}
		return fmt.Errorf("the broker has been lost since %s: %w", lost.In(d.zone()).Format(moment), d.source.reason())
	}
	if !d.source.open() {
		return errors.New("the broker has not answered the subscriptions yet")
	}
	return nil
}

// Alive reports that the daemon works, for the service manager's watchdog.
func (d *Daemon) Alive() bool { return d.running.Load() && d.healthy() == nil }

func (d *Daemon) healthy() error {
	if why := d.failing.Load(); why != nil {
		return errors.New(*why)
	}
	return nil
}

// operator takes what a person does about an alert.
type operator struct{ d *Daemon }

var _ web.Operator = operator{}

// Acknowledge implements web.Operator.
func (o operator) Acknowledge(ctx context.Context, occurrence, by string) error {
	return o.act(ctx, occurrence, func(e *alerts.Engine) ([]model.Transition, error) {
		return e.Acknowledge(o.d.o.Clock(), occurrence, by)
	})
}

// Shelve implements web.Operator.
func (o operator) Shelve(ctx context.Context, occurrence string, until time.Time) error {
	err := o.act(ctx, occurrence, func(e *alerts.Engine) ([]model.Transition, error) {
		return e.Shelve(o.d.o.Clock(), occurrence, until)
	})
	if err == nil {
		o.d.o.Log.Info("put aside", "what", occurrence, "until", until)
	}
	return err
}

// Unshelve implements web.Operator.
func (o operator) Unshelve(ctx context.Context, occurrence string) error {
	err := o.act(ctx, occurrence, func(e *alerts.Engine) ([]model.Transition, error) {
		return e.Unshelve(o.d.o.Clock(), occurrence)
	})
	if err == nil {
		o.d.o.Log.Info("taken up again", "what", occurrence)
	}
	return err
}

// act tries the site's alerts first, then the daemon's own; a part of the daemon,
// but for its sensors, is a subject of the latter alone.
func (o operator) act(ctx context.Context, target string, do func(e *alerts.Engine) ([]model.Transition, error)) error {
	err := alerts.ErrNoSuchAlert
	if subject := model.Subject(target); alerts.OfTheSite(subject) || subject.Kind() != model.KindDaemon {
		err = o.d.keeper.act(ctx, do)
	}
	if errors.Is(err, alerts.ErrNoSuchAlert) {
		err = o.d.watch.act(ctx, o.d.o.Clock(), do)
	}
	switch {
	case errors.Is(err, alerts.ErrNoSuchAlert):
		return fmt.Errorf("%w: %w", web.ErrNoAlert, err)
	case errors.Is(err, alerts.ErrNotShelved):
		return fmt.Errorf("%w: %w", web.ErrNotAside, err)
	}
	return err
}

// outbox is the journal as the notifier sees it.
type outbox struct{ j *journal.Journal }

var _ notify.Outbox = outbox{}

// Due implements notify.Outbox.
func (o outbox) Due(ctx context.Context, now time.Time, limit int) ([]notify.Item, error) {
	owed, err := o.j.Due(ctx, now, limit)
	items := make([]notify.Item, 0, len(owed))
	for _, m := range owed {
		items = append(items, notify.Item{ID: m.ID, Key: m.Key, Recipient: m.Recipient, Body: m.Body, Attempts: m.Attempts, NotBefore: m.NotBefore})
	}
	return items, err
}

// MarkSent implements notify.Outbox.
func (o outbox) MarkSent(ctx context.Context, id int64, at time.Time) error {
	return o.j.MarkSent(ctx, id, at)
}

// MarkFailed implements notify.Outbox.
func (o outbox) MarkFailed(ctx context.Context, id int64, reason string, notBefore time.Time) error {
	return o.j.MarkFailed(ctx, id, reason, notBefore)
}

// Drop implements notify.Outbox.
func (o outbox) Drop(ctx context.Context, id int64, reason string, at time.Time) error {
	return o.j.Drop(ctx, id, reason, at)
}

func (d *Daemon) attempted(a notify.Attempt) {
	if a.Reason == "" {
		d.counters.NotificationsSent.WithLabelValues(a.Recipient).Inc()
		return
	}
	d.counters.NotificationsFailed.WithLabelValues(a.Recipient, string(a.Reason)).Inc()
}

// answered counts what somebody did about an alert, or tried to.
func (d *Daemon) answered(a web.Answer) {
	if a.Reason == "" {
		d.counters.AnswersAccepted.WithLabelValues(string(a.Way), a.Action).Inc()
		return
	}
	d.counters.AnswersRefused.WithLabelValues(string(a.Way), a.Reason).Inc()
}

// counted are the totals that were added to the counters so far.
type counted struct {
	accepted, redelivered, points, dropped uint64
	resets                                 int
}

// sample brings the counters up to what the parts have counted.
func (d *Daemon) sample(ctx context.Context) {
	s := d.pipeline.Stats()
	c := &d.seen
	add := func(counter prometheus.Counter, now uint64, before *uint64) {
		if now > *before {
			counter.Add(float64(now - *before))
			*before = now
		}
	}
	received := s.Accepted + s.Redelivered
	already := c.accepted + c.redelivered
	add(d.counters.MessagesReceived, received, &already)
	add(d.counters.MessagesAccepted, s.Accepted, &c.accepted)
	add(d.counters.MessagesDuplicate, s.Redelivered, &c.redelivered)
	if d.forward != nil {
		f := d.forward.Stats()
		add(d.counters.ForwardedReadings, f.Points, &c.points)
		add(d.counters.ForwardRefused, f.Refused, &c.dropped)
	}
	if n := d.keeper.resets(); n > c.resets {
		d.counters.FilterResets.Add(float64(n - c.resets))
		c.resets = n
	}
	if owing, err := d.journal.Owing(ctx); err == nil {
		d.owing.Store(&owing)
	}
	if j, err := d.journal.Stats(ctx); err == nil {
		d.counters.JournalBytes.Set(float64(j.Bytes))
		d.disk.look(d.o.Clock(), j)
		d.counters.NotificationsWaiting.Set(float64(j.OutboxOwed))
	}
}
