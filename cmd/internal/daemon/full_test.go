package daemon_test

import (
	"context"
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest"
	"wickd/ingest/journal"
	"wickd/ingest/rig"
)

// On a full disk nothing is acknowledged that is not kept, somebody is told,
// and everything goes on when there is room, without a restart.
func TestAFullDisk(t *testing.T) {
	t.Parallel()
	for name, broker := range brokers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			disk := rig.SmallDisk(t, 8<<20)
			section, address := broker(t)
			p := newPhone(t)
			data := filepath.Join(disk.Dir, "data")
			clock := &wall{now: start}
			d := run(t, daemon.Options{Data: data, Clock: clock.read, Config: bench(t, section, p.section(),
				"alerts: {conditions: {journal-failing: {on_delay: 0 s, off_delay: 0 s}}}")})
			ready := func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }
			d.eventually(ready, "not ready")
			s := connect(t, d.broker(address))
			confirmed := map[string]bool{}
			sent := 0
			send := func() {
				payload := fmt.Sprintf("%d %s", sent, strings.Repeat("no number ", 5000))
				sent++
				ctx, cancel := context.WithTimeout(t.Context(), time.Second)
				defer cancel()
				if s.client.Publish(ctx, "bench/p1/moisture", []byte(payload), false) == nil {
					confirmed[payload] = true
				}
			}
			s.publish("bench/p1/moisture", "52.0")
			d.eventually(func() bool {
				clock.move(time.Minute)
				return strings.Contains(scrape(t, d), "wickd_journal_failing 0\n")
			}, "the reading is not evaluated")
			disk.Fill(0)
			d.eventually(func() bool { send(); return !ready() }, "the disk does not run full")
			status, why := fetch(t, d.Addr(), "/readyz")
			assert.Equal(t, http.StatusServiceUnavailable, status)
			assert.Contains(t, why, "free some space")
			assert.Equal(t, http.StatusOK, get(t, d.Addr(), "/healthz"), "a restart would not help")
			d.eventually(func() bool { clock.move(time.Second); return len(p.about("cannot keep its readings")) == 1 }, "nobody is told")
			has(t, scrape(t, d), "wickd_journal_failing 1")
			for range 2 {
				send()
			}
			disk.Empty()
			d.eventually(ready, "the daemon does not go on")
			d.eventually(func() bool { clock.move(time.Second); return len(p.about("keeps its readings again")) == 1 }, "nobody is told that it is over")
			send()
			d.eventually(func() bool { return subset(confirmed, kept(t, data)) }, "what was acknowledged is lost")
			for payload, n := range kept(t, data) {
				assert.Equal(t, 1, n, "%.10s is kept %d times", payload, n)
			}
			assert.Equal(t, 1, strings.Count(d.log.String(), "the disk is full: "), "said once")
			require.NoError(t, d.end())
		})
	}
}

// A daemon that is stopped with a full disk stops in time and in order.
func TestAFullDiskDoesNotHoldUpTheEnd(t *testing.T) {
	t.Parallel()
	disk := rig.SmallDisk(t, 8<<20)
	d := run(t, daemon.Options{Data: filepath.Join(disk.Dir, "data"), Config: bench(t, embedded)})
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "not ready")
	disk.Fill(0)
	s := connect(t, d.BrokerAddr())
	d.eventually(func() bool {
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		return s.client.Publish(ctx, "bench/p1/moisture", []byte(strings.Repeat("no number ", 5000)), false) != nil
	}, "the disk does not run full")
	began := time.Now()
	require.NoError(t, d.end(), "%s", d.log)
	assert.Less(t, time.Since(began), 5*time.Second)
}

// kept counts the payloads in a journal.
func kept(t testing.TB, data string) map[string]int {
	t.Helper()
	j, err := journal.OpenReadOnly(data)
	require.NoError(t, err)
	defer j.Close(context.Background())
	times := map[string]int{}
	require.NoError(t, j.Each(t.Context(), time.Time{}, time.Time{}, func(r ingest.Record) error {
		times[string(r.Message.Payload)]++
		return nil
	}))
	return times
}

func subset(some map[string]bool, all map[string]int) bool {
	for payload := range some {
		if all[payload] == 0 {
			return false
		}
	}
	return true
}

// Before the disk is full somebody is told, and the page shows what is left.
func TestADiskThatFillsIsToldBeforeItIsFull(t *testing.T) {
	t.Parallel()
	disk := rig.SmallDisk(t, 64<<20)
	p := newPhone(t)
	d := run(t, daemon.Options{Data: filepath.Join(disk.Dir, "data"), Config: bench(t, embedded, p.section(),
		"alerts: {conditions: {disk-filling: {on_delay: 0 s}}}")})
	d.eventually(func() bool { return len(p.about("wickd's disk is almost full: ")) == 1 }, "nobody is told")
	assert.Equal(t, http.StatusOK, get(t, d.Addr(), "/readyz"), "there is room yet")
	_, page := fetch(t, d.Addr(), "/")
	assert.Contains(t, page, "<dt>Disk</dt><dd>0.1 GB free</dd>")
	matches(t, scrape(t, d), `wickd_disk_free_bytes [1-9]`)
}
