package broker

import (
	"log/slog"
	"net"
	"sync"
	"time"

	"github.com/mochi-mqtt/server/v2/listeners"
)

// network is the listener that the server library serves. Unlike the library's
// own it bounds connections that have not sent a CONNECT, in number and in
// time, and owns the goroutines of the connections: Close returns when they
// have ended. (The library's way to close connections takes a read lock twice
// and can deadlock with a client that is leaving.)
type network struct {
	listener net.Listener
	most     int
	timeout  time.Duration // until CONNECT

	mu     sync.Mutex
	closed bool                  // guarded by mu
	conns  map[net.Conn]struct{} // guarded by mu; open
	ended  sync.WaitGroup        // added to under mu while not closed
}

var _ listeners.Listener = (*network)(nil)

func newNetwork(l net.Listener, most int, timeout time.Duration) *network {
	return &network{listener: l, most: most, timeout: timeout, conns: make(map[net.Conn]struct{})}
}

// ID implements listeners.Listener.
func (n *network) ID() string { return "network" }

// Address implements listeners.Listener.
func (n *network) Address() string { return n.listener.Addr().String() }

// Protocol implements listeners.Listener.
func (n *network) Protocol() string { return "tcp" }

// Init implements listeners.Listener; the socket is open already.
func (n *network) Init(*slog.Logger) error { return nil }

// Serve accepts until Close.
func (n *network) Serve(establish listeners.EstablishFn) {
	for {
		conn, err := n.listener.Accept()
		if err != nil {
			return // closed: a TCP listener has no other lasting error
		}
		if !n.enter(conn) {
			_ = conn.Close()
			continue
		}
		// The library replaces the deadline when CONNECT has arrived.
		_ = conn.SetDeadline(time.Now().Add(n.timeout))
		go func() {
			defer n.leave(conn)
			_ = establish(n.ID(), conn) // the library has logged what matters
		}()
	}
}

// enter counts a connection, unless there are too many or it is too late.
func (n *network) enter(conn net.Conn) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.closed || len(n.conns) >= n.most {
		return false
	}
	n.conns[conn] = struct{}{}
	n.ended.Add(1)
	return true
}

func (n *network) leave(conn net.Conn) {
	_ = conn.Close()
	n.mu.Lock()
	delete(n.conns, conn)
	n.mu.Unlock()
	n.ended.Done()
}

// stopAccepting closes the socket; connections stay.
func (n *network) stopAccepting() error { return n.listener.Close() }

// Close implements listeners.Listener: it closes all connections and waits for
// their goroutines.
func (n *network) Close(listeners.CloseFn) {
	_ = n.listener.Close()
	n.mu.Lock()
	n.closed = true
	for conn := range n.conns {
		_ = conn.Close()
	}
	n.mu.Unlock()
	n.ended.Wait()
}
