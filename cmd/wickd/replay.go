package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"
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
	WhatIf  string `type:"path" placeholder:"FILE" help:"Another site file: also say which alerts each of the two would have sent of the same readings, and when."`
	Plot    string `type:"path" placeholder:"DIR" help:"Also draw every bag and reservoir, and write a report into this directory."`
	Truth   string `type:"path" placeholder:"FILE" help:"What was so, for the pictures: a table of a simulation or of weighings. By itself, truth.json or truth.json.gz beside the recording."`
	Capture string `arg:"" placeholder:"CAPTURE" help:"The recording, plain or gzip; - is standard input."`
	Quiet   bool   `short:"q" help:"Say nothing about progress."`
}

// Run implements the command.
func (r replayCommand) Run(ctx context.Context, c console) error {
	if err := r.places(); err != nil {
		return usageError{err}
	}
	// What a replay makes is small and short-lived; collecting it less often is a
	// tenth of the time for some tens of MB.
	const collectAt = 400 // per cent
	defer debug.SetGCPercent(debug.SetGCPercent(collectAt))
	site, err := loadSite(r.Site, c)
	if err != nil {
		return err
	}
	var other *config.Config
	if r.WhatIf != "" {
		if other, err = loadSite(r.WhatIf, c); err != nil {
			return err
		}
	}
	tape, remove, err := look(ctx, r.Capture, c)
	if err != nil {
		return err
	}
	defer remove()
	if err := tape.belongs(site, r.Site, c); err != nil {
		return err
	}
	if other != nil {
		if err := tape.belongs(other, r.WhatIf, c); err != nil {
			return fmt.Errorf("what if: %w", err)
		}
	}
	so, err := r.truthOf(site.Site, c)
	if err != nil {
		return err
	}
	story, err := r.record(ctx, site, tape, c)
	if err != nil {
		return err
	}
	if err := r.draw(site, story, so, c); err != nil {
		return err
	}
	return r.compare(ctx, tape, story, other, c)
}

// record replays for the site, writes what is found, and tells how it went.
func (r replayCommand) record(ctx context.Context, site *config.Config, tape *recording, c console) (*chronicle, error) {
	out, err := createRecords(r.Records, c.out)
	if err != nil {
		return nil, err
	}
	defer out.discard()
	recorder := daemon.NewRecorder(out)
	story := newChronicle(r.Plot != "")
	p := r.progress(site, tape, c)
	heard, err := replay(ctx, site, tape, audience{recorder, story}, story, p)
	if err != nil {
		return nil, err
	}
	if err := heard.tell(site.Site.TimeZone, c); err != nil {
		return nil, err
	}
	if err := recorder.Err(); err != nil {
		return nil, fmt.Errorf("write records: %w", err)
	}
	if err := out.keep(); err != nil {
		return nil, err
	}
	p.done(story)
	return story, nil
}

func (r replayCommand) progress(site *config.Config, tape *recording, c console) *progress {
	return &progress{out: c.err, quiet: r.Quiet, zone: site.Site.TimeZone, total: tape.survey.Messages, began: time.Now()}
}

// places looks before the work whether its results can be put where they are to
// go.
func (r replayCommand) places() error {
	if r.Records == "" {
		return errors.New("--records is empty; name a file, or - for standard output")
	}
	for _, read := range []struct{ file, what string }{{r.Capture, "the recording itself"}, {r.Site, "the site file"}, {r.WhatIf, "the site file of --what-if"}, {r.Truth, "the truth"}} {
		if sameFile(r.Records, read.file) {
			return fmt.Errorf("--records would write over %s; name another file", read.what)
		}
	}
	if info, err := os.Stat(r.Records); err == nil && info.IsDir() {
		return fmt.Errorf("--records %s is a directory; name a file, for example %s", r.Records, filepath.Join(r.Records, "records.ndjson"))
	}
	if foreignRecords(r.Records) {
		return fmt.Errorf("--records would write over %s, which holds no records of a replay; name another file", r.Records)
	}
	if err := plotDirectory(r.Plot); err != nil {
		return err
	}
	if r.Truth != "" && r.Plot == "" {
		return errors.New("--truth is drawn by --plot; name a directory for the pictures with --plot DIR")
	}
	if r.Plot != "" && foreignReport(r.Plot) {
		return fmt.Errorf("--plot %s holds an %s that no replay wrote; name another directory", r.Plot, reportName)
	}
	return nil
}

// sameFile says that two names are of one regular file.
func sameFile(a, b string) bool {
	x, err := os.Stat(a)
	if err != nil || !x.Mode().IsRegular() {
		return false
	}
	y, err := os.Stat(b)
	return err == nil && os.SameFile(x, y)
}

// replay feeds a recording through a core for one site.
func replay(ctx context.Context, site *config.Config, tape *recording, listeners audience, story *chronicle, p *progress) (*hearing, error) {
	physics, err := design.Build(site.Site)
	if err != nil {
		return nil, err
	}
	story.physics = physics
	core, err := daemon.NewCore(daemon.CoreOptions{
		Site: site.Site, Design: physics, Horizon: site.Alerts.Horizon, Overrides: daemon.Overrides(site.Alerts), Observer: listeners,
	})
	if err != nil {
		return nil, err
	}
	decoder, err := daemon.NewDecoder(site.Site)
	if err != nil {
		return nil, err
	}
	in, done, err := tape.messages()
	if err != nil {
		return nil, fmt.Errorf("replay: %w", err)
	}
	defer func() { _ = done() }()
	heard := newHearing()
	join := core.Apart()
	err = feed(ctx, in, decoder, core, p, func(e ingest.Event) { story.hear(e); heard.hear(e) })
	join()
	story.resets = core.Resets()
	heard.twice, heard.hole = in.Twice(), in.Hole()
	return heard, err
}

// feed hands messages on to the core, and evaluates up to the last moment.
func feed(ctx context.Context, in *capture.Steady, d ingest.Decoder, core *daemon.Core, p *progress, hear func(ingest.Event)) error {
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
			hear(e)
			core.Apply(e)
		}
		return ctx.Err()
	})
	if err := ingest.Replay(ctx, next, d, sink); err != nil {
		return fmt.Errorf("replay: %w", err)
	}
	core.Finish(last)
	return nil
}
