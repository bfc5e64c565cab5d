package alertmanager

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"wickd/alerts"
	"wickd/model"
)

// maxMissed bounds what is told afterwards; after an outage of weeks the newest
// are.
const maxMissed = 200

// tells is how long an alert stands that is told afterwards: an Alertmanager
// looks at a group again after its group_interval (5 min unless configured), and
// tells nobody of what is over by then.
const tells = 15 * time.Minute

// Memory keeps the books between two runs.
type Memory interface {
	// Recall gives what was remembered last; nil: nothing was.
	Recall(ctx context.Context) ([]byte, error)
	Remember(ctx context.Context, data []byte) error
}

// books are what the server has heard, which it does not say itself.
type books struct {
	Telling map[string]posted `json:"telling"` // what stands, by occurrence
	// Heard are the occurrences of which it needs to hear no more than that they
	// are over: it has taken them, or somebody had put them aside by then.
	Heard  map[string]bool `json:"heard"`
	Missed []missed        `json:"missed,omitempty"` // in the order in which they ended

	begun bool // they have been looked into once
	saved []byte
}

// missed is an alert that began and ended while the server took no post.
type missed struct {
	Was   posted    `json:"was"`
	Ended time.Time `json:"ended"`
}

func newBooks() books { return books{Telling: map[string]posted{}, Heard: map[string]bool{}} }

// leave strikes an alert that the server has not heard of: missed, unless
// somebody has put it aside.
func (b *books) leave(id string, was posted, states []alerts.State, now time.Time) {
	for _, s := range states {
		if s.Occurrence == id && s.Holding {
			b.Heard[id] = true
			return
		}
	}
	b.miss(id, was, now)
}

func (b *books) miss(id string, was posted, now time.Time) {
	b.Heard[id] = true
	b.Missed = append(b.Missed, missed{was, now})
	b.Missed = b.Missed[max(0, len(b.Missed)-maxMissed):]
}

// catchUp finds what began and ended between two rounds: nobody has seen it, so
// that it is still remembered. What was over before the books were begun is not
// theirs. It also forgets whatever nothing speaks of any more.
func (b *books) catchUp(p *Pusher, states []alerts.State, now time.Time) {
	spoken := map[string]bool{}
	for _, s := range states {
		spoken[s.Occurrence] = true
		if s.Status != alerts.ReturnedUnacknowledged || b.Heard[s.Occurrence] {
			continue
		}
		if b.begun {
			b.miss(s.Occurrence, p.posting(s, now), now)
		}
		b.Heard[s.Occurrence] = true
	}
	b.begun = true
	maps.DeleteFunc(b.Heard, func(id string, _ bool) bool { return !spoken[id] })
}

// heard notes that the server has taken all there was.
func (b *books) heard(standing map[string]posted) {
	for id := range standing {
		b.Heard[id] = true
	}
	b.Missed = nil
}

// posting is a missed alert in the server's terms. It takes no post whose end
// has passed as news, so the alert stands for a moment more, of low priority,
// and says that it is over.
func (m missed) posting(now time.Time, zone *time.Location) posted {
	const layout = "Mon 2 Jan 15:04"
	a := m.Was
	a.Labels = maps.Clone(a.Labels)
	a.Labels["severity"], a.Labels["over"] = string(model.PriorityLow), "true"
	a.Annotations = map[string]string{
		"summary": "It is over: " + m.Was.Annotations["summary"],
		"description": fmt.Sprintf("It began on %s and was over by %s. You were not told, because the Alertmanager could not be reached. %s",
			m.Was.StartsAt.In(zone).Format(layout), m.Ended.In(zone).Format(layout), m.Was.Annotations["description"]),
	}
	a.EndsAt = now.Add(tells)
	return a
}

// recall opens the books of the run before.
func (p *Pusher) recall(ctx context.Context) {
	if p.o.Memory == nil {
		return
	}
	data, err := p.o.Memory.Recall(ctx)
	if err == nil && data != nil {
		read := newBooks()
		if err = json.Unmarshal(data, &read); err == nil {
			read.begun, read.saved = true, data
			p.books = read
			return
		}
	}
	if err != nil && ctx.Err() == nil {
		p.o.Log.Error("what came and went before the start will not be told to the Alertmanager", "err", err)
	}
}

// save keeps the books where they have changed. The ends in them are those of
// posts, which are made anew.
func (p *Pusher) save(ctx context.Context) {
	if p.o.Memory == nil {
		return
	}
	kept := p.books
	kept.Telling = maps.Clone(kept.Telling)
	for id, a := range kept.Telling {
		a.EndsAt = time.Time{}
		kept.Telling[id] = a
	}
	data, err := json.Marshal(kept) // maps in the order of their keys
	if err == nil && !bytes.Equal(data, p.books.saved) {
		if err = p.o.Memory.Remember(ctx, data); err == nil {
			p.books.saved = slices.Clone(data)
		}
	}
	if err != nil && ctx.Err() == nil {
		p.o.Log.Error("cannot keep what the Alertmanager has heard", "err", err)
	}
}
