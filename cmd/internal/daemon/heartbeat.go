package daemon

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"time"

	"wickd/ingest/journal"
)

const (
	// beatTimeout bounds one call of the outside URL.
	beatTimeout = 15 * time.Second
	// modelLimit is how far the model may lie behind the clock: it is evaluated
	// every minute.
	modelLimit = 3 * time.Minute
	beatDrain  = 64 << 10
)

// heartbeat calls a URL elsewhere for as long as all is well, so that whoever
// listens there notices silence. It never beats out of habit: a wickd that
// answers on its port and no longer watches must not look healthy.
type heartbeat struct {
	url    func() (string, error) // a secret: whoever knows it can fake a beat
	every  time.Duration
	moving func(ctx context.Context) error // why wickd cannot be relied on
	client *http.Client
	log    *slog.Logger
}

// run beats until ctx ends.
func (h *heartbeat) run(ctx context.Context) error {
	t := time.NewTicker(h.every)
	defer t.Stop()
	complaint := ""
	for {
		text := ""
		if err := h.beat(ctx); err != nil {
			text = err.Error()
		}
		if ctx.Err() == nil && text != complaint {
			complaint = text
			if text == "" {
				h.log.Info("the heartbeat goes out again")
			} else {
				h.log.Warn("no heartbeat goes out", "why", text)
			}
		}
		select {
		case <-ctx.Done():
			return nil
		case <-t.C:
		}
	}
}

// beat calls the URL once, if all is well. Its errors are in words of its own,
// because those of the HTTP client quote the URL.
func (h *heartbeat) beat(ctx context.Context) error {
	if err := h.moving(ctx); err != nil {
		return err
	}
	url, err := h.url()
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, beatTimeout)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	if err != nil {
		return errors.New("call the heartbeat's URL: it cannot be used; it looks like https://host/path")
	}
	answer, err := h.client.Do(request)
	if err != nil {
		return errors.New("call the heartbeat's URL: no answer; check the network, the name and the certificate")
	}
	defer answer.Body.Close()
	_, _ = io.CopyN(io.Discard, answer.Body, beatDrain)
	if answer.StatusCode < 200 || answer.StatusCode > 299 {
		return fmt.Errorf("call the heartbeat's URL: the answer is %d", answer.StatusCode)
	}
	return nil
}

// newHeartbeat is that of the site file; nil: it has none.
func (d *Daemon) newHeartbeat() *heartbeat {
	c := d.o.Config.Notify.Heartbeat
	if c == nil {
		return nil
	}
	return &heartbeat{
		url: c.URL.Read, every: c.Every, moving: d.moving, log: d.o.Log,
		client: &http.Client{
			Transport: &http.Transport{Proxy: http.ProxyFromEnvironment, DisableKeepAlives: true},
			// A redirect would hand the secret on to somebody else.
			CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		},
	}
}

// moving says which of journal, model and notifier stands still; nil: all move.
func (d *Daemon) moving(ctx context.Context) error {
	if err := d.healthy(); err != nil {
		return fmt.Errorf("the journal fails: %w", err)
	}
	if err := d.journal.Commit(ctx, journal.Update{}); err != nil {
		return fmt.Errorf("the journal fails: %w", err)
	}
	now := d.o.Clock()
	s := d.keeper.latest()
	if s.Time.IsZero() {
		return errors.New("the model has had no readings yet")
	}
	if behind := now.Sub(s.Time); behind > modelLimit {
		return fmt.Errorf("the model has stood still since %s", s.Time.In(d.zone()).Format(moment))
	}
	switch {
	case d.notify != nil:
		return d.notify.Moving(now)
	case d.manager != nil:
		return d.manager.Moving(now)
	}
	return nil
}
