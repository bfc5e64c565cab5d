// Package ingest turns what a broker delivers into readings that are on disk
// before the broker is told that they arrived.
//
// A Message goes through these stages, in this order, one at a time:
// it is stamped, decoded into readings, appended to the journal, committed,
// acknowledged and handed on. Nothing is acknowledged or handed on that is not
// committed, and what is handed on comes in one order that the journal can
// reproduce (see Recover and Replay).
//
// After an outage the broker delivers its queue at once. Such a backlog is
// journalled and acknowledged as it comes, but decoded and handed on only when
// it is complete, because the time of each reading follows from how many there
// are. What was decided (Record.Backlog, Place and Message.Taken) is written
// to the journal, so nobody has to decide it a second time.
//
// Not here: the protocol (package mqtt), what a payload means (packages
// payload and probe), how rows are stored (package journal).
//
// Concurrency: Submit, SubmitWait, Clock and Gap may be called from any
// goroutine; stamping happens under one lock. Everything after that runs in
// the goroutine of Run. Backlog and Stamper are not safe for concurrent use.
package ingest
