package forward

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	influxhttp "github.com/influxdata/influxdb-client-go/v2/api/http"
	"github.com/influxdata/influxdb-client-go/v2/api/write"
)

// holdError is an error that time or the operator can put right: nothing is
// left out, and the same points are tried again.
type holdError struct {
	err   error
	after time.Duration // the server's wish; 0: none
}

func (e *holdError) Error() string { return e.err.Error() }
func (e *holdError) Unwrap() error { return e.err }

// send writes points, leaving out those that the server refuses for good.
func (f *Forwarder) send(ctx context.Context, points []Point) error {
	lines := make([]*write.Point, 0, len(points))
	skipped := 0
	for _, p := range points {
		line, n := p.encode()
		if skipped += n; line != nil {
			lines = append(lines, line)
		}
	}
	f.count(func(s *Stats) { s.Skipped += uint64(skipped) })
	trusted := false // whether the server takes a good line, once known
	return f.sendLines(ctx, lines, &trusted)
}

// sendLines halves what is refused until the refused line is alone. Halves
// that were written before, because the server took a part of them, are
// written again: the same series and time is the same point.
func (f *Forwarder) sendLines(ctx context.Context, lines []*write.Point, trusted *bool) error {
	if len(lines) == 0 {
		return nil
	}
	err := f.write.WritePoint(ctx, lines...)
	switch {
	case err == nil:
		f.count(func(s *Stats) { s.Points += uint64(len(lines)); s.Writes++ })
		return nil
	case !permanent(err):
		return hold(err)
	case len(lines) > 1:
		half := len(lines) / 2
		if err := f.sendLines(ctx, lines[:half], trusted); err != nil {
			return err
		}
		return f.sendLines(ctx, lines[half:], trusted)
	}
	return f.leaveOut(ctx, lines[0], err, trusted)
}

// leaveOut gives up one line, if the server takes a good one.
func (f *Forwarder) leaveOut(ctx context.Context, line *write.Point, cause error, trusted *bool) error {
	if !*trusted {
		good, _ := Point{Measurement: "wickd", Tags: []Tag{{"part", "forward"}}, Fields: []Field{{"alive", 1}}, Time: f.opts.Clock()}.encode()
		if err := f.write.WritePoint(ctx, good); err != nil {
			return hold(err)
		}
		*trusted = true
	}
	first := false
	f.count(func(s *Stats) { s.Refused++; first = s.Refused == 1 })
	if first {
		f.opts.Log.Warn("InfluxDB refused a point for good; it is left out there and stays in the journal; more are counted and not logged",
			"reason", cause, "point", write.PointToLineProtocol(line, time.Nanosecond))
	}
	return nil
}

// permanent says whether an error lies in what was written, so that writing it
// again is of no use: it cannot be parsed, has another type than the series
// (partial write), or is too large (RFC 9110 §15.5.1, 15.5.14, 15.5.21).
func permanent(err error) bool {
	var e *influxhttp.Error
	if !errors.As(err, &e) {
		return false
	}
	switch e.StatusCode {
	case http.StatusBadRequest, http.StatusRequestEntityTooLarge, http.StatusUnprocessableEntity:
		return true
	}
	return false
}

// hints say what to do about an error that holds the flow.
var hints = map[int]string{
	http.StatusUnauthorized: "the server does not accept the token: check it (version 1.8: user:password)",
	http.StatusForbidden:    "the token may not write to the bucket",
	http.StatusNotFound:     "the bucket is not there: create it (version 1.8: CREATE DATABASE, and name it database/autogen)",
}

func hold(err error) error {
	var e *influxhttp.Error
	if !errors.As(err, &e) {
		return &holdError{err: fmt.Errorf("forward: writing to InfluxDB: %w", err)}
	}
	held := &holdError{after: time.Duration(e.RetryAfter) * time.Second}
	if hint := hints[e.StatusCode]; hint != "" {
		held.err = fmt.Errorf("forward: writing to InfluxDB: %w: %s", err, hint)
	} else {
		held.err = fmt.Errorf("forward: writing to InfluxDB: %w", err)
	}
	return held
}
