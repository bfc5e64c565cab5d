// Package payload reads the numbers out of what a sensor publishes: a bare
// number, a JSON document with a JSON Pointer into it (RFC 6901), or SenML in
// JSON or CBOR (RFC 8428).
//
// # Which format
//
// The sensor and the first byte decide, never a trial of one decoder after the
// other:
//
//   - the sensor has a Pointer: a JSON document;
//   - else the payload begins with '[': SenML JSON;
//   - else its first byte is 0x80–0x9f, a CBOR array: SenML CBOR. No text in
//     UTF-8 begins with such a byte, so no number can be taken for CBOR;
//   - else a bare number, with or without its unit: "21.5", "21.5 °C".
//
// A sensor that names a SenML record takes SenML only.
//
// # Numbers
//
// A number is read as it was meant or refused, never guessed: "5,8" is neither
// 58 nor 5.8 but the refusal CommaDecimal. A number in a JSON string is read
// like a bare one, as many firmwares print every value as text.
//
// # What it does not do
//
// It converts no units: a Sample carries the text of its unit, if the payload
// has one, and the caller judges it. It knows no ranges and no error values of
// sensors (package probe does), and it never reads the clock: "now" of a
// relative SenML time is an argument.
//
// # The SenML subset
//
// Records are resolved as RFC 8428 section 4.6 has it: base name, time, unit,
// value; names are checked against section 4.5.1; a version above 10 and
// fields that end in "_" are refused (sections 4.4 and 4.5.4). Only "v" is a reading:
// records with vs, vb, vd or only a sum are checked and passed over. The sum,
// the update time and unknown fields are ignored. CBOR takes integer labels,
// integers, floats and decimal fractions (section 6).
//
// # Invariants and concurrency
//
// Every error of this package is a *Refusal with a Reason from a closed list,
// fit for a metric label. On error there is no sample. A payload is never
// modified. All functions are pure; a Body caches what it parsed and belongs to
// one goroutine.
package payload
