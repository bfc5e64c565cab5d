// Package capture reads and writes captures: what was received over MQTT, one
// JSON object a line, in the order of arrival, as any MQTT client can record
// it.
//
//	{"tst":"2026-06-01T00:00:00Z","topic":"yard/a1/moisture","payload":"52.0"}
//
//	tst             when it arrived, RFC 3339 (zone as Z, +01:00, +0100 or Z+0100)
//	topic           the topic
//	payload         the payload as text. A client that recorded a payload which
//	                is JSON as JSON is understood too: a number, object or array
//	                stands for its own text, null for an empty payload
//	payload_base64  instead of payload, for one that is not UTF-8 text
//	retain, dup     the flags of the delivery: 0, 1, false or true
//	taken           when the reading was taken, where a backlog was laid out
//	gaps            [[from, to], …]: before this message nobody was listening
//	                from … to …
//	backlog, place  number of the backlog that the message came with, and its
//	                place in it (from 1): the order in which it was used
//
// tst, topic and one payload are required; other keys are ignored. A capture
// may be compressed with gzip, whatever its name.
//
// Look, Sort and Steady make of a recording as people have them, with two joined
// into one or a line cut off, one that can be replayed, and say what they did.
//
// Not here: what a payload means.
//
// Concurrency: a Reader or Writer belongs to one goroutine.
package capture
