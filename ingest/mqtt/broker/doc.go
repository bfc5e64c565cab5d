// Package broker is an MQTT broker inside the daemon, for sites that run no
// other. A sensor's PUBACK (PUBREC at QoS 2) means that its reading is on disk:
// the publish hook of the server library runs before either is written, and it
// waits for the journal.
//
// What it does not do: it keeps nothing on disk. Subscribers other than the
// daemon (a dashboard, a phone) get live and retained messages on a best-effort
// basis; sessions and retained messages end with the process. It hands the
// daemon no last wills: a will is not a reading.
//
// Invariants:
//   - No PUBACK or PUBREC without a nil from Options.Deliver. MQTT 3.1.1 has no
//     negative acknowledgement, and one of MQTT 5 would make the sensor forget
//     the message, so after an error the connection is closed and the sensor
//     sends again, with DUP, when it reconnects.
//   - The messages of one sensor are delivered one at a time and in order;
//     those of different sensors at the same time, so Deliver must be safe for
//     concurrent use.
//   - A message that was accepted at QoS 2 is not delivered again while the
//     session lasts [MQTT-4.3.3-10]. After a restart of the daemon it may be,
//     with DUP, as at QoS 1; Session and PacketID tell.
//   - Retained is never set: everything comes from a live sensor. A message
//     that asks to be retained is as fresh as another.
//   - Without Authenticate only a loopback address is accepted, unless
//     AllowAnonymous says otherwise. No password reaches a log line.
//
// Concurrency: a Broker is driven by one Run, which owns every goroutine.
// Publish and Addr may be called from any goroutine.
package broker
