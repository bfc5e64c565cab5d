package ingest

import (
	"cmp"
	"context"
	"slices"
	"time"
)

// source gives records by Seq; ok is false at the end.
type source func() (r Record, ok bool, err error)

// regroup calls fn with records in the order of handing on: one by one, or
// all rows of a backlog at once and in their places, with the Seq and the
// arrival of the last row to arrive.
func regroup(next source, fn func(group []Record, through int64, at time.Time) error) error {
	var group []Record
	flush := func() error {
		if len(group) == 0 {
			return nil
		}
		last := group[len(group)-1]
		slices.SortStableFunc(group, func(a, b Record) int { return cmp.Compare(a.Place, b.Place) })
		err := fn(group, last.Seq, last.Message.Arrived)
		group = group[:0]
		return err
	}
	for {
		r, ok, err := next()
		if err != nil {
			return err
		}
		if !ok || r.Backlog == 0 || len(group) > 0 && group[0].Backlog != r.Backlog {
			if err := flush(); err != nil {
				return err
			}
		}
		if !ok {
			return nil
		}
		group = append(group, r)
	}
}

// events turns records, in the order of handing on, into events at one time.
// Gaps go before everything that they delayed.
func events(group []Record, at time.Time) []Event {
	return append(gapEvents(gapsOf(group)), recordEvents(group, at)...)
}

// gapsOf lists the gaps that records carry, in order of time.
func gapsOf(group []Record) []Gap {
	var gaps []Gap
	for _, r := range group {
		gaps = append(gaps, r.Gaps...)
	}
	slices.SortStableFunc(gaps, func(a, b Gap) int { return a.To.Compare(b.To) })
	return gaps
}

func gapEvents(gaps []Gap) []Event {
	out := make([]Event, len(gaps))
	for i := range gaps {
		out[i] = Event{At: gaps[i].To, Gap: &gaps[i]}
	}
	return out
}

func recordEvents(records []Record, at time.Time) []Event {
	out := make([]Event, len(records))
	for i := range records {
		out[i] = Event{At: at, Record: &records[i]}
	}
	return out
}

// Recover hands on what the journal holds after a checkpoint's Seq, exactly
// as it was handed on before, with the readings as they were decoded then. A
// backlog that is not settled is left to the pipeline. It returns the Seq up
// to which everything has been handed on.
func Recover(ctx context.Context, journal Reader, after int64, sink Sink) (int64, error) {
	through := after
	err := regroup(pages(ctx, journal, after), func(group []Record, seq int64, at time.Time) error {
		through = seq
		return sink.Accept(ctx, Batch{Events: events(slices.Clone(group), at), Through: seq})
	})
	return through, err
}

// Reader reads up to limit settled rows after a Seq; none: there are no more.
type Reader interface {
	Read(ctx context.Context, after int64, limit int) ([]Record, error)
}

// pages reads the journal a page at a time.
func pages(ctx context.Context, journal Reader, after int64) source {
	const size = 1000
	var page []Record
	return func() (Record, bool, error) {
		if len(page) == 0 {
			var err error
			if page, err = journal.Read(ctx, after, size); err != nil || len(page) == 0 {
				return Record{}, false, err
			}
		}
		r := page[0]
		page, after = page[1:], r.Seq
		return r, true, nil
	}
}

// Replay decodes and hands on the records of a capture as the pipeline would
// have handed them on live; next gives them by Seq, and false at the end.
func Replay(ctx context.Context, next func() (Record, bool, error), decoder Decoder, sink Sink) error {
	return regroup(next, func(group []Record, seq int64, at time.Time) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		group = slices.Clone(group)
		for i := range group {
			group[i].Readings, group[i].Refusals = decode(decoder, group[i].Message)
		}
		return sink.Accept(ctx, Batch{Events: events(group, at), Through: seq})
	})
}
