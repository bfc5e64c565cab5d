package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"time"

	"wickd/cmd/internal/daemon"
)

type runCommand struct {
	Site   string   `required:"" type:"path" placeholder:"FILE" help:"The site file."`
	Data   string   `required:"" type:"path" placeholder:"DIR" help:"Where the journal is kept; made if it is not there."`
	Listen string   `default:"127.0.0.1:9920" placeholder:"ADDR" help:"Where metrics, health and the page are served (${default})."`
	Keep   daysFlag `default:"400 d" placeholder:"TIME" help:"How long the journal keeps what nothing needs any more, at least 30 d (${default})."`
	Log    logFlag  `default:"info" placeholder:"LEVEL" help:"Least level that is logged: debug, info, warn or error (${default})."`
}

// logFlag is a least level by the name that --help gives it.
type logFlag struct{ slog.Level }

// UnmarshalText implements encoding.TextUnmarshaler.
func (f *logFlag) UnmarshalText(text []byte) error {
	if f.Level.UnmarshalText(text) != nil {
		return fmt.Errorf("%q is no level; there are debug, info, warn and error", text)
	}
	return nil
}

func (r runCommand) Run(ctx context.Context, c console) error {
	if err := address(r.Listen); err != nil {
		return err
	}
	site, err := loadSite(r.Site, c)
	switch {
	case errors.Is(err, errQuiet):
		return errFile // starting it again would not help
	case err != nil:
		return usageError{err} // nor would it here: it is not there, or no file
	}
	warn(c, site.Ahead(time.Now()))
	version, revision := build()
	d, err := daemon.New(daemon.Options{
		Config: site, Data: r.Data, Listen: r.Listen, Keep: time.Duration(r.Keep.value * 24 * float64(time.Hour)),
		Version: version, Revision: revision,
		Log: slog.New(slog.NewTextHandler(c.err, &slog.HandlerOptions{Level: r.Log.Level})),
	})
	var wrong daemon.ConfigError
	switch {
	case errors.Is(err, daemon.ErrOptions):
		return usageError{fmt.Errorf("run: %w", err)}
	case errors.As(err, &wrong):
		fmt.Fprintln(c.err, "wickd:", err)
		return errFile
	case err != nil:
		return err
	}
	if addr := d.BrokerAddr(); addr != "" {
		fmt.Fprintf(c.err, "sensors publish to mqtt://%s\n", addr)
	}
	return notifying(ctx, d)
}

// address refuses a --listen that no machine could have.
func address(listen string) error {
	_, port, err := net.SplitHostPort(listen)
	if err == nil {
		_, err = net.LookupPort("tcp", port)
	}
	if err != nil {
		return usageError{fmt.Errorf("--listen %q is no address and port, for example 127.0.0.1:9920: %w", listen, err)}
	}
	return nil
}
