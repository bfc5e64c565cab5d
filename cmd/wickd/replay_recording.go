package main

import (
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"wickd/cmd/internal/config"
	"wickd/ingest"
	"wickd/ingest/capture"
)

// recording is a capture that has been looked through once.
type recording struct {
	name   string // as the user named it
	path   string // of the file; of a copy of standard input
	survey capture.Survey
	all    []ingest.Record // in the order of time; nil: there are too many, and they are read again
}

// keepMost is how many messages of a recording are kept in memory: a month of a
// dozen bags, some tens of MB. Of one that is out of order, all are.
const keepMost = 100_000

// look goes through a recording, and says what is odd about it. close gives up
// a copy of standard input.
func look(ctx context.Context, path string, c console) (r *recording, close func(), err error) {
	r, close = &recording{name: path, path: path}, func() {}
	if path == "-" {
		r.name = "standard input"
		if r.path, close, err = keepInput(ctx, c); err != nil {
			return nil, nil, err
		}
	}
	if err = r.look(); err != nil {
		close()
		return nil, nil, fmt.Errorf("replay: %w", err)
	}
	r.odd(c)
	return r, close, nil
}

// keepInput copies standard input into a file: it is read more than once.
func keepInput(ctx context.Context, c console) (path string, remove func(), err error) {
	dir, remove, err := c.scratch.make("wickd-replay-")
	if err != nil {
		return "", nil, err
	}
	path = filepath.Join(dir, "capture")
	f, err := os.Create(path)
	if err == nil {
		_, err = io.Copy(f, interrupted{ctx, os.Stdin})
		err = errors.Join(err, f.Close())
	}
	if err != nil {
		remove()
		return "", nil, fmt.Errorf("replay: copy standard input: %w", err)
	}
	return path, remove, nil
}

// interrupted reads until a context ends.
type interrupted struct {
	ctx context.Context
	io.Reader
}

// Read implements io.Reader.
func (i interrupted) Read(p []byte) (int, error) {
	if err := i.ctx.Err(); err != nil {
		return 0, err
	}
	return i.Reader.Read(p)
}

func (r *recording) look() error {
	in, err := capture.OpenAs(r.path, r.name)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	if r.survey, r.all, err = capture.Look(in, keepMost); err != nil {
		return err
	}
	if r.survey.Early > 0 {
		if err := r.sort(); err != nil {
			return err
		}
	}
	if r.survey.Messages == 0 {
		return fmt.Errorf("%s holds no message", r.name)
	}
	return nil
}

func (r *recording) sort() error {
	if r.all == nil {
		in, err := capture.OpenAs(r.path, r.name)
		if err != nil {
			return err
		}
		defer func() { _ = in.Close() }()
		if _, r.all, err = capture.Look(in, int(r.survey.Messages)); err != nil {
			return err
		}
	}
	capture.Sort(r.all)
	return nil
}

// odd says what is odd about the recording as such.
func (r *recording) odd(c console) {
	s := r.survey
	switch {
	case errors.Is(s.Cut, gzip.ErrChecksum):
		note(c, "%s was damaged after it was written: its checksum is wrong, and values in it may be wrong, too; all that can be read of it is used, %s",
			r.name, plural(int(s.Messages), "message", "messages"))
	case s.Cut != nil:
		note(c, "%v; they are used", s.Cut)
	}
	if s.Damaged > 0 {
		note(c, "passed over %s that cannot be read, the first: %v", plural(int(s.Damaged), "line", "lines"), s.Damage)
	}
	if s.Early > 0 {
		note(c, "%s before one above %s in time, the first in line %d of %s; all are used in the order of their times",
			shareOf(s.Early, s.Messages, "lies", "lie"), pluralOf(int(s.Early), "it", "them"), s.FirstEarly, r.name)
	}
}

// belongs says which messages are of no sensor of a site, and refuses a
// recording that has no other: its replay would find nothing, and say nothing.
func (r *recording) belongs(site *config.Config, file string, c console) error {
	topics, foreign := r.survey.Foreign(site.Topics())
	all, name := r.survey.Messages, filepath.Base(file)
	switch own := all - foreign; {
	case foreign == 0:
	case own == 0:
		return fmt.Errorf("replay: no message in %s is of a sensor in %s: it holds %s, and the site file has %s; give the site file of the place that was recorded",
			r.name, name, frequent(topics), list(quoted(site.Topics())))
	case own < foreign:
		note(c, "only %s of sensors in %s; the others: %s", shareOf(own, all, "is", "are"), name, frequent(topics))
	default:
		note(c, "%s of no sensor in %s: %s", shareOf(foreign, all, "is", "are"), name, frequent(topics))
	}
	return nil
}

// shareOf says what so many of the messages do.
func shareOf(n, all int64, does, do string) string {
	return fmt.Sprintf("%d of %s %s", n, plural(int(all), "message", "messages"), pluralOf(int(n), does, do))
}

// frequent names the first few topics.
func frequent(topics []capture.TopicCount) string {
	const most = 5
	var parts []string
	for _, t := range topics[:min(most, len(topics))] {
		parts = append(parts, fmt.Sprintf("%q (%d)", t.Topic, t.Count))
	}
	text := strings.Join(parts, ", ")
	if more := len(topics) - most; more > 0 {
		text += " and " + plural(more, "further topic", "further topics")
	}
	return text
}

func quoted(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = fmt.Sprintf("%q", n)
	}
	return out
}

// messages gives the messages in the order of time, each once.
func (r *recording) messages() (_ *capture.Steady, close func() error, err error) {
	if r.all == nil {
		in, err := capture.OpenAs(r.path, r.name)
		if err != nil {
			return nil, nil, err
		}
		return capture.NewSteady(r.name, in.Next), in.Close, nil
	}
	left := r.all
	next := func() (ingest.Record, error) {
		if len(left) == 0 {
			return ingest.Record{}, io.EOF
		}
		first := left[0]
		left = left[1:]
		return first, nil
	}
	return capture.NewSteady(r.name, next), func() error { return nil }, nil
}

// note tells the user something that stops nothing.
func note(c console, format string, args ...any) {
	fmt.Fprintf(c.err, "note: "+format+"\n", args...)
}
