package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/alerts/notify/alertmanager"
	"wickd/cmd/internal/config"
)

type notifyCommand struct {
	Test notifyTestCommand `cmd:"" help:"Send a test message to every recipient now, and say what became of each. It needs no running daemon and disturbs none."`
}

type notifyTestCommand struct {
	Site string `required:"" type:"path" placeholder:"FILE" help:"The site file, which names the recipients."`
	To   string `placeholder:"NAME" help:"Only this recipient."`
}

// attempt is one way out and what became of the message.
type attempt struct {
	name, service string
	send          func(ctx context.Context) error
	err           error
}

func (n notifyTestCommand) Run(ctx context.Context, c console) error {
	site, err := loadSite(n.Site, c)
	if err != nil {
		return err
	}
	tries, err := n.attempts(site)
	if err != nil {
		return err
	}
	var all errgroup.Group
	for i := range tries {
		all.Go(func() error {
			tries[i].err = tries[i].send(ctx)
			return nil
		})
	}
	_ = all.Wait() // each keeps its own error
	failed := false
	for _, t := range tries {
		failed = failed || t.err != nil
		if _, err := fmt.Fprintln(c.out, t); err != nil {
			return err
		}
	}
	if failed {
		return errQuiet
	}
	return nil
}

// String is one line of what was done.
func (t attempt) String() string {
	name := t.name
	if t.service != "" {
		name += " (" + t.service + ")"
	}
	if t.err != nil {
		return name + ": failed: " + t.err.Error()
	}
	return name + ": sent; the service has taken it, see that it arrives"
}

// attempts are the ways out that the site file names and the command line means.
func (n notifyTestCommand) attempts(site *config.Config) ([]attempt, error) {
	var all []attempt
	sender := notify.NewURLSender(notify.DefaultTimeout)
	for _, r := range site.Notify.Recipients {
		all = append(all, toRecipient(site, r, sender))
	}
	if site.Notify.Alertmanager != nil {
		all = append(all, toManager(site))
	}
	if len(all) == 0 {
		return nil, errors.New("the site file names nobody to tell; add recipients, for example notify: {recipients: {grower: {url_file: grower-url}}}")
	}
	if n.To == "" {
		return all, nil
	}
	i := slices.IndexFunc(all, func(t attempt) bool { return t.name == n.To })
	if i < 0 {
		var names []string
		for _, t := range all {
			names = append(names, t.name)
		}
		return nil, usageError{fmt.Errorf("--to %s: the site file names no such recipient; it names %s", n.To, strings.Join(names, ", "))}
	}
	return all[i : i+1], nil
}

func toRecipient(site *config.Config, r config.Recipient, sender notify.Sender) attempt {
	url, err := r.URL.Read()
	if err != nil {
		return attempt{name: r.Name, send: func(context.Context) error { return err }}
	}
	return attempt{name: r.Name, service: notify.Service(url), send: func(ctx context.Context) error {
		return sender.Send(ctx, url, notify.Trial(time.Now(), site.Site.TimeZone, site.Site.Name, r.Name))
	}}
}

func toManager(site *config.Config) attempt {
	return attempt{name: "alertmanager", send: func(ctx context.Context) error {
		c := site.Notify.Alertmanager
		o := alertmanager.Options{
			URL: c.URL, Username: c.Username, Site: site.Site.Name, Clock: time.Now,
			Standing: func() []alerts.State { return nil },
			Timer:    func(time.Duration) (<-chan time.Time, func() bool) { return nil, func() bool { return true } },
		}
		if c.Password.Given() {
			o.Password = c.Password.Read
		}
		p, err := alertmanager.New(o)
		if err != nil {
			return err
		}
		return p.Try(ctx)
	}}
}
