package daemon_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/ingest/rig"
)

// What no sensor sends is acknowledged and dropped, is said once and counted,
// and holds nothing else up. What is too large to be read at all ends the
// connection, and that is said too.
func TestMessagesThatAreNoReadings(t *testing.T) {
	t.Parallel()
	d := run(t, daemon.Options{Config: bench(t, embedded)})
	d.eventually(func() bool { return get(t, d.Addr(), "/readyz") == http.StatusOK }, "not ready")
	s := connect(t, d.BrokerAddr())
	for range 3 {
		s.publish("bench/p1/moisture", strings.Repeat("5", 300<<10))
	}
	for range 2 {
		ctx, cancel := context.WithTimeout(t.Context(), patience)
		err := s.client.Publish(ctx, "bench/p1/moisture", make([]byte, 10<<20), false)
		cancel()
		require.Error(t, err)
	}
	d.eventually(func() bool { return strings.Contains(d.log.String(), "connection closed: the client sends a packet") }, "nobody knows why it is cut off")
	s.publish("bench/p1/moisture", "52.0")
	d.eventually(func() bool { return d.Accepted() == 1 }, "the reading after them is lost")
	metrics := scrape(t, d)
	has(t, metrics, `wickd_messages_refused_total{reason="too-large",sensor="bag/p1/moisture"} 3`)
	assert.Equal(t, 1, strings.Count(d.log.String(), "message refused: larger than any reading"), "%s", d.log)
	assert.Equal(t, 1, strings.Count(d.log.String(), "connection closed: the client"), "%s", d.log)
}

// Why the broker cannot be used is said where one looks first.
func TestWhyItIsNotReady(t *testing.T) {
	t.Parallel()
	users := secret(t, "")
	tests := map[string]struct{ section, want string }{
		"no broker there": {fmt.Sprintf(`mqtt: {broker: "tcp://%s"}`, rig.FreeAddress(t)), "is the broker running there?"},
		"a password that it does not take": {func() string {
			m := rig.StartMosquitto(t, "../../../deploy/mosquitto/wickd.conf", "\nallow_anonymous true\n", "\nallow_anonymous false\npassword_file "+users+"\n")
			return fmt.Sprintf(`mqtt: {broker: "tcp://%s", username: wickd, password_file: %s}`, m.Address, secret(t, "quince"))
		}(), "check the username"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := run(t, daemon.Options{Config: bench(t, tt.section)})
			var why string
			d.eventually(func() bool {
				_, why = fetch(t, d.Addr(), "/readyz")
				return strings.Contains(why, tt.want)
			}, "not said in /readyz")
			assert.NotContains(t, why+d.log.String(), "quince")
			has(t, scrape(t, d), "wickd_broker_connected 0\n")
		})
	}
}
