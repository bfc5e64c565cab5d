package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// kills is how often the daemon is killed under load.
const kills = 2

// A daemon that is killed again and again under load loses no reading that was
// acknowledged, and tells nobody twice.
func TestKilledUnderLoad(t *testing.T) {
	t.Parallel()
	tests := map[string]func(t *testing.T) (broker string){
		"mosquitto": func(t *testing.T) string { return mosquitto(t) },
		"embedded":  func(*testing.T) string { return "" },
	}
	for name, broker := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			address := broker(t)
			p := newPhone(t)
			y := newYard(t, address, p.section())
			d := y.run()
			if address == "" {
				address = y.embedded
			}
			connect(t, address, "p2").publish("bench/p2/moisture", "9.5")
			d.eventually(func() bool { return p.about("Bag p2 is dry") == 1 }, "the phone is not told")
			d.eventually(func() bool {
				_, metrics := fetch(y.listen, "/metrics")
				return strings.Contains(metrics, `wickd_notifications_sent_total{channel="keeper"} 1`)
			}, "the message is not booked")

			load := flood(t, address)
			for range kills {
				before := load.acked.Load()
				d.eventually(func() bool { return load.acked.Load() >= before+150 }, "nothing is acknowledged")
				d.signal(syscall.SIGKILL)
				d.wait()
				d = y.run()
			}
			confirmed := load.stop()
			require.Greater(t, len(confirmed), 150*kills)

			var times map[string]int
			d.eventually(func() bool { // mosquitto hands over what it kept
				times = exported(t, y.data)
				for payload := range confirmed {
					if times[payload] == 0 {
						return false
					}
				}
				return true
			}, "readings that were acknowledged are lost")
			if name == "mosquitto" {
				// The broker alone sends again here, with DUP and the same packet id.
				for payload, n := range times {
					require.Equal(t, 1, n, "%s is journalled %d times", payload, n)
				}
			}
			d.signal(syscall.SIGTERM)
			code, _ := d.wait()
			assert.Equal(t, exitDone, code, "%s", d.err)
			assert.Equal(t, 1, p.about("Bag p2 is dry"), "one message for one dry bag, however often wickd is killed")
			t.Logf("%d readings acknowledged, %d kills", len(confirmed), kills)
		})
	}
}

// flow is a flood of readings, each different.
type flow struct {
	acked     atomic.Int64
	end       chan struct{}
	wg        sync.WaitGroup
	mu        sync.Mutex
	confirmed map[string]bool
}

// flood publishes as fast as it is acknowledged, from several sensors. One that
// is not confirmed is given up: it may or may not be in the journal.
func flood(t *testing.T, broker string) *flow {
	t.Helper()
	f := &flow{end: make(chan struct{}), confirmed: map[string]bool{}}
	for i := range 8 {
		s := connect(t, broker, fmt.Sprintf("flood-%d", i))
		f.wg.Go(func() {
			for n := 0; ; n++ {
				select {
				case <-f.end:
					return
				default:
				}
				payload := fmt.Sprintf("52.%d%06d", i, n)
				if s.try("bench/p1/moisture", payload) {
					f.acked.Add(1)
					f.mu.Lock()
					f.confirmed[payload] = true
					f.mu.Unlock()
				}
			}
		})
	}
	return f
}

func (f *flow) stop() map[string]bool {
	close(f.end)
	f.wg.Wait()
	return f.confirmed
}

// exported counts the payloads of an export, which is taken beside the running
// daemon.
func exported(t *testing.T, data string) map[string]int {
	t.Helper()
	times := map[string]int{}
	for _, line := range strings.Split(strings.TrimSpace(output(t, "export", "--data", data)), "\n") {
		var m struct{ Payload string }
		require.NoError(t, json.Unmarshal([]byte(line), &m), "%s", line)
		times[m.Payload]++
	}
	return times
}
