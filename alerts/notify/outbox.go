package notify

import (
	"context"
	"time"
)

// Item is a delivery as the outbox holds it.
type Item struct {
	ID        int64
	Key       string
	Recipient string
	Body      []byte
	Attempts  int // failed so far
	NotBefore time.Time
}

// Outbox keeps deliveries until they are sent, the oldest first.
type Outbox interface {
	// Due lists what is neither sent nor to wait beyond now.
	Due(ctx context.Context, now time.Time, limit int) ([]Item, error)
	MarkSent(ctx context.Context, id int64, at time.Time) error
	// MarkFailed counts an attempt and puts the next off until notBefore.
	MarkFailed(ctx context.Context, id int64, reason string, notBefore time.Time) error
	// Drop gives up a delivery that has become pointless.
	Drop(ctx context.Context, id int64, reason string, at time.Time) error
}

// Sender sends one message to one address.
type Sender interface {
	// Send returns once the service has taken the message. Its error is a
	// *SendError and holds no part of the url.
	Send(ctx context.Context, url string, m Message) error
}
