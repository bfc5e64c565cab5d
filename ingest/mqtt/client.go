package mqtt

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"
)

// stableAfter is how long a connection must have lasted for the next pause to
// start from RetryMin again. Two clients with one id throw each other out at
// once; without this they would do so without pause.
const stableAfter = 10 * time.Second

// Client receives from one broker under one persistent session.
type Client struct {
	settings
	running atomic.Bool

	mu      sync.Mutex
	current *connection // guarded by mu; nil while there is none

	// These belong to Run's goroutine.
	down    bool   // OnDown was called since the last OnUp
	lastErr string // text of the last logged failure

	dropped dropCounter // belongs to the delivery goroutine
}

// New checks the options and reads the CA file. It opens nothing.
func New(o Options) (*Client, error) {
	s, err := o.resolve()
	if err != nil {
		return nil, err
	}
	return &Client{settings: s}, nil
}

// Session is the Session of the messages of this client.
func (c *Client) Session() string { return c.broker.session(c.ClientID) }

// StatusTopic is where the client keeps "online" or "offline", retained; the
// broker publishes the latter when the connection breaks.
func (c *Client) StatusTopic() string { return "wickd/" + c.ClientID + "/status" }

// Connected reports whether there is a connection and the broker answered all
// subscriptions: from then on nothing is missed.
func (c *Client) Connected() bool {
	conn := c.connection()
	return conn != nil && conn.subscribed.Load() && conn.paho.IsConnectionOpen()
}

// Run connects, keeps connected and submits messages until ctx ends. Then it
// takes no further message, waits up to DrainTimeout for outstanding acks, and
// disconnects; it never unsubscribes, since the broker must go on queueing.
// The error is nil, ErrUnacked or ErrRunning.
func (c *Client) Run(ctx context.Context) error {
	if !c.running.CompareAndSwap(false, true) {
		return ErrRunning
	}
	defer c.running.Store(false)
	c.warnPlaintext()
	pause := c.RetryMin
	for {
		began := c.Now()
		err := c.once(ctx)
		switch {
		case ctx.Err() == nil:
		case errors.Is(err, ErrUnacked):
			return err
		default: // what was lost or refused as it was to end is no failure to
			return nil
		}
		c.noteDown(err)
		if c.Now().Sub(began) >= stableAfter {
			pause = c.RetryMin
		}
		if !sleep(ctx, pause) {
			return nil
		}
		pause = min(2*pause, c.RetryMax)
	}
}

// once makes one connection and serves it to its end. When ctx ended, the error
// is that of the teardown.
func (c *Client) once(ctx context.Context) error {
	conn, present, err := c.connect(ctx)
	if err != nil {
		if ctx.Err() != nil {
			return nil
		}
		return err
	}
	c.setConnection(conn)
	defer c.setConnection(nil)
	c.noteUp(present)
	return conn.serve(ctx)
}

func (c *Client) connection() *connection {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.current
}

func (c *Client) setConnection(conn *connection) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.current = conn
}

func (c *Client) noteUp(sessionPresent bool) {
	c.down, c.lastErr = false, ""
	c.Logger.Info("connected to broker", "broker", c.broker.address(), "client_id", c.ClientID, "session_present", sessionPresent)
	if c.OnUp != nil {
		c.OnUp(c.Now(), sessionPresent)
	}
}

// noteDown logs a failure when its text is new and reports an outage once.
func (c *Client) noteDown(err error) {
	if text := err.Error(); text != c.lastErr {
		c.lastErr = text
		c.Logger.Warn("no connection to broker", "error", err)
	}
	if c.down {
		return
	}
	c.down = true
	if c.OnDown != nil {
		c.OnDown(c.Now(), err)
	}
}

func (c *Client) warnPlaintext() {
	if c.Password == nil || c.broker.kind == overTLS || c.broker.url.Scheme == "wss" || isLoopback(c.broker.url.Hostname()) {
		return
	}
	c.Logger.Warn("the broker password crosses the network unencrypted; use ssl:// or wss://", "broker", c.broker.address())
}

// credentials reads the password anew.
func (c *Client) credentials() (username, password string, err error) {
	if c.Password == nil {
		return c.Username, "", nil
	}
	password, err = c.Password()
	switch {
	case err != nil:
		return "", "", fmt.Errorf("read broker password: %w", err)
	case password == "":
		return "", "", errors.New("read broker password: it is empty")
	}
	return c.Username, password, nil
}

// sleep reports whether the pause passed before ctx ended.
func sleep(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}
