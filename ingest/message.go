package ingest

import "time"

// Message is one application message as a broker delivered it.
type Message struct {
	// Arrived is when it was taken from the connection, stamped in the order
	// of delivery: always later than the Arrived of an earlier message.
	Arrived time.Time
	// Taken is when its reading was really taken, where the pipeline laid out
	// a backlog between its neighbours; zero otherwise.
	Taken   time.Time
	Topic   string
	Payload []byte

	QoS       byte
	PacketID  uint16 // of a QoS 1 or 2 delivery; 0 otherwise
	Duplicate bool   // the broker set DUP: it may have been delivered before
	Retained  bool   // kept by the broker from before the subscription
	// Session identifies the broker session that PacketID belongs to; a packet
	// id means nothing outside it. It should change when the broker says that
	// it kept no session (CONNACK without Session Present), because the ids
	// then start anew.
	Session string
}

// Time is when the message's reading was taken, as well as the message alone
// tells: Taken where a backlog was laid out, else Arrived.
func (m Message) Time() time.Time {
	if !m.Taken.IsZero() {
		return m.Taken
	}
	return m.Arrived
}
