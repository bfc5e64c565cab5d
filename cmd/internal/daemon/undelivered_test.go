package daemon_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/daemon"
	"wickd/cmd/internal/web"
)

// Whom messages do not reach is said on the page, to programs and in the metrics,
// also after a restart, until they do; wickd stays ready all the while.
func TestWhomMessagesDoNotReachIsSaid(t *testing.T) {
	t.Parallel()
	gone := httptest.NewServer(http.NotFoundHandler())
	gone.Close()
	p := newPhone(t)
	file := secret(t, "generic+"+gone.URL+"/s3cret?template=json")
	c := bench(t, embedded, `notify: {recipients: {keeper: {url_file: `+file+`}}}`)
	data := t.TempDir()
	d := run(t, daemon.Options{Config: c, Data: data})
	connect(t, d.BrokerAddr()).publish("bench/p1/moisture", "9.5")
	var failing []web.UndeliveredDoc
	said := func() bool {
		doc, err := web.Client{Base: "http://" + d.Addr()}.Snapshot(t.Context())
		require.NoError(t, err)
		failing = doc.Daemon.Undelivered
		return len(failing) > 0
	}
	look := func() {
		t.Helper()
		d.eventually(said, "nothing is said")
		assert.Equal(t, "keeper", failing[0].Recipient)
		assert.Equal(t, "refused", failing[0].Reason)
		assert.Equal(t, 1, failing[0].Waiting)
		assert.WithinDuration(t, time.Now(), failing[0].Since, 5*time.Minute)
		status, ready := fetch(t, d.Addr(), "/readyz")
		assert.Equal(t, http.StatusOK, status, "readings are taken and alerts kept")
		assert.Contains(t, ready, "ok\nnote: Messages do not reach keeper since ")
		_, page := fetch(t, d.Addr(), "/")
		for _, words := range []string{ready, page} {
			assert.Contains(t, words, "1 message waiting; no connection to the service")
			assert.NotContains(t, words, "s3cret")
		}
		_, health := fetch(t, d.Addr(), "/healthz")
		assert.Equal(t, "ok\n", health)
		matches(t, scrape(t, d), `wickd_notifications_undelivered_since_timestamp_seconds\{channel="keeper",reason="refused"\} 1`)
	}
	look()
	require.NoError(t, d.end())
	d = run(t, daemon.Options{Config: c, Data: data})
	look()
	require.NoError(t, d.end())

	require.NoError(t, os.WriteFile(file, []byte("generic+"+p.server.URL+"/alerts?template=json"), 0o600))
	d = run(t, daemon.Options{Config: c, Data: data, Clock: func() time.Time { return time.Now().Add(time.Hour) }}) // the next try is due
	d.eventually(func() bool { return len(p.about("Bag p1 is dry")) == 1 && !said() }, "it is not told, or said to be waiting for ever")
	hasNot(t, scrape(t, d), "wickd_notifications_undelivered_since")
	_, page := fetch(t, d.Addr(), "/")
	assert.NotContains(t, page, "do not reach")
}
