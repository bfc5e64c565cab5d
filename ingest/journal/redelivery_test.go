package journal

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wickd/ingest"
)

// delivery is a QoS 1 delivery with a packet id.
func delivery(session string, id uint16, dup bool, topic, payload string) ingest.Entry {
	return ingest.Entry{Message: ingest.Message{
		Arrived: start, Topic: topic, Payload: []byte(payload), QoS: 1, PacketID: id, Session: session, Duplicate: dup,
	}}
}

func TestRedelivery(t *testing.T) {
	first := delivery("s", 7, false, "yard/a", "52.0")
	tests := map[string]struct {
		entry ingest.Entry
		again bool
	}{
		"the same with DUP":                  {delivery("s", 7, true, "yard/a", "52.0"), true},
		"an equal value without DUP":         {delivery("s", 7, false, "yard/a", "52.0"), false},
		"DUP, the id used again: payload":    {delivery("s", 7, true, "yard/a", "52.1"), false},
		"DUP, the id used again: topic":      {delivery("s", 7, true, "yard/b", "52.0"), false},
		"DUP of another id":                  {delivery("s", 8, true, "yard/a", "52.0"), false},
		"DUP in another session":             {delivery("t", 7, true, "yard/a", "52.0"), false},
		"QoS 0 has no id to know it by":      {delivery("s", 0, true, "yard/a", "52.0"), false},
		"DUP with an empty payload, not 52.": {delivery("s", 7, true, "yard/a", ""), false},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			j := openTest(t, Options{})
			appendAll(t, j, []ingest.Entry{first})
			j = reopen(t, j)
			known, err := j.Redelivered(t.Context(), []ingest.Message{tt.entry.Message})
			require.NoError(t, err)
			assert.Equal(t, []bool{tt.again}, known)
			got := appendAll(t, j, []ingest.Entry{tt.entry})
			if tt.again {
				assert.Equal(t, []ingest.Appended{{Seq: 1, Duplicate: true}}, got)
			} else {
				assert.Equal(t, []ingest.Appended{{Seq: 2}}, got)
			}
		})
	}
}

func TestRedeliveryWithinABatch(t *testing.T) {
	j := openTest(t, Options{})
	list := []ingest.Entry{
		delivery("s", 7, false, "yard/a", "52.0"),
		delivery("s", 7, true, "yard/a", "52.0"),
		delivery("s", 7, false, "yard/a", "53.0"),
		delivery("s", 7, true, "yard/a", "52.0"), // its newest row says 53.0
	}
	messages := make([]ingest.Message, len(list))
	for i, e := range list {
		messages[i] = e.Message
	}
	known, err := j.Redelivered(t.Context(), messages)
	require.NoError(t, err)
	assert.Equal(t, []bool{false, true, false, false}, known)
	assert.Equal(t, []ingest.Appended{{Seq: 1}, {Seq: 1, Duplicate: true}, {Seq: 2}, {Seq: 3}}, appendAll(t, j, list))
}

// broker is a sender that keeps to MQTT 3.1.1 §4.4: an id is used again only
// after its ack, and after a new connection exactly what was not acked comes
// again, in order, with DUP.
type broker struct {
	session  string
	next     uint16
	inFlight []ingest.Entry
}

func (b *broker) publish(payload string) ingest.Entry {
	for {
		b.next = b.next%8 + 1 // few ids, so that they are used again soon
		if !b.uses(b.next) {
			break
		}
	}
	e := delivery(b.session, b.next, false, "yard/a", payload)
	b.inFlight = append(b.inFlight, e)
	return e
}

func (b *broker) uses(id uint16) bool {
	for _, e := range b.inFlight {
		if e.Message.PacketID == id {
			return true
		}
	}
	return false
}

func (b *broker) resume() []ingest.Entry {
	for i := range b.inFlight {
		b.inFlight[i].Message.Duplicate = true
	}
	return append([]ingest.Entry(nil), b.inFlight...)
}

// Against a broker that keeps to the standard, with crashes at any point of
// deliver, commit, ack, every message is journalled once, in order.
func TestEveryMessageOnceHoweverItCrashes(t *testing.T) {
	j := openTest(t, Options{})
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		b := &broker{session: fmt.Sprint("run ", runs)}
		before, _, err := j.Last(t.Context())
		require.NoError(t, err)
		at, sent := 0, 0
		var want []string
		deliver := func(list []ingest.Entry) {
			for len(list) > 0 {
				n := rapid.IntRange(1, len(list)).Draw(t, "batch")
				if rapid.IntRange(0, 5).Draw(t, "crash before commit") == 0 {
					return
				}
				for i := range list[:n] {
					at++
					list[i].Message.Arrived = start.Add(time.Duration(at))
				}
				_, err := j.Append(t.Context(), list[:n])
				require.NoError(t, err)
				acked := rapid.IntRange(0, n).Draw(t, "acks on the wire")
				b.inFlight = b.inFlight[acked:]
				if acked < n {
					return // the connection broke
				}
				list = list[n:]
			}
		}
		for range rapid.IntRange(1, 8).Draw(t, "connections") {
			list := b.resume()
			for range rapid.IntRange(0, 8-len(list)).Draw(t, "new") {
				// Values differ from those of the id's last use: see the
				// note on what cannot be told apart.
				payload := fmt.Sprint(sent)
				sent++
				want = append(want, payload)
				list = append(list, b.publish(payload))
			}
			deliver(list)
		}
		for len(b.inFlight) > 0 {
			deliver(b.resume())
		}
		records, err := j.Read(t.Context(), before, 10_000)
		require.NoError(t, err)
		var got []string
		for _, r := range records {
			got = append(got, string(r.Message.Payload))
		}
		require.Equal(t, want, got)
	})
}
