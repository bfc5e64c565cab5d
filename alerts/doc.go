// Package alerts decides what is wrong, from what is known, and keeps each
// alert's life: raised, acknowledged, shelved, suppressed, cleared.
//
// It is a pure core. [Engine.Step] takes the time and a [model.Snapshot] and
// returns the changes, in a stable order; it does no I/O, starts no goroutine
// and never reads a clock. Sending is the matter of package notify.
//
// The conditions are a table ([Conditions]), one file per family. Each has a
// priority, a deadband, an on-delay and an off-delay, and a [Rationale]: what
// causes it, what follows, what to do and how long there is. A condition
// without one does not construct, as alarm-management practice asks
// (IEC 62682, ANSI/ISA-18.2; OPC UA Part 9 states the same model).
//
// Invariants:
//
//   - Stale or bad input holds an alert's state: it neither raises nor clears (but
//     for a reservoir that nobody reads and that the model sees empty, which says so),
//     and the delays stand still meanwhile.
//   - A limit is crossed twice: raised at the limit, cleared only a deadband
//     beyond it.
//   - Causes stand before their effects in the table, so that one pass in
//     table order sees every suppression already decided.
//   - An alert that comes and goes is held as one occurrence (chattering).
//   - A priority follows from the severity of the consequence and the time to
//     respond ([Prioritise]).
//   - What nobody acknowledges is told again ([Engine.Remind]) and to further
//     people ([Engine.Escalate]); acknowledging, shelving and clearing stop both.
//   - An engine restored from [Engine.MarshalState] continues as if it had
//     never stopped: all timers and states are in it.
//   - An occurrence is named condition|subject|time raised, so that a second
//     run over the same input gives it the same name.
//
// Engine is not safe for concurrent use: one goroutine owns it. What it
// returns shares no memory with it.
package alerts
