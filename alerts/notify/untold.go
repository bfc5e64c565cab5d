package notify

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"
)

// maxUntold bounds what is remembered: an alert that is acknowledged and stands
// for months has been forgotten then, and whoever was not told of it hears that
// it is over.
const maxUntold = 1000

// Memory keeps between two runs what the outbox does not say.
type Memory interface {
	// Recall gives what was remembered last; nil: nothing was.
	Recall(ctx context.Context) ([]byte, error)
	Remember(ctx context.Context, data []byte) error
}

// untold are the escalations that were dropped because an answer came first:
// for who was to be told by them, that the alert is over is no news. It is safe
// for concurrent use.
type untold struct {
	memory Memory // nil: forgotten with the process

	mu  sync.Mutex // guards all
	all []unheard  // in the order in which they came
}

type unheard struct {
	Recipient  string    `json:"recipient"`
	Occurrence string    `json:"occurrence"`
	At         time.Time `json:"at"`
}

// recall reads what the run before remembered.
func (u *untold) recall(ctx context.Context) error {
	if u.memory == nil {
		return nil
	}
	data, err := u.memory.Recall(ctx)
	if err != nil {
		return fmt.Errorf("recall who was not told: %w", err)
	}
	if data == nil {
		return nil
	}
	u.mu.Lock()
	defer u.mu.Unlock()
	if err := json.Unmarshal(data, &u.all); err != nil {
		u.all = nil
		return fmt.Errorf("recall who was not told: %w", err)
	}
	slices.SortStableFunc(u.all, func(a, b unheard) int { return cmp.Compare(a.At.UnixNano(), b.At.UnixNano()) })
	return nil
}

func (u *untold) has(recipient, occurrence string) bool {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.index(recipient, occurrence) >= 0
}

func (u *untold) index(recipient, occurrence string) int {
	return slices.IndexFunc(u.all, func(h unheard) bool { return h.Recipient == recipient && h.Occurrence == occurrence })
}

// add remembers that a recipient was not told of an occurrence.
func (u *untold) add(ctx context.Context, recipient, occurrence string, at time.Time) error {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.index(recipient, occurrence) >= 0 {
		return nil
	}
	u.all = append(u.all, unheard{recipient, occurrence, at.UTC()})
	u.all = u.all[max(0, len(u.all)-maxUntold):]
	return u.save(ctx)
}

// remove forgets it, when the alert is over for that recipient too.
func (u *untold) remove(ctx context.Context, recipient, occurrence string) error {
	u.mu.Lock()
	defer u.mu.Unlock()
	i := u.index(recipient, occurrence)
	if i < 0 {
		return nil
	}
	u.all = slices.Delete(u.all, i, i+1)
	return u.save(ctx)
}

func (u *untold) save(ctx context.Context) error {
	if u.memory == nil {
		return nil
	}
	data, err := json.Marshal(u.all)
	if err == nil {
		err = u.memory.Remember(ctx, data)
	}
	if err != nil {
		return fmt.Errorf("remember who was not told: %w", err)
	}
	return nil
}
