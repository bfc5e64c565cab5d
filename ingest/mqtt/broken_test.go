package mqtt

import (
	"context"
	"net"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/assert"
)

// spent is a token that has come back.
type spent struct{ err error }

func (s spent) Wait() bool                     { return true }
func (s spent) WaitTimeout(time.Duration) bool { return true }
func (s spent) Error() error                   { return s.err }
func (s spent) Done() <-chan struct{} {
	done := make(chan struct{})
	close(done)
	return done
}

// Whoever notices first that the connection is closed, the reader or the writer of a
// publish, it is lost; one that was confirmed is not.
func TestAPublishThatMeetsAClosedConnection(t *testing.T) {
	conn := &connection{lost: make(chan struct{}), gone: make(chan struct{})}
	come := func(err error) error {
		handed := make(chan paho.Token, 1)
		handed <- spent{err}
		return conn.confirmed(context.Background(), handed)
	}
	assert.NoError(t, come(nil))
	assert.ErrorIs(t, come(&net.OpError{Op: "write", Net: "tcp", Err: net.ErrClosed}), ErrConnectionLost)
}
