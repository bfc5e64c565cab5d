package broker

import (
	"context"
	"errors"
	"sync"
	"time"

	mochi "github.com/mochi-mqtt/server/v2"
	"github.com/mochi-mqtt/server/v2/packets"

	"wickd/ingest"
)

// hook is called by the server library, on the goroutine of the client that a
// packet came from.
type hook struct {
	mochi.HookBase
	opts     Options
	server   *mochi.Server
	delivers matcher
	readOnly matcher

	ctx    context.Context // of deliveries; ends when draining is over
	cancel context.CancelFunc

	mu       sync.Mutex
	busy     map[*mochi.Client]struct{} // guarded by mu; between OnPublish and the PUBACK
	idle     chan struct{}              // guarded by mu; closed when stopping and busy is empty
	stopping bool                       // guarded by mu
	lastErr  string                     // guarded by mu; text of the last logged failure

	complained map[string]bool // guarded by mu; clients whose packets are too large
}

var _ mochi.Hook = (*hook)(nil)

func newHook(o Options, server *mochi.Server) *hook {
	h := &hook{
		opts:     o,
		server:   server,
		delivers: newMatcher(o.Topics),
		readOnly: newMatcher(o.ReadOnly),
		busy:     make(map[*mochi.Client]struct{}),
		idle:     make(chan struct{}),

		complained: make(map[string]bool),
	}
	h.delivers.all = len(o.Topics) == 0
	h.ctx, h.cancel = context.WithCancel(context.Background())
	return h
}

// ID names the hook in the library's log.
func (h *hook) ID() string { return "journal" }

// Provides says which calls the hook wants.
func (h *hook) Provides(b byte) bool {
	switch b {
	case mochi.OnConnect, mochi.OnConnectAuthenticate, mochi.OnACLCheck, mochi.OnPublish, mochi.OnPacketProcessed, mochi.OnDisconnect:
		return true
	}
	return false
}

// Init is nothing to do.
func (h *hook) Init(any) error { return nil }

// Stop is nothing to do; drain has ended it.
func (h *hook) Stop() error { return nil }

// OnConnect imposes the keepalive where the protocol can tell the client.
func (h *hook) OnConnect(cl *mochi.Client, _ packets.Packet) error {
	most := uint16(h.opts.MaxKeepAlive / time.Second)
	if cl.Properties.ProtocolVersion == 5 && (cl.State.Keepalive == 0 || cl.State.Keepalive > most) {
		cl.State.Keepalive, cl.State.ServerKeepalive = most, true // [MQTT-3.1.2-21]
	}
	return nil
}

// OnConnectAuthenticate lets a client in or not.
func (h *hook) OnConnectAuthenticate(cl *mochi.Client, pk packets.Packet) bool {
	if h.opts.Authenticate == nil {
		return true
	}
	if !pk.Connect.UsernameFlag {
		return h.opts.AllowAnonymous
	}
	ok := h.opts.Authenticate(string(pk.Connect.Username), string(pk.Connect.Password))
	if !ok {
		h.opts.Logger.Warn("broker refused a client: wrong username or password", "client", cl.ID, "remote", cl.Net.Remote)
	}
	return ok
}

// OnACLCheck keeps network clients from publishing in the daemon's name.
func (h *hook) OnACLCheck(_ *mochi.Client, topic string, write bool) bool {
	return !write || !h.readOnly.match(topic)
}

// OnPublish journals a message. The library acknowledges after a nil error, and
// also after most errors; only ErrRejectPacket keeps it silent.
func (h *hook) OnPublish(cl *mochi.Client, pk packets.Packet) (packets.Packet, error) {
	if cl.Net.Inline || !h.delivers.match(pk.TopicName) {
		return pk, nil
	}
	if len(pk.Payload) > h.opts.MaxPayload {
		h.noteOversize(cl, pk)
		return pk, packets.CodeSuccessIgnore // acknowledged, not passed on
	}
	err := errStopping
	if h.enter(cl) {
		err = h.opts.Deliver(h.ctx, h.message(cl, pk))
	}
	h.noteResult(err)
	if err == nil || pk.FixedHeader.Qos == 0 {
		return pk, nil // at QoS 0 there is nobody who would send it again
	}
	h.hangUp(cl)
	return pk, packets.ErrRejectPacket
}

// OnPacketProcessed runs after the acknowledgement was written.
func (h *hook) OnPacketProcessed(cl *mochi.Client, pk packets.Packet, _ error) {
	if pk.FixedHeader.Type == packets.Publish {
		h.leave(cl)
	}
}

// message translates. The session is the client's, whatever address it comes
// from: a sensor may be given another one by DHCP between a message and its
// repetition.
func (h *hook) message(cl *mochi.Client, pk packets.Packet) ingest.Message {
	return ingest.Message{
		Arrived:   h.opts.Now(),
		Topic:     pk.TopicName,
		Payload:   pk.Payload,
		QoS:       pk.FixedHeader.Qos,
		PacketID:  pk.PacketID,
		Duplicate: pk.FixedHeader.Dup,
		Session:   Session(cl.ID),
	}
}

// Session is the Session of the messages of a client.
func Session(clientID string) string { return "embedded/" + clientID }

// hangUp closes the connection without an acknowledgement. An MQTT 5 client is
// told why; 3.1.1 has no DISCONNECT from the server.
func (h *hook) hangUp(cl *mochi.Client) {
	if cl.Properties.ProtocolVersion == 5 {
		_ = h.server.DisconnectClient(cl, packets.ErrServerBusy)
		return
	}
	cl.Stop(packets.ErrServerBusy)
}

// noteResult logs a failure when its text is new.
func (h *hook) noteResult(err error) {
	if errors.Is(err, errStopping) {
		return
	}
	text := ""
	if err != nil {
		text = err.Error()
	}
	h.mu.Lock()
	fresh := text != h.lastErr
	h.lastErr = text
	h.mu.Unlock()
	switch {
	case !fresh:
	case text == "":
		h.opts.Logger.Info("broker takes messages again")
	default:
		h.opts.Logger.Error("message not journalled, sensor must send it again", "error", err)
	}
}
