// Package journal keeps everything that wickd has accepted and everything that
// it still owes to others, in one SQLite database that survives a power cut.
//
// The journal is the truth. State after a restart is the last checkpoint and
// the rows since; InfluxDB and the phone are fed from it, so that an outage of
// theirs costs disk, not data.
//
// Invariants:
//   - What a method reports as done is on disk: write-ahead log, synchronous
//     FULL, one transaction for each call.
//   - Seq rises with arrival and is never given twice, not after Prune either.
//   - A failed commit or disk write is final: every later write returns
//     ErrFailed, because after a failed fsync nobody knows what is on disk
//     (the page cache may have dropped it). A full disk is different: the
//     transaction is undone as a whole and a later one may succeed. A reserve
//     is held back for what is urgent: with it gone, messages are not taken
//     until it can be held back again. So is another process that holds the
//     database: a write says ErrBusy, and a later one may succeed.
//   - What a disk loses of what was reported as done, in spite of the above, is
//     found at the next Open and said (Lost): the newest Seq is also kept beside
//     the database.
//   - The rows of a backlog follow each other, and at most one backlog, the
//     newest, is unsettled.
//   - One process has a journal open for writing; others may OpenReadOnly.
//
// Not here: what a message means, when to retry, when to prune.
//
// Concurrency: all methods may be called from any goroutine. Writers take
// turns on one connection; readers have their own and never wait for writers.
package journal
