package mqtt

import (
	"fmt"

	paho "github.com/eclipse/paho.mqtt.golang"

	"wickd/ingest"
)

// receive takes one message from the library's ordered delivery goroutine. It
// waits while the consumer is busy: then the broker's limit of messages in
// flight is what holds the flow back.
func (conn *connection) receive(_ paho.Client, m paho.Message) {
	conn.received.Add(1)
	select {
	case <-conn.ready:
	case <-conn.intake.Done():
	}
	if conn.intake.Err() != nil {
		return // not acked: the broker keeps it
	}
	if m.Topic() == droppedTopic {
		conn.client.noteDropped(m.Payload())
		return
	}
	ack, forget := func() {}, func() {}
	if m.Qos() > 0 {
		ack, forget = conn.acks.add(m.Ack).ack, conn.acks.dropLast
	}
	if len(m.Payload()) > conn.client.MaxPayload {
		conn.client.noteOversize(m)
		ack()
		return
	}
	if err := conn.client.Intake.Submit(conn.intake, conn.client.message(m), ack); err != nil {
		forget()
		conn.refuse(err)
	}
}

// message translates. Payload is not shared with the library.
func (c *Client) message(m paho.Message) ingest.Message {
	return ingest.Message{
		Arrived:   c.Now(),
		Topic:     m.Topic(),
		Payload:   m.Payload(),
		QoS:       m.Qos(),
		PacketID:  m.MessageID(),
		Duplicate: m.Duplicate(),
		Retained:  m.Retained(),
		Session:   c.Session(),
	}
}

// refuse ends the connection: without a new one the broker never delivers the
// message again, and nothing after it may overtake it.
func (conn *connection) refuse(err error) {
	if conn.intake.Err() != nil {
		return // the end was decided elsewhere, and Submit returned because of it
	}
	conn.stopIntake()
	conn.refused <- fmt.Errorf("message not taken, closing the connection so that the broker keeps it: %w", err)
}

// noteOversize reports a message that no sensor sends. Unacknowledged it would
// hold up the flow for ever.
func (c *Client) noteOversize(m paho.Message) {
	c.Logger.Debug("message too large, dropped", "topic", clip(m.Topic()), "bytes", len(m.Payload()), "limit", c.MaxPayload)
	if c.OnOversize != nil {
		c.OnOversize(c.Now(), m.Topic(), len(m.Payload()))
	}
}

// noteDropped runs on the delivery goroutine only; one connection follows
// another, so dropped needs no lock.
func (c *Client) noteDropped(payload []byte) {
	total, increase, ok := c.dropped.update(payload)
	if !ok {
		return
	}
	if increase > 0 {
		c.Logger.Warn("the broker dropped messages; raise its queue limit (max_queued_messages 0, see deploy/mosquitto/wickd.conf)", "increase", increase, "total", total)
	}
	if c.OnDropped != nil {
		c.OnDropped(c.Now(), total, increase)
	}
}
