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

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/capture"
	"wickd/model/design"
)

type replayCommand struct {
	Site    string `required:"" type:"path" placeholder:"FILE" help:"The site file."`
	Records string `required:"" placeholder:"OUT" help:"Where the records go, a JSON object a line; - is standard output."`
	WhatIf  string `type:"path" placeholder:"FILE" help:"Another site file: also say which alerts each of the two would have sent, and when."`
	Plot    string `type:"path" placeholder:"DIR" help:"Also draw every bag and reservoir, and write a report into this directory."`
	Capture string `arg:"" placeholder:"CAPTURE" help:"The recording, plain or gzip; - is standard input."`
	Quiet   bool   `short:"q" help:"Say nothing about progress."`
}

// Run implements the command.
func (r replayCommand) Run(ctx context.Context, c console) error {
	if r.WhatIf != "" && r.Capture == "-" {
		return usageError{errors.New("--what-if reads the recording twice: give it as a file, not on standard input")}
	}
	if sameFile(r.Records, r.Capture) {
		return usageError{errors.New("--records would write over the recording itself; name another file")}
	}
	site, err := loadSite(r.Site, c)
	if err != nil {
		return err
	}
	out, err := createRecords(r.Records, c.out)
	if err != nil {
		return err
	}
	defer out.discard()
	recorder := daemon.NewRecorder(out)
	listeners := audience{recorder}
	var story *chronicle
	if r.WhatIf != "" || r.Plot != "" {
		story = newChronicle(r.Plot != "")
		listeners = append(listeners, story)
	}
	p := &progress{out: c.err, quiet: r.Quiet, began: time.Now()}
	if err := r.replay(ctx, site, listeners, story, p); err != nil {
		return err
	}
	if err := recorder.Err(); err != nil {
		return fmt.Errorf("write records: %w", err)
	}
	if err := out.keep(); err != nil {
		return err
	}
	p.done(recorder.Alerts())
	if err := r.draw(site, story, c); err != nil {
		return err
	}
	return r.compare(ctx, story, c)
}

func sameFile(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// replay feeds the recording through a core for one site.
func (r replayCommand) replay(ctx context.Context, site *config.Config, listeners audience, story *chronicle, p *progress) error {
	physics, err := design.Build(site.Site)
	if err != nil {
		return err
	}
	core, err := daemon.NewCore(daemon.CoreOptions{
		Site: site.Site, Design: physics, Horizon: site.Alerts.Horizon, Overrides: daemon.Overrides(site.Alerts), Observer: listeners,
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
	return r.feed(ctx, in, decoder, core, story, p)
}

// feed hands the recording on to the core, and evaluates up to its last
// moment.
func (r replayCommand) feed(ctx context.Context, in *capture.Reader, d ingest.Decoder, core *daemon.Core, story *chronicle, p *progress) error {
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
			story.hear(e)
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
