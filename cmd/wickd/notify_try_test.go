package main

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/rig"
)

// told is a site file with recipients by their URL, each in a file of its own.
func told(t *testing.T, section string, urls map[string]string) (site string) {
	t.Helper()
	file, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	dir := t.TempDir()
	for name, url := range urls {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name+"-url"), []byte(url), 0o600))
		section += fmt.Sprintf("\n    %s: {url_file: %s-url}", name, name)
	}
	site = filepath.Join(dir, "site.yaml")
	require.NoError(t, os.WriteFile(site, append(file, "\n"+section+"\n"...), 0o600))
	return site
}

// A test message goes to every recipient, and each says what became of it, by
// services that are there and one that is not. No secret shows.
func TestNotifyTest(t *testing.T) {
	t.Parallel()
	smtp, mails := rig.StartMailpit(t)
	heard := make(chan string, 10)
	push := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		_, _ = io.WriteString(w, "{}")
		heard <- r.Header.Get("Title") + "\n" + string(body)
	}))
	t.Cleanup(push.Close)
	gone := httptest.NewServer(http.NotFoundHandler())
	gone.Close()
	const secret = "s3cret"
	urls := map[string]string{
		"mail":   "smtp://" + smtp + "/?from=wickd@example.com&to=grower@example.com",
		"keeper": "ntfy://" + strings.TrimPrefix(push.URL, "http://") + "/" + secret + "?scheme=http",
	}
	site := told(t, "notify:\n  recipients:", urls)
	code, out, complaint := command(t, "notify", "test", "--site", site)
	require.Equal(t, exitDone, code, "%s%s", out, complaint)
	assert.Equal(t, "keeper (ntfy): sent; the service has taken it, see that it arrives\nmail (smtp): sent; the service has taken it, see that it arrives\n", out)
	assert.Contains(t, <-heard, "Test message of wickd at Trial bench\nTest message of wickd at Trial bench\nNothing is wrong")
	status, list := fetch(strings.TrimPrefix(mails, "http://"), "/api/v1/messages")
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, list, "Test message of wickd at Trial bench")

	urls["deputy"] = "ntfy://" + strings.TrimPrefix(gone.URL, "http://") + "/" + secret + "?scheme=http"
	urls["empty"] = ""
	urls["foreign"] = secret + "://" + secret
	urls["bare"] = secret
	site = told(t, "notify:\n  recipients:", urls)
	code, out, complaint = command(t, "notify", "test", "--site", site)
	assert.Equal(t, exitFailed, code)
	assert.NotContains(t, out+complaint, secret)
	<-heard
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Len(t, lines, 6, out)
	assert.Regexp(t, `^bare: failed: .*the recipient's URL cannot be used`, lines[0])
	assert.Regexp(t, `^deputy \(ntfy\): failed: .*no connection to the service`, lines[1])
	assert.Regexp(t, `^empty: failed: .*empty-url is empty`, lines[2])
	assert.Regexp(t, `^foreign: failed: .*the recipient's URL cannot be used`, lines[3])
	assert.Regexp(t, `^keeper \(ntfy\): sent`, lines[4])
	assert.Regexp(t, `^mail \(smtp\): sent`, lines[5])

	assert.Contains(t, output(t, "notify", "test", "--site", site, "--to", "keeper"), "keeper (ntfy): sent")
	<-heard
	code, _, complaint = command(t, "notify", "test", "--site", site, "--to", "nobody")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "it names bare, deputy, empty, foreign, keeper, mail")
	assert.Empty(t, heard, "nobody else is told")
}

// Where an Alertmanager tells people, it is tried.
func TestNotifyTestByAnAlertmanager(t *testing.T) {
	t.Parallel()
	heard := make(chan string, 10)
	people := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		heard <- string(body)
	}))
	t.Cleanup(people.Close)
	server := rig.StartAlertmanager(t, people.URL)
	site := told(t, `notify: {alertmanager: {url: "`+server+`"}}`, nil)
	assert.Contains(t, output(t, "notify", "test", "--site", site), "alertmanager: sent")
	assert.Contains(t, <-heard, "wickd-test")

	site = told(t, `notify: {alertmanager: {url: "http://`+rig.FreeAddress(t)+`"}}`, nil)
	code, out, _ := command(t, "notify", "test", "--site", site)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, out, "alertmanager: failed: hand alerts to the Alertmanager: no answer")
}

func TestNotifyTestWithNobodyToTell(t *testing.T) {
	t.Parallel()
	code, _, complaint := command(t, "notify", "test", "--site", "testdata/bench/site.yaml")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "names nobody to tell; add recipients")
}
