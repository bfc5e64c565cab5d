package mqtt

import (
	"context"
	"errors"
	"fmt"

	paho "github.com/eclipse/paho.mqtt.golang"
)

// Payloads of the status topic.
const (
	statusOnline  = "online"
	statusOffline = "offline"
)

// Publish sends a message at QoS 1 and returns when the broker has confirmed
// it. It does not retry: ErrNotConnected means that nothing was sent,
// ErrConnectionLost that nobody knows.
func (c *Client) Publish(ctx context.Context, topic string, payload []byte, retain bool) error {
	if err := CheckTopic(topic); err != nil {
		return fmt.Errorf("publish: %w", err)
	}
	conn := c.connection()
	if conn == nil {
		return fmt.Errorf("publish to %s: %w", clip(topic), ErrNotConnected)
	}
	return conn.publish(ctx, topic, payload, retain)
}

func (conn *connection) publish(ctx context.Context, topic string, payload []byte, retain bool) error {
	if !conn.paho.IsConnectionOpen() {
		return fmt.Errorf("publish to %s: %w", clip(topic), ErrNotConnected)
	}
	// The library holds the caller for up to the write timeout when the
	// connection breaks at this moment; that must not hold up a stop.
	handed := make(chan paho.Token, 1)
	go func() { handed <- conn.paho.Publish(topic, 1, retain, payload) }()
	if err := conn.confirmed(ctx, handed); err != nil {
		return fmt.Errorf("publish to %s: %w", clip(topic), err)
	}
	return nil
}

func (conn *connection) confirmed(ctx context.Context, handed <-chan paho.Token) error {
	select {
	case token := <-handed:
		return broken(conn.wait(ctx, token), token)
	case <-conn.lost:
		return conn.lostErr
	case <-conn.gone:
		return ErrConnectionLost
	case <-ctx.Done():
		return ctx.Err()
	}
}

// broken is what a publish comes back with: in MQTT 3.1.1 a broker does not refuse
// one, so that an error of the library is one of the connection, whichever part of it
// noticed first that it is closed.
func broken(err error, token paho.Token) error {
	if err == nil || token.Error() == nil || errors.Is(err, ErrConnectionLost) {
		return err
	}
	return fmt.Errorf("%w: %w", ErrConnectionLost, err)
}

// wait waits for a token of the library, the end of the connection or of ctx.
func (conn *connection) wait(ctx context.Context, t paho.Token) error {
	select {
	case <-t.Done():
		return withoutPorts(t.Error())
	case <-conn.lost:
		return conn.lostErr
	case <-conn.gone:
		return ErrConnectionLost
	case <-ctx.Done():
		return ctx.Err()
	}
}
