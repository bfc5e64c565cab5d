package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strconv"
	"time"

	"golang.org/x/sync/errgroup"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/deploy"
	"wickd/ingest/mqtt"
	"wickd/model"
	"wickd/model/sim"
)

type demoCommand struct {
	For    spanFlag `placeholder:"DURATION" help:"End after this long, for example 60s; without it, at Ctrl-C."`
	Listen string   `default:"127.0.0.1:9920" placeholder:"ADDR" help:"Where metrics, health and the page are served (${default})."`
	Speed  float64  `default:"3600" placeholder:"N" help:"How much faster than life (${default}: an hour a second)."`
	Seed   uint64   `default:"7" placeholder:"N" help:"Another seed is another summer (${default})."`
}

// demoStart is local midnight of an early summer Monday: the sun is high, and
// the crops of the example are grown.
const demoStart = "2026-06-08"

// demoStep is how often the simulated sensors publish.
const demoStep = 10 * time.Minute

// demoFault is when the wicks of one bag lose contact: late enough that the
// model knows the bag, early enough that a short demo shows it.
const (
	demoFault    = 9*time.Hour + 30*time.Minute
	demoFaultBag = "p2"
)

func (d demoCommand) Run(ctx context.Context, c console) error {
	if !(d.Speed >= 1 && d.Speed <= 36000) {
		return usageError{fmt.Errorf("--speed: %s is not between 1, as in life, and 36000; 3600 is an hour a second", strconv.FormatFloat(d.Speed, 'f', -1, 64))}
	}
	if err := address(d.Listen); err != nil {
		return err
	}
	dir, remove, err := c.scratch.make("wickd-demo-")
	if err != nil {
		return err
	}
	defer remove()
	site, err := demoSite()
	if err != nil {
		return err
	}
	start, err := time.ParseInLocation(time.DateOnly, demoStart, site.Site.TimeZone)
	if err != nil {
		return err
	}
	if d.For.given {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, d.For.Duration)
		defer cancel()
	}
	return d.play(ctx, c, site, start, dir)
}

// demoSite is Kestrel Yard with the broker inside and nobody to tell.
func demoSite() (*config.Config, error) {
	site, err := config.Parse("site.yaml", deploy.SiteFile())
	if err != nil {
		return nil, fmt.Errorf("the example site: %w", err)
	}
	site.MQTT = config.MQTT{Embedded: &config.Embedded{Listen: "127.0.0.1:0"}}
	site.Notify, site.Influx = config.Notify{}, nil
	return site, nil
}

func (d demoCommand) play(ctx context.Context, c console, site *config.Config, start time.Time, dir string) error {
	clock := newDemoClock(start, d.Speed)
	screen := newScreen(c.out, site.Site)
	version, revision := build()
	wickd, err := daemon.New(daemon.Options{
		Config: site, Data: dir, Listen: d.Listen, Version: version, Revision: revision,
		Log:   slog.New(slog.NewTextHandler(c.err, &slog.HandlerOptions{Level: slog.LevelWarn})),
		Clock: clock.now, TickEvery: 50 * time.Millisecond,
		Found: screen.alerts, Hourly: screen.hour,
	})
	if err != nil {
		return err
	}
	world, err := sim.New(sim.Options{
		Site: site.Site, Seed: d.Seed, Start: start, Step: demoStep,
		Faults: []sim.Fault{{Kind: sim.WickLostContact, Subject: model.BagSubject(demoFaultBag), Start: start.Add(demoFault), Size: 0.1}},
	})
	if err != nil {
		wickd.Close()
		return fmt.Errorf("the simulated yard: %w", err)
	}
	screen.begin(wickd.Addr(), wickd.BrokerAddr(), d.Speed)
	began := time.Now()
	g, gctx := errgroup.WithContext(ctx)
	g.Go(func() error { return wickd.Run(gctx) })
	g.Go(func() error { return publish(gctx, world, clock, wickd.BrokerAddr()) })
	err = g.Wait()
	screen.end(clock.now().Sub(start), time.Since(began), d.Speed)
	return err
}

// publish plays the sensors: every step of the simulated yard goes out over
// real MQTT, and the clock moves on when the broker has confirmed it all.
func publish(ctx context.Context, world *sim.Sim, clock *demoClock, broker string) error {
	sensors, err := mqtt.New(mqtt.Options{URL: "tcp://" + broker, ClientID: "kestrel-yard-sensors"})
	if err != nil {
		return err
	}
	stop, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- sensors.Run(stop) }()
	defer func() {
		cancel()
		<-done
	}()
	for {
		if !clock.wait(ctx) {
			return nil
		}
		now, messages := world.Advance()
		if err := world.Err(); err != nil {
			return fmt.Errorf("the simulated yard: %w", err)
		}
		if err := send(ctx, sensors, messages); err != nil {
			if ctx.Err() != nil {
				return nil
			}
			return err
		}
		clock.step(now)
	}
}

// send publishes the messages of one step, each again until it is confirmed:
// that is what a sensor does.
func send(ctx context.Context, sensors *mqtt.Client, messages []sim.Message) error {
	var g errgroup.Group
	const atOnce = 16
	g.SetLimit(atOnce)
	for _, m := range messages {
		g.Go(func() error {
			for {
				err := sensors.Publish(ctx, m.Topic, m.Payload, false)
				if err == nil || ctx.Err() != nil {
					return ctx.Err()
				}
				if !errors.Is(err, mqtt.ErrNotConnected) && !errors.Is(err, mqtt.ErrConnectionLost) {
					return fmt.Errorf("publish %s: %w", m.Topic, err)
				}
				select {
				case <-ctx.Done():
					return ctx.Err()
				case <-time.After(20 * time.Millisecond):
				}
			}
		})
	}
	return g.Wait()
}
