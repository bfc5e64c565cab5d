package notify

import (
	"context"
	"encoding/json"
	"sync/atomic"
	"time"

	"wickd/alerts"
	"wickd/model"
)

// markTime is how long marking may take once a stop has been asked for.
const markTime = 2 * time.Second

// desk serves one recipient. Only one goroutine at a time uses it.
type desk struct {
	d  *Dispatcher
	to Recipient

	urgent, usual lane
	failures      int              // in a row
	failing       atomic.Int64     // since when they have lasted, Unix ns; 0: the last try went well
	retry         time.Time        // nothing but what is new and urgent goes out before
	complaint     string           // the last failure logged; a repetition is not logged
	done          map[int64]bool   // sent, but not marked yet
	read          map[int64]Notice // what is due and was opened before, so that waiting costs little
}

// letter is a delivery opened.
type letter struct {
	item   Item
	notice Notice
}

// serve joins what is due into one message and sends it, or leaves it for
// later. It returns how long until there is reason to look again.
func (k *desk) serve(ctx context.Context, now time.Time, items []Item) time.Duration {
	letters := k.open(ctx, now, items)
	if len(letters) == 0 {
		return k.d.o.Poll
	}
	letters = together(letters)
	urgent, fresh := false, false
	notices := make([]Notice, len(letters))
	for i, l := range letters {
		notices[i] = l.notice
		urgent = urgent || l.notice.urgent()
		fresh = fresh || l.notice.urgent() && l.item.Attempts == 0
	}
	if wait := k.retry.Sub(now); wait > 0 && !fresh {
		return wait
	}
	l, every := &k.usual, k.d.o.Pace.Every
	if urgent {
		l, every = &k.urgent, k.d.o.Pace.UrgentEvery
	}
	if wait := l.wait(now, len(notices), every, k.d.o.Pace); wait > 0 {
		return wait
	}
	return k.deliver(ctx, now, letters, k.compose(now, notices), l)
}

// open reads the deliveries, past what was sent but could not be marked and
// what cannot be read.
func (k *desk) open(ctx context.Context, now time.Time, items []Item) []letter {
	letters := make([]letter, 0, len(items))
	read := make(map[int64]Notice, len(items))
	for _, item := range items {
		if k.done[item.ID] {
			k.mark(ctx, item, now)
			continue
		}
		n, known := k.read[item.ID]
		if !known {
			if err := json.Unmarshal(item.Body, &n); err != nil || n.Message.Headline == "" {
				k.d.o.Log.Error("a delivery cannot be read and is put off", "key", item.Key)
				k.d.putOff(ctx, item, BadBody, now)
				continue
			}
		}
		read[item.ID] = n
		if k.pointless(n) {
			k.drop(ctx, item, n, now)
			continue
		}
		letters = append(letters, letter{item, n})
	}
	k.read = read
	return letters
}

// together picks what goes into one message: alerts before a digest, which is
// nobody's reason to read an alert later.
func together(letters []letter) []letter {
	pressing := make([]letter, 0, len(letters))
	for _, l := range letters {
		if l.notice.Kind != Digested {
			pressing = append(pressing, l)
		}
	}
	if len(pressing) > 0 {
		return pressing
	}
	return letters[:1]
}

func (k *desk) compose(now time.Time, notices []Notice) Message {
	m := Compose(now, k.d.o.Zone, notices, func(n Notice) Links { return k.d.o.Links(n, k.to.ID, now) })
	if draw := k.d.o.Picture; draw != nil {
		first := mostUrgent(notices)
		m.Draw = func(ctx context.Context) []byte { return draw(ctx, first) }
	}
	return m
}

// pointless reports whether a notice has been overtaken: it calls for an answer
// that has come, or says that something is over of which this recipient was
// never told because the answer came first.
func (k *desk) pointless(n Notice) bool {
	if n.Kind == model.Cleared {
		return k.d.quiet.has(k.to.ID, n.Occurrence)
	}
	return n.call() && !k.d.o.Stands(n.Occurrence)
}

// drop gives up what has been answered meanwhile. That an escalation was
// dropped is remembered before it is, and forgotten after the end was, so that
// a crash between the two changes nothing.
func (k *desk) drop(ctx context.Context, item Item, n Notice, now time.Time) {
	if n.Kind == alerts.Escalated {
		k.complain(ctx, item, k.d.quiet.add(ctx, k.to.ID, n.Occurrence, now))
	}
	err := k.d.o.Outbox.Drop(ctx, item.ID, Answered, now)
	k.complain(ctx, item, err)
	if err == nil && n.Kind == model.Cleared {
		k.complain(ctx, item, k.d.quiet.remove(ctx, k.to.ID, n.Occurrence))
	}
}

func (k *desk) complain(ctx context.Context, item Item, err error) {
	if err != nil && ctx.Err() == nil {
		k.d.o.Log.Error("cannot drop a delivery that nobody waits for", "key", item.Key, "error", err)
	}
}

// mark records a success. It outlasts a stop by a moment, because a message
// that is sent and not marked is sent twice.
func (k *desk) mark(ctx context.Context, item Item, at time.Time) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), markTime)
	defer cancel()
	if err := k.d.o.Outbox.MarkSent(ctx, item.ID, at); err != nil {
		k.d.o.Log.Error("cannot mark a delivery as sent; it may be repeated after a restart", "key", item.Key, "error", err)
		return
	}
	delete(k.done, item.ID)
}
