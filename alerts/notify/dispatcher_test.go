package notify

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func TestOptionsAreChecked(t *testing.T) {
	_, err := New(Options{})
	assert.ErrorIs(t, err, ErrOptions)
	h := newHouse(t)
	for name, recipients := range map[string][]Recipient{
		"no id": {person("")}, "no url": {{ID: "a"}}, "twice": {person("a"), person("a")},
		"quiet without a zone": {{ID: "a", URL: person("a").URL, Quiet: &QuietHours{}}},
	} {
		o := h.options
		o.Outbox, o.Sender, o.Clock, o.Recipients = h.outbox, h.post, h.clock, recipients
		_, err := New(o)
		assert.ErrorIs(t, err, ErrOptions, name)
	}
}

func TestWhatHappensTogetherIsOneMessage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"), person("mail"))
		h.open()
		time.Sleep(time.Second)
		h.tell(raised("bag/a1", model.PriorityUrgent), raised("bag/a2", model.PriorityUrgent))
		time.Sleep(time.Second)
		h.tell(raised("bag/a3", model.PriorityUrgent))
		time.Sleep(5 * time.Second)
		for _, id := range []string{"phone", "mail"} {
			got := h.post.to(id)
			require.Len(t, got, 1)
			assert.Equal(t, "3 bags are dry", got[0].Title)
			assert.Equal(t, 2*time.Second, got[0].at.Sub(noon.Add(time.Second)), "two seconds after the poke")
		}
		assert.Zero(t, h.outbox.unsent())
		h.stop()
	})
}

func TestAFailureIsTriedAgainAndNeverLost(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		var attempts []Attempt
		h.options.Observe = func(a Attempt) { attempts = append(attempts, a) }
		h.post.fail = down
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(2 * 24 * time.Hour)
		assert.Empty(t, h.post.to("phone"))
		// 15 s doubling to 30 min takes 8 tries and half an hour; then between
		// two and four an hour.
		assert.Greater(t, h.post.tries, 8+2*46)
		assert.Less(t, h.post.tries, 12+4*48)
		assert.Equal(t, 1, h.outbox.unsent())
		assert.Equal(t, "refused", h.outbox.rows[0].reason)

		h.post.failWith(nil)
		time.Sleep(31 * time.Minute)
		got := h.post.to("phone")
		require.Len(t, got, 1)
		assert.Contains(t, got[0].Text, "This was so on Tue 2 Jun 12:00.")
		assert.Zero(t, h.outbox.unsent())
		assert.Equal(t, Attempt{Recipient: "phone", Notices: 1}, attempts[len(attempts)-1])
		assert.Equal(t, Attempt{Recipient: "phone", Notices: 1, Reason: Refused}, attempts[0])
		h.stop()
	})
}

func TestBackoffGrowsWithJitterToItsMost(t *testing.T) {
	b := Backoff{First: 15 * time.Second, Most: 30 * time.Minute}
	for n, want := range map[int]time.Duration{1: 15 * time.Second, 2: 30 * time.Second, 5: 4 * time.Minute, 8: 30 * time.Minute, 1 << 40: 30 * time.Minute} {
		assert.Equal(t, want/2, b.after(n, 0))
		assert.Equal(t, want, b.after(n, 1))
	}
}

func TestOneDeadRecipientHoldsNobodyElse(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("dead"), person("alive"))
		h.post.fail = func(url string) error {
			if url == "test://dead" {
				return errDown
			}
			return nil
		}
		h.open()
		h.tell(raised("bag/a1", model.PriorityHigh))
		time.Sleep(40 * time.Second)
		h.tell(raised("bag/a2", model.PriorityHigh))
		time.Sleep(40 * time.Second)
		assert.Len(t, h.post.to("alive"), 2)
		assert.Equal(t, 2, h.outbox.unsent())
		h.stop()
	})
}

// Whatever step a crash comes after, the message arrives at least once and at
// most twice.
func TestACrashRepeatsAtMostOnceAndLosesNothing(t *testing.T) {
	crashes := map[string]struct {
		arrange func(h *house)
		want    int
	}{
		"before the send": {func(h *house) { h.stop() }, 1},
		"during the send": {func(h *house) {
			h.post.failWith(func(string) error { go h.stop(); time.Sleep(time.Second); return errDown })
			time.Sleep(10 * time.Second)
			h.post.failWith(nil)
		}, 1},
		"between send and mark": {func(h *house) {
			h.outbox.breakWith(errDisk)
			time.Sleep(10 * time.Second)
			h.stop()
			h.outbox.breakWith(nil)
		}, 2},
		"after the mark": {func(h *house) { time.Sleep(10 * time.Second); h.stop() }, 1},
	}
	for name, crash := range crashes {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHouse(t, person("phone"))
				h.open()
				h.tell(raised("bag/a1", model.PriorityUrgent))
				crash.arrange(h)
				h.open()
				h.tell(raised("bag/a1", model.PriorityUrgent)) // the step is run again
				time.Sleep(time.Hour)
				assert.Len(t, h.post.to("phone"), crash.want)
				assert.Zero(t, h.outbox.unsent())
				h.stop()
			})
		})
	}
}

// As long as the process lives, a message whose mark fails is not repeated.
func TestAMarkThatFailsIsMadeUpFor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.outbox.failSet = errDisk
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(10 * time.Minute)
		assert.Equal(t, 1, h.outbox.unsent())
		h.outbox.breakWith(nil)
		time.Sleep(time.Minute)
		assert.Zero(t, h.outbox.unsent())
		assert.Len(t, h.post.to("phone"), 1)
		h.stop()
	})
}

func TestAStormIsAtMostThreeMessages(t *testing.T) {
	conditions := []model.Condition{"bag-dry", "bag-drying", "wick-failing", "sensor-silent"}
	priorities := []model.Priority{model.PriorityUrgent, model.PriorityHigh, model.PriorityMedium, model.PriorityLow}
	thousand := func(kind model.Change) []model.Transition {
		var storm []model.Transition
		for i := range 1000 {
			storm = append(storm, transition(kind, conditions[i%4], model.BagSubject(fmt.Sprint(i)), priorities[i%4]))
		}
		return storm
	}
	for name, pause := range map[string]time.Duration{"at once": 0, "over ten minutes": 6 * time.Second} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHouse(t, person("phone"), person("mail"))
				h.open()
				if pause == 0 {
					h.tell(thousand(model.Raised)...)
				} else {
					for ten := range slices.Chunk(thousand(model.Raised), 10) {
						h.tell(ten...)
						time.Sleep(pause)
					}
				}
				time.Sleep(time.Hour)
				for _, id := range []string{"phone", "mail"} {
					got := h.post.to(id)
					assert.LessOrEqual(t, len(got), 3)
					told := 0
					for _, m := range got {
						told += m.Notices
					}
					assert.Equal(t, 1000, told, "each is counted once")
				}
				assert.Zero(t, h.outbox.unsent())

				before := len(h.post.to("phone"))
				h.tell(thousand(model.Cleared)...)
				time.Sleep(time.Hour)
				assert.Equal(t, before+1, len(h.post.to("phone")), "and one that all is over")
				h.stop()
			})
		})
	}
}

func TestSmallMattersAreSpreadOutAndUrgentOnesPassThem(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.open()
		for i := range 7 {
			h.tell(raised(model.BagSubject(fmt.Sprint(i)), model.PriorityLow))
			time.Sleep(40 * time.Second)
		}
		require.Len(t, h.post.to("phone"), 4, "the burst; the rest waits")
		h.tell(raised("bag/u", model.PriorityUrgent))
		time.Sleep(3 * time.Second)
		got := h.post.to("phone")
		require.Len(t, got, 5)
		assert.Equal(t, model.PriorityUrgent, got[4].Priority)
		assert.Equal(t, 4, got[4].Notices, "it takes along what waited")
		h.stop()
	})
}

func TestQuietHoursEndInOneMessage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := person("sleeper")
		r.Quiet = &QuietHours{From: 11 * time.Hour, To: 14 * time.Hour, Zone: time.UTC}
		h := newHouse(t, r)
		h.open()
		h.tell(transition(model.Raised, "bag-drying", "bag/a1", model.PriorityMedium))
		time.Sleep(30 * time.Minute)
		h.tell(transition(model.Cleared, "bag-drying", "bag/a1", model.PriorityMedium), transition(model.Raised, "reservoir-low", "reservoir/tank", model.PriorityMedium))
		time.Sleep(time.Hour)
		require.Empty(t, h.post.to("sleeper"))
		h.tell(raised("bag/a2", model.PriorityUrgent))
		time.Sleep(time.Minute)
		require.Len(t, h.post.to("sleeper"), 1, "the urgent one wakes")
		time.Sleep(time.Hour)
		got := h.post.to("sleeper")
		require.Len(t, got, 2)
		assert.Equal(t, 14*time.Hour, got[1].at.Truncate(time.Minute).Sub(noon.Truncate(24*time.Hour)))
		assert.Equal(t, "2 alerts, first: raised reservoir/tank", got[1].Title)
		assert.Contains(t, got[1].Text, "It is over; you were not told yet that it was: raised bag/a1.")
		h.stop()
	})
}

func TestWhatNobodyCanTakeStandsInNobodysWay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.outbox.put([]Delivery{
			{Key: "1", Recipient: "gone", Body: []byte(`{}`)},
			{Key: "2", Recipient: "phone", Body: []byte(`not JSON`)},
			{Key: "3", Recipient: "phone", Body: []byte(`{}`)},
		})
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(time.Hour)
		assert.Len(t, h.post.to("phone"), 1)
		assert.Equal(t, []string{"unknown-recipient", "bad-body", "bad-body"}, []string{h.outbox.rows[0].reason, h.outbox.rows[1].reason, h.outbox.rows[2].reason})
		assert.Equal(t, 1, h.outbox.rows[0].Attempts, "put off for a day")
		assert.Equal(t, 3, h.outbox.unsent(), "the recipient may come back")
		time.Sleep(8 * 24 * time.Hour)
		assert.Zero(t, h.outbox.unsent(), "given up in the end")
		h.stop()
	})
}

func TestAnOutboxThatCannotBeReadIsTriedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.outbox.failDue = errDisk
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(time.Minute)
		assert.Empty(t, h.post.to("phone"))
		h.outbox.mu.Lock()
		h.outbox.failDue = nil
		h.outbox.mu.Unlock()
		time.Sleep(time.Minute)
		assert.Len(t, h.post.to("phone"), 1)
		h.stop()
	})
}

// The stop does not wait for a service that hangs.
func TestStopIsQuick(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHouse(t, person("phone"))
		h.sender = hanging{}
		h.open()
		h.tell(raised("bag/a1", model.PriorityUrgent))
		time.Sleep(5 * time.Second)
		before := h.clock()
		h.stop()
		assert.Less(t, h.clock().Sub(before), time.Second)
		assert.Equal(t, 1, h.outbox.unsent())
		assert.Zero(t, h.outbox.rows[0].Attempts, "whether it went out is not known")
	})
}

type hanging struct{}

func (hanging) Send(ctx context.Context, _ string, _ Message) error {
	<-ctx.Done()
	return &SendError{Reason: Timeout}
}
