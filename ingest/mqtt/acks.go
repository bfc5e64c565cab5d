package mqtt

import (
	"context"
	"fmt"
	"sync"
)

// ackQueue sends acknowledgements in the order in which the messages arrived
// [MQTT-4.6.0-2], from a goroutine of its own, so that a consumer that has just
// committed never waits for the network.
type ackQueue struct {
	wake chan struct{} // capacity 1

	mu      sync.Mutex
	pending []*pendingAck // guarded by mu; in the order of arrival
	changed chan struct{} // guarded by mu; closed and replaced when pending shrinks
}

// pendingAck is a message that was delivered and is not acknowledged.
type pendingAck struct {
	queue *ackQueue
	send  func()
	done  bool // guarded by queue.mu
}

func newAckQueue() *ackQueue {
	return &ackQueue{wake: make(chan struct{}, 1), changed: make(chan struct{})}
}

// add appends a message; send is called by run once its ack and those of all
// before it are done.
func (q *ackQueue) add(send func()) *pendingAck {
	p := &pendingAck{queue: q, send: send}
	q.mu.Lock()
	defer q.mu.Unlock()
	q.pending = append(q.pending, p)
	return p
}

// ack marks a message as done. It never blocks.
func (p *pendingAck) ack() {
	p.queue.mu.Lock()
	p.done = true
	p.queue.mu.Unlock()
	select {
	case p.queue.wake <- struct{}{}:
	default:
	}
}

// dropLast forgets the message that was added last: it was not accepted.
func (q *ackQueue) dropLast() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.pending = q.pending[:len(q.pending)-1]
	q.signal()
}

// run sends what is done until ctx ends.
func (q *ackQueue) run(ctx context.Context) {
	for {
		for p := q.head(); p != nil; p = q.head() {
			p.send()
			q.removeHead()
		}
		select {
		case <-ctx.Done():
			return
		case <-q.wake:
		}
	}
}

// head returns the oldest message if it is done. Only run removes heads, and
// dropLast never meets a done one, so the result stays the head.
func (q *ackQueue) head() *pendingAck {
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.pending) == 0 || !q.pending[0].done {
		return nil
	}
	return q.pending[0]
}

func (q *ackQueue) removeHead() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.pending[0] = nil
	q.pending = q.pending[1:]
	q.signal()
}

func (q *ackQueue) signal() {
	close(q.changed)
	q.changed = make(chan struct{})
}

// wait returns when every delivered message is acknowledged, or ErrUnacked when
// ctx ends first.
func (q *ackQueue) wait(ctx context.Context) error {
	for {
		q.mu.Lock()
		n, changed := len(q.pending), q.changed
		q.mu.Unlock()
		if n == 0 {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return fmt.Errorf("stop mqtt client: %w: %d; the broker delivers them again", ErrUnacked, n)
		}
	}
}
