package alertmanager

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync/atomic"
	"time"

	"wickd/alerts"
)

const (
	// lives is how many posts an alert outlives that is no longer posted: two
	// may fail and one be late (Prometheus does the same).
	lives = 4
	// gather is what else happens within this is still in the same post.
	gather = time.Second
	// deafLimit is how long the server may not be reached before the heartbeat
	// stops; it is that of a recipient.
	deafLimit = time.Hour
)

// Pusher keeps an Alertmanager told of what stands.
type Pusher struct {
	o       Options
	poke    chan struct{}
	taken   atomic.Int64 // when the server last took a post, Unix ns; 0: never
	begun   atomic.Int64 // when Run began, Unix ns
	failing atomic.Pointer[failure]
	books   books
	over    map[string]posted
	said    string // the last failure logged
}

// failure is why posts are not taken, since when, and how many alerts the last
// one held.
type failure struct {
	since  time.Time
	alerts int
	err    error
}

// New checks the options. It starts nothing.
func New(o Options) (*Pusher, error) {
	o, err := o.orDefault()
	if err != nil {
		return nil, err
	}
	return &Pusher{o: o, poke: make(chan struct{}, 1), books: newBooks(), over: map[string]posted{}}, nil
}

// Poke says that something has changed. It never blocks.
func (p *Pusher) Poke() {
	select {
	case p.poke <- struct{}{}:
	default:
	}
}

// Run posts until ctx ends and then returns nil. At the end it says nothing: a
// wickd that stops does not know that anything is over.
func (p *Pusher) Run(ctx context.Context) error {
	p.begun.Store(p.o.Clock().UnixNano())
	p.recall(ctx)
	for ctx.Err() == nil {
		p.round(ctx)
		if p.rest(ctx, p.o.Every, p.poke) {
			p.rest(ctx, min(gather, p.o.Every), nil)
		}
	}
	return nil
}

// rest waits for the time, for ctx or for a poke, and reports whether it was
// the last.
func (p *Pusher) rest(ctx context.Context, d time.Duration, poke <-chan struct{}) (poked bool) {
	over, stop := p.o.Timer(d)
	defer stop()
	select {
	case <-ctx.Done():
	case <-over:
	case <-poke:
		return true
	}
	return false
}

// round posts what stands, what has ended since the server last took a post, and
// what came and went without its hearing of it.
func (p *Pusher) round(ctx context.Context) {
	now := p.o.Clock().UTC()
	states := p.o.Standing()
	standing := map[string]posted{}
	for _, s := range states {
		if told(s) {
			standing[s.Occurrence] = p.posting(s, now)
		}
	}
	p.turn(states, standing, now)
	p.save(ctx)
	all := p.due(standing, now)
	if len(all) == 0 {
		p.settle(now) // there is nothing that it does not know
		return
	}
	err := p.post(ctx, all)
	if ctx.Err() != nil {
		return
	}
	p.o.Observe(len(all), err)
	p.note(err)
	if err != nil {
		p.fail(now, len(all), err)
		return
	}
	p.books.heard(standing)
	clear(p.over)
	p.settle(now)
	p.save(ctx)
}

// turn takes over what stands now from what stood before.
func (p *Pusher) turn(states []alerts.State, standing map[string]posted, now time.Time) {
	for id, was := range p.books.Telling {
		if _, still := standing[id]; still {
			continue
		}
		if p.books.Heard[id] {
			was.EndsAt = now
			p.over[id] = was
		} else {
			p.books.leave(id, was, states, now)
		}
	}
	p.books.catchUp(p, states, now)
	p.books.Telling = standing
	for id, is := range standing {
		for before, was := range p.over { // it is up again: its end would end it
			if before == id || maps.Equal(was.Labels, is.Labels) {
				delete(p.over, before)
			}
		}
	}
}

// due lists what is to be posted, in a stable order.
func (p *Pusher) due(standing map[string]posted, now time.Time) []posted {
	var all []posted
	for _, part := range []map[string]posted{standing, p.over} {
		for _, id := range slices.Sorted(maps.Keys(part)) {
			all = append(all, part[id])
		}
	}
	for _, m := range p.books.Missed {
		all = append(all, m.posting(now, p.o.Zone))
	}
	return all
}

func (p *Pusher) settle(now time.Time) {
	p.taken.Store(now.UnixNano())
	p.failing.Store(nil)
}

func (p *Pusher) fail(now time.Time, alerts int, err error) {
	f := failure{now, alerts, err}
	if before := p.failing.Load(); before != nil {
		f.since = before.since
	}
	p.failing.Store(&f)
}

// Failing says since when posts are not taken, how many alerts the last of them
// held and why; a nil error: they are. It may be called from any goroutine.
func (p *Pusher) Failing() (since time.Time, alerts int, why error) {
	if f := p.failing.Load(); f != nil {
		return f.since, f.alerts, f.err
	}
	return time.Time{}, 0, nil
}

// told reports whether an alert is one that people are to hear of: it stands,
// and nobody has put it aside. That somebody has acknowledged it does not end
// it, or the server would tell them that it is over.
func told(s alerts.State) bool {
	return s.Status == alerts.Unacknowledged || s.Status == alerts.Acknowledged
}

// note logs a failure when its text changes, and its end.
func (p *Pusher) note(err error) {
	text := ""
	if err != nil {
		text = err.Error()
	}
	if text == p.said {
		return
	}
	p.said = text
	if err != nil {
		p.o.Log.Warn("alerts do not reach the Alertmanager; they are posted again", "err", err)
	} else {
		p.o.Log.Info("alerts reach the Alertmanager again")
	}
}

// Moving says why the way to the server cannot be relied on; nil: it can.
func (p *Pusher) Moving(now time.Time) error {
	since := max(p.taken.Load(), p.begun.Load())
	if since == 0 {
		return errors.New("nothing has been handed to the Alertmanager yet")
	}
	if deaf := now.Sub(time.Unix(0, since)); deaf > deafLimit {
		return fmt.Errorf("the Alertmanager has not been reached for %s", deaf.Round(time.Minute))
	}
	return nil
}
