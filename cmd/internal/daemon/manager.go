package daemon

import (
	"errors"
	"time"

	"wickd/alerts"
	"wickd/alerts/notify/alertmanager"
)

// managerName stands where a recipient's name would: in metrics, and on the page
// for whoever answers there.
const managerName = "alertmanager"

// pageDay is how long the address of an alert's page stays the same in what the
// Alertmanager shows; it opens for a week.
const pageDay = 24 * time.Hour

// buildManager makes the way to an Alertmanager, if the site file names one in
// place of recipients.
func (d *Daemon) buildManager() (err error) {
	c := d.o.Config.Notify.Alertmanager
	if c == nil {
		return nil
	}
	o := alertmanager.Options{
		URL: c.URL, Username: c.Username, Site: d.o.Config.Site.Name, Standing: d.open, Clock: d.o.Clock, Log: d.o.Log,
		Zone: d.zone(), Memory: memory{d.journal, managerCheckpoint},
		Observe: d.posted,
		Timer: func(d time.Duration) (<-chan time.Time, func() bool) {
			t := time.NewTimer(d)
			return t.C, t.Stop
		},
		Page: func(s alerts.State, now time.Time) string {
			if d.signer == nil {
				return ""
			}
			return d.signer.Link(s.Occurrence, managerName, now.Truncate(pageDay))
		},
	}
	if c.Password.Given() {
		o.Password = c.Password.Read
	}
	if d.manager, err = alertmanager.New(o); err != nil {
		return ConfigError{err}
	}
	return nil
}

// posted counts what was handed to the Alertmanager.
func (d *Daemon) posted(_ int, err error) {
	if err == nil {
		d.counters.NotificationsSent.WithLabelValues(managerName).Inc()
		return
	}
	d.counters.NotificationsFailed.WithLabelValues(managerName, managerReason(err)).Inc()
}

// managerReason is the label of a failed post.
func managerReason(err error) string {
	var failed *alertmanager.PostError
	if errors.As(err, &failed) {
		return string(failed.Reason)
	}
	return "password"
}
