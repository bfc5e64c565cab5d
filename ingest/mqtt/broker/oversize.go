package broker

import (
	"errors"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"
)

// OnDisconnect says why a client was cut off that announced a packet larger than
// is read at all: it would connect and send it again for ever, and nobody knew.
func (h *hook) OnDisconnect(cl *mochi.Client, err error, _ bool) {
	if !errors.Is(err, packets.ErrPacketTooLarge) || !h.fresh(cl.ID) {
		return
	}
	h.opts.Logger.Warn("connection closed: the client sends a packet larger than any reading; see to what it publishes",
		"client", cl.ID, "remote", cl.Net.Remote, "limit", h.server.Options.Capabilities.MaximumPacketSize)
}

// fresh says whether a client was not complained of before. So many are
// remembered that a few that reconnect do not fill the log.
func (h *hook) fresh(client string) bool {
	const most = 256
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.complained[client] {
		return false
	}
	if len(h.complained) >= most {
		clear(h.complained)
	}
	h.complained[client] = true
	return true
}

// noteOversize reports a message that can be acknowledged and is none.
func (h *hook) noteOversize(cl *mochi.Client, pk packets.Packet) {
	h.opts.Logger.Debug("message too large, dropped", "client", cl.ID, "topic", pk.TopicName, "bytes", len(pk.Payload), "limit", h.opts.MaxPayload)
	if h.opts.OnOversize != nil {
		h.opts.OnOversize(h.opts.Now(), pk.TopicName, len(pk.Payload))
	}
}
