package notify

import (
	"context"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// The steps of one delivery, after each of which the process can die.
const (
	beforeTheSend = "before the send"
	afterTheSend  = "between the send and its mark"
	afterTheMark  = "after the mark"
)

// mortal is an outbox and a sender of a process that dies after a step: from
// then on nothing it does reaches the world.
type mortal struct {
	*shelf
	sender Sender
	dies   string
	kill   context.CancelFunc
	once   sync.Once
}

func (m *mortal) at(step string) bool {
	if m.dies != step {
		return false
	}
	died := false
	m.once.Do(func() { died = true; m.kill() })
	return died
}

func (m *mortal) Send(ctx context.Context, url string, msg Message) error {
	if m.at(beforeTheSend) {
		return ctx.Err()
	}
	return m.sender.Send(ctx, url, msg)
}

func (m *mortal) MarkSent(ctx context.Context, id int64, at time.Time) error {
	if m.at(afterTheSend) {
		return context.Canceled
	}
	err := m.shelf.MarkSent(ctx, id, at)
	m.at(afterTheMark)
	return err
}

// A process that is killed at any step of a delivery, and started again, has a
// real mail server deliver the message once or, between send and mark, twice.
func TestKilledAtEveryStepWithARealMailServer(t *testing.T) {
	s := startSink(t)
	want := map[string]int{beforeTheSend: 1, afterTheSend: 2, afterTheMark: 1}
	before := 0
	for _, step := range []string{beforeTheSend, afterTheSend, afterTheMark} {
		recipient := Recipient{ID: "mail", URL: func() (string, error) {
			return "smtp://" + s.smtp + "/?from=wickd@example.com&to=grower@example.com", nil
		}}
		outbox := &shelf{}
		planned, err := Plan(time.Now(), Tell([]model.Transition{raised(model.BagSubject(step), model.PriorityUrgent)}, nil), []Recipient{recipient})
		require.NoError(t, err)
		outbox.put(planned)

		live(t, outbox, recipient, step)
		require.Equal(t, step != afterTheMark, outbox.unsent() == 1, step)
		outbox.put(planned) // the step that planned it is run again
		live(t, outbox, recipient, "")

		require.Zero(t, outbox.unsent(), step)
		require.Eventually(t, func() bool { return len(s.mails(t)) >= before+want[step] }, 10*time.Second, 20*time.Millisecond, step)
		assert.Len(t, s.mails(t), before+want[step], step)
		before += want[step]
	}
}

// live runs one process until it dies at a step, or has nothing left to do.
func live(t *testing.T, outbox *shelf, recipient Recipient, dies string) {
	t.Helper()
	ctx, kill := context.WithTimeout(t.Context(), 20*time.Second)
	defer kill()
	m := &mortal{shelf: outbox, sender: NewURLSender(5 * time.Second), dies: dies, kill: kill}
	d, err := New(Options{
		Outbox: m, Sender: m, Recipients: []Recipient{recipient}, Clock: time.Now,
		Rand: rand.New(rand.NewPCG(1, 2)), Poll: 10 * time.Millisecond, Gather: time.Millisecond,
	})
	require.NoError(t, err)
	if dies == "" {
		go func() {
			for outbox.unsent() > 0 && ctx.Err() == nil {
				time.Sleep(10 * time.Millisecond)
			}
			kill()
		}()
	}
	require.NoError(t, d.Run(ctx))
}
