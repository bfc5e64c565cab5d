package notify

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// deliver sends a message and marks what it tells of as sent, or as failed.
func (k *desk) deliver(ctx context.Context, now time.Time, letters []letter, m Message, l *lane) time.Duration {
	err := k.send(ctx, m)
	if ctx.Err() != nil && err != nil {
		return k.d.o.Poll // whether it went out is not known; it is sent again
	}
	attempt := Attempt{Recipient: k.to.ID, Notices: len(letters)}
	if err != nil {
		attempt.Reason = reasonOf(err)
		k.d.o.Observe(attempt)
		return k.fail(ctx, letters, attempt.Reason, err)
	}
	l.spend(now, len(letters))
	k.failures, k.retry = 0, time.Time{}
	k.failing.Store(0)
	if k.complaint != "" {
		k.complaint = ""
		k.d.o.Log.Info("alerts can be delivered again", "recipient", k.to.ID)
	}
	for _, letter := range letters {
		k.done[letter.item.ID] = true
		k.mark(ctx, letter.item, k.d.o.Clock())
	}
	// Counted once it is booked: who reads the count may rely on the book.
	k.d.o.Observe(attempt)
	return k.d.o.Poll
}

func (k *desk) send(ctx context.Context, m Message) error {
	url, err := k.to.URL()
	if err != nil {
		return errors.Join(&SendError{Reason: BadURL}, fmt.Errorf("read URL of recipient %s: %w", k.to.ID, err))
	}
	return k.d.o.Sender.Send(ctx, url, m)
}

// fail puts the whole message off. The wait grows with the failures in a row
// of this recipient, or of the delivery that has failed most, which outlasts a
// restart.
func (k *desk) fail(ctx context.Context, letters []letter, reason Reason, err error) time.Duration {
	k.failures++
	most := k.failures
	for _, l := range letters {
		most = max(most, l.item.Attempts+1)
	}
	wait := k.d.o.Backoff.after(most, k.d.share())
	now := k.d.o.Clock()
	k.retry = now.Add(wait)
	k.failing.CompareAndSwap(0, now.UnixNano())
	if text := err.Error(); text != k.complaint {
		k.complaint = text
		k.d.o.Log.Warn("cannot deliver alerts; they are kept and tried again", "recipient", k.to.ID, "reason", reason, "error", err)
	}
	for _, l := range letters {
		if err := k.d.o.Outbox.MarkFailed(ctx, l.item.ID, string(reason), k.retry); err != nil && ctx.Err() == nil {
			k.d.o.Log.Error("cannot mark a delivery as failed", "key", l.item.Key, "error", err)
		}
	}
	return wait
}
