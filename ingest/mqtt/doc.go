// Package mqtt takes messages from an MQTT 3.1.1 broker and acknowledges them
// only when the consumer says that they are on disk. It is the only importer of
// the client library; the broker that can be embedded in its place is in the
// package broker beside it.
//
// What it does not do: it decodes nothing, decides nothing about a topic, keeps
// nothing on disk. The broker's persistent session is the store; this package
// makes sure that nothing leaves it early.
//
// Invariants:
//   - A PUBACK is sent after the consumer called the ack that came with the
//     message, and PUBACKs go out in the order in which the messages came
//     [MQTT-4.6.0-2].
//   - Messages are submitted one at a time, in the order of delivery.
//   - Options.OnUp is called before the first message of a connection is
//     submitted, so a consumer that keeps packet ids can forget them first when
//     the broker has no session.
//   - There is no redelivery within a connection. When the consumer refuses a
//     message, nothing after it is submitted; the connection is closed and the
//     broker delivers again, with DUP, from that message on.
//   - An ack for a message of an earlier connection does nothing. The broker
//     has delivered, or will deliver, that message again with DUP, and the
//     consumer knows it by Session and PacketID.
//   - Nothing secret is in an error or a log line.
//
// Concurrency: a Client is driven by one Run. Publish and Connected may be
// called from any goroutine; an ack may be called from any goroutine and never
// blocks. Callbacks in Options run on Run's goroutine or on the delivery
// goroutine: nothing else is received while one takes its time, and none may call
// back into the Client.
//
// Each connection has its own client of the library, so what belongs to a
// connection ends with it: its acks, its unfinished publishes and its
// goroutines. The retry loop is Run's own, because the library's cannot be
// interrupted while it sleeps and does not tell whether a session was resumed
// when it reconnects.
package mqtt
