package mqtt

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/netip"
	"net/url"
	"sync"
	"sync/atomic"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
)

// disconnectWait bounds how long a DISCONNECT may take to be written.
const disconnectWait = 500 * time.Millisecond

// connection is one connection to the broker, from CONNECT to its end.
type connection struct {
	client *Client
	paho   paho.Client
	acks   *ackQueue

	ready      chan struct{} // closed when messages may be submitted
	lost       chan struct{} // closed when the connection broke
	lostErr    error         // set before lost is closed
	refused    chan error    // capacity 1; the consumer refused a message
	gone       chan struct{} // closed when serve ended, whatever the cause
	subscribed atomic.Bool
	received   atomic.Uint64 // messages

	intake     context.Context // ends when no more messages are to be submitted
	stopIntake context.CancelFunc
}

// connect dials and does the CONNECT handshake. It returns soon after ctx ends.
func (c *Client) connect(ctx context.Context) (*connection, bool, error) {
	username, password, err := c.credentials()
	if err != nil {
		return nil, false, &ConnectError{Broker: c.broker.address(), Reason: "password", Err: err}
	}
	conn := &connection{
		client:  c,
		acks:    newAckQueue(),
		ready:   make(chan struct{}),
		lost:    make(chan struct{}),
		refused: make(chan error, 1),
		gone:    make(chan struct{}),
	}
	conn.intake, conn.stopIntake = context.WithCancel(context.Background())

	opts := c.pahoOptions(username, password)
	opts.SetDefaultPublishHandler(conn.receive)
	opts.SetConnectionLostHandler(conn.noteLost)
	present, err := conn.handshake(ctx, opts)
	if err != nil {
		conn.stopIntake()
		return nil, false, explain(c.broker.address(), err)
	}
	return conn, present, nil
}

// handshake dials, sends CONNECT and waits for CONNACK. The library gives it no
// context, so the end of ctx closes the connection under it.
func (conn *connection) handshake(ctx context.Context, opts *paho.ClientOptions) (sessionPresent bool, err error) {
	var under *timedConn
	var dialErr error
	release := func() bool { return true }
	opts.SetCustomOpenConnectionFn(func(*url.URL, paho.ClientOptions) (net.Conn, error) {
		var nc net.Conn
		nc, under, dialErr = conn.client.open(ctx)
		if dialErr == nil {
			release = context.AfterFunc(ctx, func() { _ = nc.Close() })
		}
		return nc, dialErr
	})
	conn.paho = paho.NewClient(opts)
	token := conn.paho.Connect()
	<-token.Done()
	release()
	switch {
	case dialErr != nil:
		return false, dialErr // without the library's words around it
	case token.Error() != nil:
		return false, token.Error()
	case under.closed.Load():
		// The library closes the connection when it is refused, and then takes
		// a return code that it does not know for success.
		conn.paho.Disconnect(uint(disconnectWait / time.Millisecond))
		return false, errRefused
	}
	return token.(*paho.ConnectToken).SessionPresent(), nil
}

// noteLost is called once by the library, after its goroutines have ended.
func (conn *connection) noteLost(_ paho.Client, err error) {
	broker := conn.client.broker.address()
	switch {
	case err == nil, errors.Is(err, io.EOF):
		conn.lostErr = fmt.Errorf("%w: %s closed it (stopped, or does another client use the id %s?)", ErrConnectionLost, broker, conn.client.ClientID)
	default:
		conn.lostErr = fmt.Errorf("%w: %s: %w", ErrConnectionLost, broker, withoutPorts(err))
	}
	close(conn.lost)
}

func (c *Client) pahoOptions(username, password string) *paho.ClientOptions {
	o := paho.NewClientOptions()
	o.Servers = []*url.URL{&c.broker.url}
	o.SetClientID(c.ClientID)
	o.SetCredentialsProvider(func() (string, string) { return username, password })
	o.SetProtocolVersion(4)  // 3.1.1, and no second attempt with 3.1
	o.SetCleanSession(false) // the broker queues while wickd is away
	o.SetOrderMatters(true)  // one message at a time, in order
	o.SetAutoAckDisabled(true)
	o.SetAutoReconnect(false) // Run's loop does that, see doc.go
	o.SetConnectRetry(false)
	o.SetConnectTimeout(c.ConnectTimeout)
	o.SetWriteTimeout(c.WriteTimeout)
	o.SetKeepAlive(c.KeepAlive)
	o.SetPingTimeout(c.ConnectTimeout)
	o.SetWill(c.StatusTopic(), statusOffline, 1, true)
	return o
}

// serve subscribes, lets messages in and waits for the end: of ctx, of the
// connection, or of the consumer's willingness.
func (conn *connection) serve(ctx context.Context) error {
	acking, stopAcks := context.WithCancel(context.Background())
	var acker sync.WaitGroup
	acker.Go(func() { conn.acks.run(acking) })
	defer func() {
		stopAcks()
		acker.Wait()
	}()
	defer close(conn.gone)
	defer conn.stopIntake()

	close(conn.ready)
	if err := conn.setUp(ctx); err != nil {
		if ctx.Err() == nil {
			conn.disconnect()
			return err
		}
		return conn.tearDown()
	}
	select {
	case <-conn.lost:
		return conn.lostErr
	case err := <-conn.refused:
		// What was taken before is on its way to the disk; acked, it need not
		// come again.
		_ = conn.tearDown()
		return err
	case <-ctx.Done():
		return conn.tearDown()
	}
}

// setUp subscribes and announces. A resumed session delivers before that.
func (conn *connection) setUp(ctx context.Context) error {
	if err := conn.subscribe(ctx); err != nil {
		return err
	}
	conn.subscribed.Store(true)
	return conn.publish(ctx, conn.client.StatusTopic(), []byte(statusOnline), true)
}

// tearDown is the orderly end: stop intake, wait for acks, say goodbye.
func (conn *connection) tearDown() error {
	conn.stopIntake()
	drain, cancel := context.WithTimeout(context.Background(), conn.client.DrainTimeout)
	defer cancel()
	err := conn.acks.wait(drain)

	// The answer to this says that the broker has read the acks before it. A
	// connection that is closed with messages unread is reset, and a reset
	// overtakes what the broker has not read. Best effort: without it some
	// messages come again, and the will is published.
	bye, cancel := context.WithTimeout(context.Background(), disconnectWait)
	defer cancel()
	_ = conn.publish(bye, conn.client.StatusTopic(), []byte(statusOffline), true)
	conn.disconnect()
	return err
}

// disconnect ends the connection and with it the library's goroutines. The
// session, and what is unacknowledged in it, stays at the broker.
func (conn *connection) disconnect() {
	conn.stopIntake()
	conn.paho.Disconnect(uint(disconnectWait / time.Millisecond))
}

func isLoopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.IsLoopback()
}
