package main

import (
	"context"
	"fmt"
	"strings"
	"syscall"
	"testing"
	"time"

	paho "github.com/eclipse/paho.mqtt.golang"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
)

// queued is how many messages have gathered while wickd was away.
const queued = 5000

// A daemon that is killed while it takes in what has gathered loses none of it
// and has none twice, whoever kept it: a broker of its own, or a gateway that
// sends to the broker inside wickd.
func TestKilledInABacklog(t *testing.T) {
	t.Parallel()
	tests := map[string]func(t *testing.T) (broker string){
		// A few at a time, or a fast machine takes them all in between two looks.
		"mosquitto": func(t *testing.T) string {
			return mosquitto(t, "\nmax_inflight_messages 65535\n", "\nmax_inflight_messages 20\n")
		},
		"embedded": func(*testing.T) string { return "" },
	}
	for name, broker := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			address := broker(t)
			y := newYard(t, address)
			if address == "" {
				address = y.embedded
			} else { // the broker has to know who to keep it for
				before := *y
				before.data = t.TempDir()
				d := before.run()
				d.signal(syscall.SIGTERM)
				d.wait()
			}
			heardAnHourAgo(t, y.data)
			g := connectGateway(t, address)
			var d *process
			if name == "mosquitto" {
				g.await(t)
				g.confirmed(t, g.publish())
				d = y.run()
			} else {
				d = y.run()
				g.await(t)
				tokens := g.publish()
				defer g.confirmed(t, tokens)
			}
			midst := 0
			for _, after := range []int64{2, queued / 2} {
				y.reaches(after, d)
				d.signal(syscall.SIGKILL)
				d.wait()
				at := y.last()
				if at < queued {
					midst++
				}
				t.Logf("killed after %d messages", at)
				d = y.run()
			}
			require.Positive(t, midst, "killed too late each time")
			y.reaches(queued+1, d)
			d.eventually(func() bool { return strings.Contains(d.err.String(), "a backlog has arrived") }, "it is never complete")
			d.signal(syscall.SIGTERM)
			code, _ := d.wait()
			assert.Equal(t, exitDone, code, "%s", d.err)
			y.requireEachOnce()
		})
	}
}

// heardAnHourAgo makes a journal whose newest message is an hour old.
func heardAnHourAgo(t *testing.T, data string) {
	t.Helper()
	j, err := journal.Open(journal.Options{Dir: data})
	require.NoError(t, err)
	defer j.Close(context.Background())
	_, err = j.Append(t.Context(), []ingest.Entry{{Message: ingest.Message{
		Arrived: time.Now().Add(-time.Hour), Topic: "bench/p1/moisture", Payload: []byte("50.0"),
	}}})
	require.NoError(t, err)
}

// reaches waits until the journal holds so many messages.
func (y *yard) reaches(n int64, d *process) {
	y.t.Helper()
	require.Eventually(y.t, func() bool { return y.last() >= n }, patience, time.Millisecond, "%s", d.err)
}

func (y *yard) last() int64 {
	y.t.Helper()
	j, err := journal.OpenReadOnly(y.data)
	require.NoError(y.t, err)
	defer j.Close(context.Background())
	seq, _, err := j.Last(y.t.Context())
	require.NoError(y.t, err)
	return seq
}

// requireEachOnce says that every message is there once, with its reading.
func (y *yard) requireEachOnce() {
	y.t.Helper()
	j, err := journal.OpenReadOnly(y.data)
	require.NoError(y.t, err)
	defer j.Close(context.Background())
	times := map[string]int{}
	readings := 0
	for after := int64(0); ; {
		rows, err := j.Read(y.t.Context(), after, 1000)
		require.NoError(y.t, err)
		if len(rows) == 0 {
			break
		}
		for _, r := range rows {
			times[string(r.Message.Payload)]++
			readings += len(r.Readings)
			after = r.Seq
		}
	}
	for i := range queued {
		require.Equal(y.t, 1, times[moisture(i)], "times that message %d is there", i)
	}
	assert.Len(y.t, times, queued+1)
	assert.Equal(y.t, queued, readings)
}

// moisture is the payload of one message, in percent; each is another.
func moisture(i int) string { return fmt.Sprintf("4%d.%03d", i/1000, i%1000) }

// gateway sends what several sensors gave it, and keeps it until it is
// acknowledged: after a lost connection it sends the rest again, with DUP and
// the packet ids it had.
type gateway struct {
	paho.Client
	first paho.Token
}

func connectGateway(t *testing.T, address string) *gateway {
	t.Helper()
	const pause = 20 * time.Millisecond
	g := &gateway{Client: paho.NewClient(paho.NewClientOptions().
		AddBroker("tcp://" + address).SetClientID("gateway").SetCleanSession(false).
		SetStore(paho.NewOrderedMemoryStore()).
		SetConnectRetry(true).SetConnectRetryInterval(pause).SetMaxReconnectInterval(pause).
		SetWriteTimeout(patience))}
	g.first = g.Connect()
	t.Cleanup(func() { g.Disconnect(1000) })
	return g
}

// await waits for the first connection.
func (g *gateway) await(t *testing.T) { g.confirmed(t, []paho.Token{g.first}) }

func (g *gateway) publish() []paho.Token {
	tokens := make([]paho.Token, queued)
	for i := range tokens {
		tokens[i] = g.Publish("bench/p1/moisture", 1, false, moisture(i))
	}
	return tokens
}

func (g *gateway) confirmed(t *testing.T, tokens []paho.Token) {
	t.Helper()
	for _, token := range tokens {
		require.True(t, token.WaitTimeout(patience), "not acknowledged")
		require.NoError(t, token.Error())
	}
}
