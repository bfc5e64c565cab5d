package daemon

import (
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/model/design"
)

// coreOptions are those of the core of this site.
func (d *Daemon) coreOptions(physics *design.Site) CoreOptions {
	a := d.o.Config.Alerts
	return CoreOptions{
		Site: d.o.Config.Site, Design: physics, Horizon: a.Horizon, Overrides: Overrides(a),
		Reminders: a.Reminders, Escalations: d.escalations(), Observer: d.keeper,
	}
}

// alertOptions are those of the daemon's own alerts.
func (d *Daemon) alertOptions() alerts.Options {
	a := d.o.Config.Alerts
	return alerts.Options{
		Site: d.o.Config.Site, Overrides: Overrides(a), Reminders: a.Reminders, Escalations: d.escalations(),
	}
}

// escalations are the times after which further recipients are told.
func (d *Daemon) escalations() []time.Duration {
	var steps []time.Duration
	for _, r := range d.o.Config.Notify.Recipients {
		if r.EscalateAfter > 0 {
			steps = append(steps, r.EscalateAfter)
		}
	}
	return steps
}

func (d *Daemon) recipients() []notify.Recipient {
	var out []notify.Recipient
	for _, r := range d.o.Config.Notify.Recipients {
		n := notify.Recipient{ID: r.Name, URL: r.URL.Read, MinPriority: r.MinPriority, EscalateAfter: r.EscalateAfter}
		if r.Quiet != nil {
			n.Quiet = &notify.QuietHours{From: r.Quiet.From, To: r.Quiet.To, Zone: d.o.Config.Site.TimeZone}
		}
		out = append(out, n)
	}
	return out
}

// reachable says at once, and not with the first alert, when the address of a
// recipient cannot be read or names no service. It may still be put right while
// wickd runs.
func (d *Daemon) reachable(r notify.Recipient) {
	url, err := r.URL()
	if err == nil && !strings.HasPrefix(url, "matrix") { // which would log in
		err = notify.NewURLSender(notify.DefaultTimeout).Check(url)
	}
	if err != nil {
		d.o.Log.Error("this recipient cannot be told of anything; see deploy/site.yaml for the form of an address", "recipient", r.ID, "err", err)
	}
}

func (d *Daemon) buildNotify() (err error) {
	if len(d.keeper.recipients) == 0 {
		return nil
	}
	for _, r := range d.keeper.recipients {
		d.reachable(r)
	}
	d.notify, err = notify.New(notify.Options{
		Outbox: outbox{d.journal}, Recipients: d.keeper.recipients, Sender: notify.NewURLSender(notify.DefaultTimeout),
		Clock: d.o.Clock, Rand: rand.New(rand.NewPCG(uint64(time.Now().UnixNano()), 0)), Zone: d.o.Config.Site.TimeZone,
		Log: d.o.Log, Observe: d.attempted, Stands: d.unanswered, Links: d.links, Picture: d.picture, Memory: memory{d.journal, notifierCheckpoint},
	})
	return err
}

// open are all alerts that are not normal: the site's and the daemon's own.
func (d *Daemon) open() []alerts.State {
	return append(slices.Clone(d.keeper.alerts()), d.watch.open()...)
}

// unanswered reports whether an occurrence still waits for somebody.
func (d *Daemon) unanswered(occurrence string) bool {
	return slices.ContainsFunc(d.open(), func(s alerts.State) bool {
		return s.Occurrence == occurrence && s.Status == alerts.Unacknowledged
	})
}
