package notify

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"

	"wickd/model"
)

func TestMoving(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.beforeRun = func() { assert.Error(t, h.d.Moving(h.clock()), "nothing has been done yet") }
		h.open()
		time.Sleep(time.Second)
		assert.NoError(t, h.d.Moving(h.clock()))

		h.post.failWith(down)
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(50 * time.Minute)
		assert.NoError(t, h.d.Moving(h.clock()), "a server may be away for a while")
		time.Sleep(20 * time.Minute)
		assert.ErrorContains(t, h.d.Moving(h.clock()), "phone has not been reached for 1h")
		h.post.failWith(nil)
		time.Sleep(31 * time.Minute)
		assert.NoError(t, h.d.Moving(h.clock()))

		h.outbox.mu.Lock()
		h.outbox.failDue = errDisk
		h.outbox.mu.Unlock()
		time.Sleep(6 * time.Minute)
		assert.ErrorContains(t, h.d.Moving(h.clock()), "not been looked through for")
		h.stop()
	})
}
