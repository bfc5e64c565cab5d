package mqtt

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
)

const (
	// subscribeChunk is how many filters go into one SUBSCRIBE. The protocol
	// has no limit, packets and brokers do.
	subscribeChunk = 50
	// subscribeWait is how long nothing may come before a SUBACK. It queues
	// behind the messages of a resumed session, and those wait for the
	// consumer, so a long backlog on a slow disk may take minutes.
	subscribeWait = 30 * time.Second

	subscribeFailed = 0x80 // SUBACK return code, MQTT 3.1.1 §3.9.3
)

// subscribe asks for all topics. It is done on every connect: when the broker
// lost the session the subscriptions went with it. A broker sends what it
// retains again each time.
func (conn *connection) subscribe(ctx context.Context) error {
	result := &SubscribeError{}
	for chunk := range slices.Chunk(conn.client.topics, subscribeChunk) {
		granted, err := conn.request(ctx, chunk, 1)
		if err != nil {
			return fmt.Errorf("subscribe at broker: %w", err)
		}
		result.add(chunk, granted)
	}
	if len(conn.client.topics) > 0 {
		if _, err := conn.request(ctx, []string{droppedTopic}, 0); err != nil {
			return fmt.Errorf("subscribe at broker: %w", err)
		}
	}
	conn.client.noteSubscribed(result)
	return nil
}

func (conn *connection) request(ctx context.Context, topics []string, qos byte) (map[string]byte, error) {
	filters := make(map[string]byte, len(topics))
	for _, topic := range topics {
		filters[topic] = qos
	}
	token := conn.paho.SubscribeMultiple(filters, nil)
	for {
		seen := conn.received.Load()
		waiting, cancel := context.WithTimeout(ctx, subscribeWait)
		err := conn.wait(waiting, token)
		cancel()
		switch {
		case err == nil:
			return token.(*paho.SubscribeToken).Result(), nil
		case !errors.Is(err, context.DeadlineExceeded):
			return nil, err
		case conn.received.Load() == seen:
			return nil, fmt.Errorf("no answer within %s", subscribeWait)
		}
	}
}

func (e *SubscribeError) add(topics []string, granted map[string]byte) {
	for _, topic := range topics {
		switch code, ok := granted[topic]; {
		case !ok || code == subscribeFailed:
			e.Refused = append(e.Refused, topic)
		case code == 0:
			e.Lowered = append(e.Lowered, topic)
		}
	}
}

// noteSubscribed reports what was not granted. The connection stays: the other
// sensors are worth having, and the silent ones raise their own alert.
func (c *Client) noteSubscribed(result *SubscribeError) {
	if len(result.Refused)+len(result.Lowered) == 0 {
		return
	}
	c.Logger.Error("not all topics subscribed", "error", result)
	if c.OnSubscribeRefused != nil {
		c.OnSubscribeRefused(c.Now(), result)
	}
}
