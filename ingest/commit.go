package ingest

import (
	"context"
	"fmt"
)

// commit journals the messages among the items at once, acknowledges them and
// hands everything on in order.
func (p *Pipeline) commit(ctx context.Context, group []item) error {
	entries, err := p.prepare(ctx, group)
	if err != nil {
		return err
	}
	began := p.opts.Clock()
	appended, err := p.append(ctx, entries)
	p.backlog.Stall(began, p.opts.Clock())
	for _, it := range group {
		if it.message != nil {
			it.settled(err)
		}
	}
	if err != nil {
		return err
	}
	return p.handOn(ctx, group, entries, appended)
}

// settled tells the submitter of a message what became of it.
func (it item) settled(err error) {
	if it.result != nil {
		it.result <- err
	}
	if err == nil && it.ack != nil {
		it.ack()
	}
}

func (p *Pipeline) append(ctx context.Context, entries []Entry) ([]Appended, error) {
	if len(entries) == 0 {
		return nil, nil
	}
	appended, err := p.opts.Journal.Append(ctx, entries)
	if err != nil {
		return nil, fmt.Errorf("ingest: journalling %d messages: %w", len(entries), err)
	}
	p.count.commits.Add(1)
	return appended, nil
}

// prepare makes an entry of each message. A redelivery is not decoded, so that
// a decoder with a memory sees what a replay sees.
func (p *Pipeline) prepare(ctx context.Context, group []item) ([]Entry, error) {
	again, err := p.redelivered(ctx, group)
	if err != nil {
		return nil, err
	}
	entries := make([]Entry, 0, len(group))
	holding := false
	for _, it := range group {
		if it.gap != nil {
			p.gaps = append(p.gaps, *it.gap)
			p.backlog.Arm(*it.gap)
		}
		if it.message == nil {
			continue
		}
		e := Entry{Message: *it.message}
		if len(again) == 0 || !again[len(entries)] {
			holding = holding || p.backlog.Takes(e.Message.Arrived)
			e.Held = holding
			p.fillIn(&e)
		}
		entries = append(entries, e)
	}
	return entries, nil
}

func (p *Pipeline) fillIn(e *Entry) {
	e.Gaps, p.gaps = p.gaps, nil
	if !e.Held {
		e.Readings, e.Refusals = decode(p.opts.Decoder, e.Message)
	}
}

// redelivered asks the journal only if the broker set DUP on a message.
func (p *Pipeline) redelivered(ctx context.Context, group []item) ([]bool, error) {
	var messages []Message
	ask := false
	for _, it := range group {
		if it.message != nil {
			messages = append(messages, *it.message)
			ask = ask || it.message.Duplicate
		}
	}
	if !ask {
		return nil, nil
	}
	again, err := p.opts.Journal.Redelivered(ctx, messages)
	if err != nil {
		return nil, fmt.Errorf("ingest: looking for redelivered messages: %w", err)
	}
	return again, nil
}

// handOn gives the sink what was committed, except what belongs to a backlog.
func (p *Pipeline) handOn(ctx context.Context, group []item, entries []Entry, appended []Appended) error {
	var out []Event
	next := 0
	for _, it := range group {
		switch {
		case it.message != nil:
			out = append(out, p.landed(entries[next], appended[next])...)
			next++
		case it.gap != nil && p.backlog.Open():
			p.late = append(p.late, *it.gap)
		case it.gap != nil:
			out = append(out, Event{At: it.gap.To, Gap: it.gap})
		case p.backlog.Open():
			p.clock = it.at
		default:
			out = append(out, Event{At: it.at})
		}
	}
	if len(out) == 0 {
		return nil
	}
	return p.give(ctx, Batch{Events: out, Through: p.through})
}

// landed counts a journalled message and gives its events, or holds it.
func (p *Pipeline) landed(e Entry, a Appended) []Event {
	if a.Duplicate {
		p.count.redelivered.Add(1)
		return nil
	}
	p.count.accepted.Add(1)
	if e.Held {
		for _, gap := range e.Gaps {
			p.held = p.held.Join(gap)
		}
		p.id = a.Backlog
		p.hold(a.Seq, e.Message)
		return nil
	}
	p.backlog.Observe(e.Message)
	p.count.refused.Add(uint64(len(e.Refusals)))
	p.through = a.Seq
	r := Record{Seq: a.Seq, Message: e.Message, Readings: e.Readings, Refusals: e.Refusals, Gaps: e.Gaps}
	return recordEvents([]Record{r}, e.Message.Arrived)
}

func (p *Pipeline) give(ctx context.Context, b Batch) error {
	if err := p.opts.Sink.Accept(ctx, b); err != nil {
		return fmt.Errorf("ingest: handing on: %w", err)
	}
	return nil
}
