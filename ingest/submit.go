package ingest

import (
	"context"
	"time"
)

// Submit stamps and queues a message and returns; it waits only while the
// queue is full. ack is called once the message is committed, in the order of
// submission; it is not called if the pipeline ends before that. Arrived is
// overwritten; the payload must not change afterwards.
func (p *Pipeline) Submit(ctx context.Context, m Message, ack func()) error {
	return p.enter(ctx, item{message: &m, ack: ack})
}

// SubmitWait is Submit that returns when the message is committed: where a
// broker's publish hook calls it, PUBACK means journalled.
func (p *Pipeline) SubmitWait(ctx context.Context, m Message) error {
	result := make(chan error, 1)
	if err := p.enter(ctx, item{message: &m, result: result}); err != nil {
		return err
	}
	select {
	case err := <-result:
		return err
	case <-ctx.Done():
		return ctx.Err()
	case <-p.closed:
	}
	select {
	case err := <-result:
		return err
	default:
		return ErrClosed
	}
}

// Tick hands the wall clock on to the core, in order with the messages. While
// a backlog is held, only the latest tick is kept.
func (p *Pipeline) Tick(ctx context.Context) error {
	return p.enter(ctx, item{})
}

// Gap says that the daemon was not listening to the broker. It belongs before
// the first message after the gap, is journalled with it and handed on at once.
// It cannot reach back before what has been entered already.
func (p *Pipeline) Gap(ctx context.Context, g Gap) error {
	return p.enter(ctx, item{gap: &g})
}

// Ready is closed when Run has continued the journal and takes what is
// submitted; until then Submit and its like wait.
func (p *Pipeline) Ready() <-chan struct{} { return p.ready }

// enter stamps and queues in one step, so that the queue is in the order of
// the stamps.
func (p *Pipeline) enter(ctx context.Context, it item) error {
	select {
	case <-p.ready:
	case <-ctx.Done():
		return ctx.Err()
	case <-p.drain:
		return ErrClosed
	case <-p.closed:
		return ErrClosed
	}
	select {
	case p.door <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	case <-p.closed:
		return ErrClosed
	}
	defer func() { <-p.door }()
	select {
	case <-p.drain:
		return ErrClosed
	case <-p.closed:
		return ErrClosed
	default:
	}
	if it.gap != nil {
		from := later(it.gap.From, p.stamper.last)
		it.gap = &Gap{From: from, To: later(from, it.gap.To)}
	}
	it.at = p.stamp()
	if leapt := p.stamper.Leapt(); leapt != (Gap{}) {
		p.opts.Log.Warn("the clock was set ahead, or the machine slept: nothing is concluded from the time between", "from", leapt.From, "to", leapt.To)
		if it.gap != nil {
			leapt = leapt.Join(*it.gap)
			it.gap = &leapt
		} else if err := p.put(ctx, item{at: it.at, gap: &leapt}); err != nil {
			return err
		}
	}
	if it.gap != nil && p.stamper.Behind() > 0 {
		it.gap.To = it.at // its end by the clock lies in what has been stamped already
	}
	if it.message != nil {
		it.message.Arrived, it.message.Taken = it.at, time.Time{}
	}
	return p.put(ctx, it)
}

func (p *Pipeline) put(ctx context.Context, it item) error {
	select {
	case p.queue <- it:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-p.closed:
		return ErrClosed
	}
}

// stamp must be called with the door held.
func (p *Pipeline) stamp() time.Time {
	at := p.stamper.Stamp(p.opts.Clock())
	p.count.clockBehind.Store(int64(p.stamper.Behind()))
	return at
}

// Drain lets nothing more in; Run ends when everything that is queued has been
// committed, acknowledged and handed on. A backlog that is still arriving
// stays in the journal and is continued by the next Run. Call it once.
func (p *Pipeline) Drain() {
	select {
	case p.door <- struct{}{}:
		defer func() { <-p.door }()
	case <-p.closed:
	}
	close(p.drain)
}
