package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/capture"
	"wickd/model/design"
)

type replayCommand struct {
	Site    string `required:"" type:"path" placeholder:"FILE" help:"The site file."`
	Records string `required:"" placeholder:"OUT" help:"Where the records go, a JSON object a line; - is standard output."`
	Capture string `arg:"" placeholder:"CAPTURE" help:"The recording, plain or gzip; - is standard input."`
	Quiet   bool   `short:"q" help:"Say nothing about progress."`
}

func (r replayCommand) Run(ctx context.Context, c console) error {
	site, err := loadSite(r.Site, c)
	if err != nil {
		return err
	}
	physics, err := design.Build(site.Site)
	if err != nil {
		return err
	}
	out, err := createRecords(r.Records, c.out)
	if err != nil {
		return err
	}
	defer out.discard()
	recorder := daemon.NewRecorder(out)
	core, err := daemon.NewCore(daemon.CoreOptions{
		Site: site.Site, Design: physics, Horizon: site.Alerts.Horizon, Overrides: daemon.Overrides(site.Alerts), Observer: recorder,
	})
	if err != nil {
		return err
	}
	in, err := openCapture(r.Capture)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	decoder, err := daemon.NewDecoder(site.Site)
	if err != nil {
		return err
	}
	p := &progress{out: c.err, quiet: r.Quiet, began: time.Now()}
	if err := r.feed(ctx, in, decoder, core, p); err != nil {
		return err
	}
	if err := recorder.Err(); err != nil {
		return fmt.Errorf("write records: %w", err)
	}
	if err := out.keep(); err != nil {
		return err
	}
	p.done(recorder.Alerts())
	return nil
}

// feed hands the recording on to the core, and evaluates up to its last
// moment.
func (r replayCommand) feed(ctx context.Context, in *capture.Reader, d ingest.Decoder, core *daemon.Core, p *progress) error {
	var last time.Time
	next := func() (ingest.Record, bool, error) {
		record, err := in.Next()
		if errors.Is(err, io.EOF) {
			return ingest.Record{}, false, nil
		}
		if err != nil {
			return ingest.Record{}, false, err
		}
		last = record.Message.Arrived
		p.line(last)
		return record, true, nil
	}
	sink := ingest.SinkFunc(func(ctx context.Context, b ingest.Batch) error {
		for _, e := range b.Events {
			core.Apply(e)
		}
		return ctx.Err()
	})
	if err := ingest.Replay(ctx, next, d, sink); err != nil {
		return fmt.Errorf("replay: %w", err)
	}
	if last.IsZero() {
		return fmt.Errorf("replay: %s holds no message", r.Capture)
	}
	core.Finish(last)
	return nil
}

func openCapture(path string) (*capture.Reader, error) {
	if path == "-" {
		return capture.NewReader("standard input", os.Stdin)
	}
	return capture.Open(path)
}

// records is an output that appears under its name only when it is complete.
type records struct {
	*bufio.Writer
	file *os.File // nil: standard output
	name string
}

func createRecords(name string, stdout io.Writer) (*records, error) {
	if name == "-" {
		return &records{Writer: bufio.NewWriter(stdout)}, nil
	}
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".*.part")
	if err != nil {
		return nil, fmt.Errorf("records: %w", err)
	}
	return &records{Writer: bufio.NewWriterSize(f, 1<<16), file: f, name: name}, nil
}

func (r *records) keep() error {
	if err := r.Flush(); err != nil {
		return fmt.Errorf("records: %w", err)
	}
	if r.file == nil {
		return nil
	}
	const readable = 0o644
	f := r.file
	r.file = nil
	if err := errors.Join(f.Chmod(readable), f.Close(), os.Rename(f.Name(), r.name)); err != nil {
		_ = os.Remove(f.Name())
		return fmt.Errorf("records: %w", err)
	}
	return nil
}

// discard removes what was not kept.
func (r *records) discard() {
	if r.file != nil {
		_ = r.file.Close()
		_ = os.Remove(r.file.Name())
	}
}

// progress tells how far a long replay has come.
type progress struct {
	out   io.Writer
	quiet bool
	began time.Time
	told  time.Time
	lines int
	first time.Time
	last  time.Time
}

// tellEvery keeps short replays silent and long ones from looking stuck.
const tellEvery = 2 * time.Second

func (p *progress) line(at time.Time) {
	p.lines++
	p.last = at
	if p.first.IsZero() {
		p.first = at
	}
	const lookEvery = 1000 // lines between looks at the clock
	if p.quiet || p.lines%lookEvery != 0 {
		return
	}
	now := time.Now()
	if p.told.IsZero() {
		p.told = p.began
	}
	if now.Sub(p.told) >= tellEvery {
		p.told = now
		fmt.Fprintf(p.out, "%s: %d messages, %.0f days\n", at.UTC().Format(time.DateTime), p.lines, p.days())
	}
}

func (p *progress) days() float64 { return p.last.Sub(p.first).Hours() / 24 }

func (p *progress) done(alerts int) {
	if !p.quiet {
		fmt.Fprintf(p.out, "%d messages over %.1f days replayed in %.1f s; %d alerts raised\n",
			p.lines, p.days(), time.Since(p.began).Seconds(), alerts)
	}
}
