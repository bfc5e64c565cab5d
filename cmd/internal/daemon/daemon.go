package daemon

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"wickd/alerts"
	"wickd/alerts/notify"
	"wickd/alerts/notify/alertmanager"
	"wickd/cmd/internal/config"
	"wickd/cmd/internal/expose"
	"wickd/cmd/internal/web"
	"wickd/ingest"
	"wickd/ingest/forward"
	"wickd/ingest/journal"
	"wickd/model"
	"wickd/model/design"
)

// Daemon is one running wickd.
type Daemon struct {
	o        Options
	journal  *journal.Journal
	room     *room
	disk     *disk
	decoder  *decoder
	keeper   *keeper
	watch    *watch
	pipeline *ingest.Pipeline
	source   *source
	web      *web.Server
	notify   *notify.Dispatcher   // nil: nobody is told
	manager  *alertmanager.Pusher // nil: no Alertmanager tells people
	signer   *web.Signer          // nil: messages carry no links
	forward  *forward.Forwarder   // nil: nothing is forwarded
	registry *prometheus.Registry
	counters *expose.Counters
	seen     counted

	running atomic.Bool
	failing atomic.Pointer[string] // why the journal fails; nil: it works
	damaged atomic.Pointer[string] // what was found in its file; nil: nothing
	owing   atomic.Pointer[[]journal.Owing]
}

// New opens the journal, restores the last state and opens the sockets. It
// starts nothing; a Daemon that is not run must be closed. Where it fails, a data
// directory that it made is gone again.
func New(o Options) (_ *Daemon, err error) {
	o, err = o.withDefaults()
	if err != nil {
		return nil, err
	}
	d := &Daemon{o: o}
	_, missing := os.Stat(o.Data)
	if d.journal, err = journal.Open(journal.Options{Dir: o.Data, Log: o.Log}); err != nil {
		return nil, err
	}
	defer func() {
		if err == nil {
			return
		}
		d.Close()
		if errors.Is(missing, fs.ErrNotExist) {
			_ = os.RemoveAll(o.Data) // made just now: nothing is in it
		}
	}()
	for _, build := range []func() error{d.buildMetrics, d.buildCore, d.buildIntake, d.buildLinks, d.buildNotify, d.buildManager, d.buildForward, d.buildWeb} {
		if err = build(); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// Close releases what New opened, when Run is not called.
func (d *Daemon) Close() {
	if d.source != nil {
		d.source.close()
	}
	if d.web != nil {
		ended, cancel := context.WithCancel(context.Background())
		cancel()
		_ = d.web.Serve(ended) // closes the socket
	}
	_ = d.journal.Close(context.Background())
}

// Addr is where the web side listens, BrokerAddr where the embedded broker
// does; empty: there is none.
func (d *Daemon) Addr() string       { return d.web.Addr() }
func (d *Daemon) BrokerAddr() string { return d.source.addr }

// Snapshot is the newest state.
func (d *Daemon) Snapshot() model.Snapshot { return d.keeper.latest() }

// Overrides are the site file's changes to the conditions, as the engine takes
// them.
func Overrides(a config.Alerts) map[model.Condition]alerts.Override {
	known := map[model.Condition]bool{}
	for _, d := range alerts.Conditions() {
		known[d.Condition] = true
	}
	out := map[model.Condition]alerts.Override{}
	for name, c := range a.Conditions {
		if !known[name] {
			continue // a condition of the site file's vocabulary that is not decided yet
		}
		v := alerts.Override{OnDelay: c.OnDelay, OffDelay: c.OffDelay, Deadband: c.Deadband}
		if c.Priority != nil {
			v.Priority = *c.Priority
		}
		v.OutOfService = c.Enabled != nil && !*c.Enabled
		out[name] = v
	}
	return out
}

func (d *Daemon) buildCore() error {
	site := d.o.Config.Site
	physics, err := design.Build(site)
	if err != nil {
		return ConfigError{fmt.Errorf("the site cannot be worked out: %w", err)}
	}
	recipients := d.recipients()
	d.keeper = &keeper{store: timed{d.journal, d.counters}, recipients: recipients, log: d.o.Log, hourly: d.o.Hourly}
	d.keeper.told, d.keeper.found = d.told, d.found
	d.room = &room{look: d.journal.Room, clock: func() time.Time { return d.o.Clock().In(d.zone()) }, log: d.o.Log, dir: d.o.Data, again: roomAgain, filled: d.filled, ending: make(chan struct{})}
	d.disk = &disk{free: func() (int64, error) { return freeAt(d.o.Data) }, keep: d.o.Keep}
	d.keeper.core, err = NewCore(d.coreOptions(physics))
	if err != nil {
		return err
	}
	engine, err := alerts.New(d.alertOptions())
	if err != nil {
		return err
	}
	d.watch = &watch{engine: engine, store: timed{d.journal, d.counters}, recipients: recipients, told: d.told, found: d.found}
	return d.restore(context.Background(), physics)
}

func (d *Daemon) buildForward() (err error) {
	i := d.o.Config.Influx
	if i == nil {
		return d.forget(context.Background())
	}
	o := forward.Options{
		URL: i.URL, Org: i.Org, Bucket: i.Bucket, Cursors: d.journal, Clock: d.o.Clock, Log: d.o.Log,
		Streams: []forward.Stream{forward.Readings(d.journal), estimateStream(d.journal)},
	}
	if i.Token.Given() {
		if o.Token, err = i.Token.Read(); err != nil {
			return ConfigError{fmt.Errorf("%s: %w; put the token there, or take influx out of the site file", tokenKey(i.Token), err)}
		}
	}
	if d.forward, err = forward.New(o); err != nil {
		return ConfigError{err}
	}
	return nil
}

// tokenKey is the key of the site file that names the token.
func tokenKey(s config.Secret) string {
	if s.Env != "" {
		return "influx.token_env"
	}
	return "influx.token_file"
}

func (d *Daemon) buildMetrics() (err error) {
	d.registry = prometheus.NewPedanticRegistry()
	if d.counters, err = expose.NewCounters(d.registry); err != nil {
		return err
	}
	d.counters.JournalLost.Add(float64(d.journal.Lost().Messages))
	collector, err := expose.NewCollector(expose.Options{Snapshot: d.snapshot, Alerts: d.alertStates, Undelivered: d.undelivered, Now: d.o.Clock})
	if err != nil {
		return err
	}
	return errors.Join(d.registry.Register(collector),
		expose.RegisterProgram(d.registry, expose.Build{Version: d.o.Version, Revision: d.o.Revision}))
}

func (d *Daemon) buildWeb() (err error) {
	d.web, err = web.New(web.Options{
		Listen: d.o.Listen, SiteName: d.o.Config.Site.Name, TimeZone: d.o.Config.Site.TimeZone, Version: d.o.Version,
		Registry: d.registry, Snapshot: d.snapshot, Now: d.o.Clock, Alerts: d.alertStates, Undelivered: d.undelivered, Notes: d.notes,
		Ready: d.ready, Healthy: d.healthy, Operator: operator{d}, Answered: d.answered, Log: d.o.Log,
		Signer: d.signer, History: past{d.journal}.series, Site: d.o.Config.Site,
	})
	if err != nil {
		return err
	}
	return d.web.Listen()
}

func (d *Daemon) told() {
	if d.notify != nil {
		d.notify.Poke()
	}
}

func (d *Daemon) found(changes []model.Transition) {
	for _, t := range changes {
		d.o.Log.Info("alert", "transition", t.Kind, "condition", t.Condition, "subject", t.Subject,
			"priority", t.Priority, "cause", t.Cause, "suppressed", t.Suppressed, "message", t.Message.Headline)
		d.counters.AlertTransitions.WithLabelValues(string(t.Condition), string(t.Kind)).Inc()
	}
	if d.manager != nil {
		d.manager.Poke()
	}
	if d.o.Found != nil {
		d.o.Found(changes)
	}
}
