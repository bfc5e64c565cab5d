package journal

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"wickd/model"
)

// History selects transitions. The zero value selects all.
type History struct {
	From, To time.Time     // [From, To); zero: open on that side
	Subject  model.Subject // empty: any
	Limit    int           // 0: 1000
}

// Transitions gives the newest transitions that a History selects, newest
// first.
func (j *Journal) Transitions(ctx context.Context, h History) ([]model.Transition, error) {
	from, to := int64(-1<<63), int64(1<<63-1)
	if !h.From.IsZero() {
		from = h.From.UnixNano()
	}
	if !h.To.IsZero() {
		to = h.To.UnixNano()
	}
	if h.Limit <= 0 {
		h.Limit = 1000
	}
	list, err := collect(ctx, j.read, func(row scanner) (t model.Transition, err error) {
		var body []byte
		if err = row.Scan(&body); err == nil {
			err = json.Unmarshal(body, &t)
		}
		return t, err
	}, `SELECT body FROM transitions WHERE time >= ? AND time < ? AND (? = '' OR subject = ?)
		ORDER BY time DESC, id DESC LIMIT ?`, from, to, string(h.Subject), string(h.Subject), h.Limit)
	if err != nil {
		return nil, fmt.Errorf("journal: reading transitions: %w", err)
	}
	return list, nil
}

// Estimates gives up to limit estimates after a Seq of theirs, by Seq.
func (j *Journal) Estimates(ctx context.Context, after int64, limit int) ([]Estimate, error) {
	list, err := collect(ctx, j.read, func(row scanner) (e Estimate, err error) {
		var at int64
		err = row.Scan(&e.Seq, &at, &e.Kind, &e.ID, &e.Body)
		e.At = instant(at)
		return e, err
	}, `SELECT seq, at, kind, id, body FROM estimates WHERE seq > ? ORDER BY seq LIMIT ?`, after, limit)
	if err != nil {
		return nil, fmt.Errorf("journal: reading estimates: %w", err)
	}
	return list, nil
}
