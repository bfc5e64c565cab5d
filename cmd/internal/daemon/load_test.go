//go:build !race

package daemon_test

import (
	"fmt"
	"net/http"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
)

const (
	// loadEnv is for how long the sensors of the load test send, for example 60s.
	loadEnv = "WICKD_LOAD"
	// loadSensors is how many there are: the moisture probes of as many bags.
	loadSensors = 1000
	// loadClients is how many connections they share.
	loadClients = 20
)

// loadSite is the bench with so many bags as there are sensors.
func loadSite(t testing.TB, section string) *config.Config {
	t.Helper()
	var ids []string
	for i := range loadSensors {
		ids = append(ids, fmt.Sprintf("b%d", i))
	}
	file := strings.Replace(benchFile, "[p1, p2, p3]", "["+strings.Join(ids, ", ")+"]", 1)
	c, err := config.Parse(t.TempDir()+"/site.yaml", []byte(file+"\n"+section))
	require.NoError(t, err)
	require.Len(t, c.Site.Bags, loadSensors)
	return c
}

// A thousand sensors that each send once a second: everything is acknowledged,
// journalled once and taken into the model, by way of either broker. Three
// seconds of it run here, and as many as WICKD_LOAD says. Not with the race
// detector, which makes a model of a thousand bags ten times slower; what it
// looks for, the other tests have.
func TestAThousandSensors(t *testing.T) {
	if testing.Short() {
		t.Skip("takes all there is of a small machine")
	}
	length := 3 * time.Second
	if text := os.Getenv(loadEnv); text != "" {
		var err error
		length, err = time.ParseDuration(text)
		require.NoError(t, err, loadEnv)
	}
	for name, broker := range brokers {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			section, address := broker(t)
			data := t.TempDir()
			d := run(t, daemon.Options{Config: loadSite(t, section), Data: data, TickEvery: time.Second})
			d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "not ready")
			began := time.Now()
			each, slowest := sendFor(t, d.broker(address), length)
			took := time.Since(began)
			want := uint64(each * loadSensors)
			d.eventually(func() bool { return d.Accepted() >= want }, "of %d messages only %d are journalled", want, d.Accepted())
			_ = d.end() // the last checkpoint of a thousand bags may take longer than a busy machine gives it
			times := kept(t, data)
			once := 0
			for _, n := range times {
				if n == 1 {
					once++
				}
			}
			t.Logf("%d of %d messages journalled once, in %.1f s; the slowest acknowledgement took %s", once, want, took.Seconds(), slowest.Round(time.Millisecond))
			assert.EqualValues(t, want, len(times))
			assert.EqualValues(t, want, once)
		})
	}
}

// sendFor lets every sensor send once a second, each at its own moment of it,
// and gives how often each did and how long the slowest acknowledgement took.
// Each payload is another.
func sendFor(t *testing.T, address string, length time.Duration) (each int, slowest time.Duration) {
	t.Helper()
	const every = time.Second
	each = int(length / every)
	var clients []*sensors
	for i := range loadClients {
		clients = append(clients, connectAs(t, address, fmt.Sprint("load-", i)))
	}
	var worst atomic.Int64
	var all sync.WaitGroup
	begin := time.Now().Add(every)
	for i := range loadSensors {
		all.Go(func() {
			first := begin.Add(every * time.Duration(i) / loadSensors)
			for n := range each {
				time.Sleep(time.Until(first.Add(time.Duration(n) * every)))
				sent := time.Now()
				clients[i%loadClients].publish(fmt.Sprintf("bench/b%d/moisture", i), fmt.Sprintf("52.%07d", n*loadSensors+i))
				took := int64(time.Since(sent))
				for old := worst.Load(); took > old && !worst.CompareAndSwap(old, took); old = worst.Load() {
				}
			}
		})
	}
	all.Wait()
	return each, time.Duration(worst.Load())
}
