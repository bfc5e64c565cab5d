package broker

import (
	"errors"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
)

var errStopping = errors.New("broker is stopping")

// enter counts a message as being journalled, unless the broker is stopping.
func (h *hook) enter(cl *mochi.Client) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.stopping {
		return false
	}
	h.busy[cl] = struct{}{}
	return true
}

func (h *hook) leave(cl *mochi.Client) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if _, ok := h.busy[cl]; !ok {
		return
	}
	delete(h.busy, cl)
	if h.stopping && len(h.busy) == 0 {
		close(h.idle)
	}
}

// drain refuses further messages and waits for those in hand; when the time is
// over their deliveries are cancelled.
func (h *hook) drain(within time.Duration) {
	defer h.cancel()
	h.mu.Lock()
	h.stopping = true
	empty := len(h.busy) == 0
	h.mu.Unlock()
	if empty {
		return
	}
	t := time.NewTimer(within)
	defer t.Stop()
	select {
	case <-h.idle:
	case <-t.C:
	}
}
