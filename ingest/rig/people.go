package rig

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// StartAlertmanager runs a real one that tells a webhook at once what it is
// told, and gives its URL.
func StartAlertmanager(t testing.TB, webhook string) (url string) {
	t.Helper()
	program, address, dir := Program(t, "prometheus-alertmanager"), FreeAddress(t), t.TempDir()
	file := filepath.Join(dir, "alertmanager.yml")
	require.NoError(t, os.WriteFile(file, fmt.Appendf(nil, `route: {receiver: people, group_by: [alertname, subject], group_wait: 50ms, group_interval: 100ms}
receivers: [{name: people, webhook_configs: [{url: %q}]}]
`, webhook), 0o600))
	log := Start(t, program, "--config.file="+file, "--storage.path="+dir, "--web.listen-address="+address, "--cluster.listen-address=")
	Ready(t, "http://"+address+"/-/ready", log)
	return "http://" + address
}

// StartMailpit runs a real mail server with an HTTP interface to what it took,
// and gives the addresses of both.
func StartMailpit(t testing.TB, args ...string) (smtp, http string) {
	t.Helper()
	program := Program(t, "mailpit")
	for smtp = FreeAddress(t); http == "" || http == smtp; { // two picks may be one
		http = FreeAddress(t)
	}
	log := Start(t, program, append([]string{"--smtp", smtp, "--listen", http, "--database", filepath.Join(t.TempDir(), "mail.db"), "--disable-version-check"}, args...)...)
	Ready(t, "http://"+http+"/readyz", log)
	return smtp, http
}
