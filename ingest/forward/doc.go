// Package forward copies the journal to InfluxDB, through its version 2 write
// API, from a cursor that is moved only after the server has taken the points.
//
// However long the server is away, nothing is lost: the cursor stays, the
// journal keeps what lies after it, and after a stop in between some points
// are written twice, which InfluxDB makes one (same series, same time). What the journal has as two
// stays two there, for the same reason that it is two in the journal: nobody
// can tell a sensor that repeats itself from one that measured twice.
//
// What the server refuses for good, because of what a line says, is isolated
// by halving the batch, counted and left out; all other errors hold the flow:
// a wrong token or a missing bucket is put right by the operator, not by
// dropping readings. Before the first line of a batch is left out, a line that
// is known to be good is tried: if that is refused too, the fault is not in
// the lines, and the flow is held.
//
// Invariants: fields are always floats, as a type conflict would make a server
// refuse a series for good; NaN and infinities are not sent, for it refuses
// the whole batch; batching and retrying are done here and not in the client,
// whose asynchronous writer gives up points by design.
//
// Concurrency: Run is called once. Behind and Stats may be called from any
// goroutine.
package forward
