package mqtt

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"sync/atomic"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
)

// open dials the broker and does the handshakes below MQTT. The second result
// tells whether the connection was closed since.
func (s *settings) open(ctx context.Context) (net.Conn, *timedConn, error) {
	ctx, cancel := context.WithTimeout(ctx, s.ConnectTimeout)
	defer cancel()
	if s.broker.kind == overWebSocket {
		return s.openWebSocket()
	}
	raw, err := s.Dial(ctx, "tcp", s.broker.address())
	if err != nil {
		return nil, nil, err
	}
	conn := &timedConn{Conn: raw, timeout: s.WriteTimeout}
	if s.broker.kind == overTCP {
		return conn, conn, nil
	}
	cfg := s.tls.Clone()
	cfg.ServerName = s.broker.url.Hostname()
	secure := tls.Client(conn, cfg)
	if err := secure.HandshakeContext(ctx); err != nil {
		_ = conn.Close()
		return nil, nil, err
	}
	return secure, conn, nil
}

// openWebSocket uses the library's dialler, which knows no context: it ends
// after ConnectTimeout at the latest.
func (s *settings) openWebSocket() (net.Conn, *timedConn, error) {
	raw, err := paho.NewWebsocket(s.broker.url.String(), s.tls, s.ConnectTimeout, nil, nil)
	if err != nil {
		return nil, nil, fmt.Errorf("websocket: %w", err)
	}
	conn := &timedConn{Conn: raw, timeout: s.WriteTimeout}
	return conn, conn, nil
}

// timedConn gives every write a deadline. The library sets one for PUBLISH
// only, so a peer that stopped reading would hold up acks for ever.
type timedConn struct {
	net.Conn
	timeout time.Duration
	closed  atomic.Bool
}

// Write writes within the timeout.
func (c *timedConn) Write(b []byte) (int, error) {
	if err := c.SetWriteDeadline(time.Now().Add(c.timeout)); err != nil {
		return 0, err
	}
	return c.Conn.Write(b)
}

// Close closes the connection, from either side of a TLS layer.
func (c *timedConn) Close() error {
	c.closed.Store(true)
	return c.Conn.Close()
}
