package main

import (
	"net"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// promised is how long an ordered stop may take; a machine that is busy with
// other tests gets some more.
const promised = 2*time.Second + time.Second

func TestASignalStopsInOrder(t *testing.T) {
	t.Parallel()
	for name, s := range map[string]syscall.Signal{"SIGTERM": syscall.SIGTERM, "Ctrl-C": syscall.SIGINT} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			y := newYard(t, "")
			d := y.run()
			sensors := connect(t, y.embedded, "bench")
			sensors.publish("bench/p1/moisture", "52.1")
			// A browser holds a connection without a request on it.
			c, err := net.Dial("tcp", y.listen)
			require.NoError(t, err)
			defer c.Close()
			d.signal(s)
			code, took := d.wait()
			assert.Equal(t, exitDone, code, "%s", d.err)
			assert.Less(t, took, promised)
			assert.NotContains(t, d.err.String(), "level=ERROR")
			assert.NotContains(t, d.err.String(), "level=WARN")
			assert.Contains(t, d.err.String(), "wickd is down")
			assert.Equal(t, 1, exported(t, y.data)["52.1"])
		})
	}
}

func TestASecondSignalStopsAtOnce(t *testing.T) {
	t.Parallel()
	// Somebody who never ends a request holds up the first.
	y := newYard(t, "")
	d := y.run()
	c, err := net.Dial("tcp", y.listen)
	require.NoError(t, err)
	defer c.Close()
	_, err = c.Write([]byte("GET / HTTP/1.1\r\nHost: x"))
	require.NoError(t, err)
	d.signal(syscall.SIGTERM)
	d.eventually(func() bool { return gone(y.embedded) }, "the first signal does nothing")
	d.signal(syscall.SIGTERM)
	code, took := d.wait()
	assert.Equal(t, exitFailed, code, "%s", d.err)
	assert.Less(t, took, 700*time.Millisecond)
}

func gone(address string) bool {
	c, err := net.Dial("tcp", address)
	if err == nil {
		_ = c.Close()
	}
	return err != nil
}

// What keeps the daemon from starting is said in words, at once.
func TestWhatKeepsItFromStarting(t *testing.T) {
	t.Parallel()
	y := newYard(t, "")
	first := y.run()
	other := newYard(t, "")
	tests := map[string]struct {
		site, data, listen string
		want               []string
	}{
		"the same data directory": {other.site, y.data, other.listen, []string{y.data, "another wickd"}},
		"the web port in use":     {other.site, other.data, y.listen, []string{y.listen, "in use", "--listen"}},
		"the broker port in use":  {y.site, other.data, other.listen, []string{y.embedded, "in use", "another broker"}},
		"data is a file":          {other.site, other.site, other.listen, []string{other.site}},
		"no such address":         {other.site, other.data, "192.0.2.1:9920", []string{"192.0.2.1:9920"}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			p := launch(t, "run", "--site", tt.site, "--data", tt.data, "--listen", tt.listen)
			code, _ := p.wait()
			assert.Equal(t, exitFailed, code)
			for _, want := range tt.want {
				assert.Contains(t, p.err.String(), want)
			}
			assert.True(t, strings.HasPrefix(p.err.String(), "wickd: "), "%s", p.err)
		})
	}
	status, _ := fetch(y.listen, "/healthz")
	assert.Equal(t, 200, status, "the first goes on")
	first.signal(syscall.SIGTERM)
	code, _ := first.wait()
	assert.Equal(t, exitDone, code)
}

// A journal that is no journal is not overwritten.
func TestAForeignJournalIsLeftAlone(t *testing.T) {
	t.Parallel()
	y := newYard(t, "")
	require.NoError(t, os.MkdirAll(y.data, 0o750))
	db := filepath.Join(y.data, "journal.db")
	foreign := strings.Repeat("not a database at all\n", 300)
	require.NoError(t, os.WriteFile(db, []byte(foreign), 0o600))
	p := launch(t, "run", "--site", y.site, "--data", y.data, "--listen", y.listen)
	code, _ := p.wait()
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, p.err.String(), y.data)
	kept, err := os.ReadFile(db)
	require.NoError(t, err)
	assert.Equal(t, foreign, string(kept))
}

// What a person does from the command line of a running daemon.
func TestStatusAcknowledgeShelve(t *testing.T) {
	t.Parallel()
	y := newYard(t, "")
	file, err := os.ReadFile(y.site)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(y.site, []byte(strings.Replace(string(file), "timezone: UTC", "timezone: Europe/Berlin", 1)), 0o600))
	d := y.run()
	at := "--daemon=http://" + y.listen
	assert.Contains(t, output(t, "status", at), "nothing is evaluated yet")
	assert.NotContains(t, output(t, "status", at), "Nothing is wrong.", "nobody knows yet")
	connect(t, y.embedded, "bench").publish("bench/p2/moisture", "9.5")
	var status string
	d.eventually(func() bool {
		status = output(t, "status", at)
		return strings.Contains(status, "Bag p2 is dry")
	}, "status does not tell of the dry bag")
	_, occurrence, found := strings.Cut(status, "to acknowledge: wickd ack --daemon http://"+y.listen+" ")
	require.True(t, found, "%s", status)
	occurrence = strings.Trim(strings.SplitN(occurrence, "\n", 2)[0], `"`)

	assert.Contains(t, output(t, "ack", at, "--by", "caretaker", occurrence), "acknowledged by caretaker")
	status = output(t, "status", at)
	assert.Contains(t, status, "[urgent, acknowledged] Bag p2 is dry")
	assert.Contains(t, status, "acknowledged by caretaker")
	assert.NotContains(t, status, "to acknowledge:", "it is")
	local, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	aside := output(t, "shelve", at, "--for", "2d", occurrence)
	assert.Regexp(t, `^put aside until \w{3} \d+ \w{3} .*\d\d:\d\d \(Europe/Berlin\)\n$`, aside)
	assert.Contains(t, aside, time.Now().Add(48*time.Hour).In(local).Format("Mon 2 Jan"), "in the site's own zone")
	status = output(t, "status", at)
	assert.Contains(t, status, "[urgent, shelved] Bag p2 is dry")
	assert.Contains(t, status, "to take it up again: wickd shelve --daemon http://"+y.listen+" --off \""+occurrence)
	assert.NotContains(t, status, "to acknowledge:", "it is, and is put aside")
	assert.Equal(t, "taken up again\n", output(t, "shelve", at, "--off", occurrence))
	code, _, complaint := command(t, "shelve", at, "--off", "p2")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, `"p2" is not put aside`)
	assert.Contains(t, output(t, "status", at), "[urgent, acknowledged] Bag p2 is dry", "it was, before it was put aside")
	assert.Contains(t, output(t, "shelve", at, "--for", "90m", occurrence), "put aside until ")
	assert.Contains(t, output(t, "status", at, "--json"), `"condition": "bag-dry"`)

	for _, unknown := range []string{"bag-dry|bag/p9|2026-06-01T00:00:00Z", "p9"} {
		code, _, complaint = command(t, "ack", at, unknown)
		assert.Equal(t, exitFailed, code)
		assert.Contains(t, complaint, `no open alert is called "`+unknown+`"; open:`)
		assert.Contains(t, complaint, occurrence, "what is open")
	}
	assert.Equal(t, "it was acknowledged already, by caretaker\n", output(t, "ack", at, "P2"), "there is no doubt which one")
	code, _, complaint = command(t, "shelve", at, "bag/p9")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "the site has no bag/p9")

	// What was acknowledged and shelved stays so, and what was known is there at
	// once.
	d.signal(syscall.SIGKILL)
	d.wait()
	y.run()
	status = output(t, "status", at)
	assert.Contains(t, status, "[urgent, shelved] Bag p2 is dry")
	assert.Regexp(t, `(?m)^ *p2  `, status, "as the last evaluation left it")
}

// What a service manager would meet again at every start ends with 2.
func TestAWrongSiteIsNotTriedAgain(t *testing.T) {
	t.Parallel()
	bad := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(bad, []byte("site: {nam: Kestrel Yard}\n"), 0o600))
	data := filepath.Join(t.TempDir(), "data")
	code, _, complaint := command(t, "run", "--site", bad, "--data", data)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "site.yaml:1:8")
	for _, missing := range []string{filepath.Join(t.TempDir(), "nope.yaml"), t.TempDir()} {
		code, _, complaint = command(t, "run", "--site", missing, "--data", data)
		assert.Equal(t, exitUsage, code)
		assert.Contains(t, complaint, missing)
	}
	file, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	for line, want := range map[string]string{
		`influx: {url: "http://127.0.0.1:1", bucket: yard, token_file: influx-token}`:     "influx.token_file: ",
		`influx: {url: "http://127.0.0.1:1", bucket: yard, token_env: WICKD_NO_SUCH_ONE}`: "influx.token_env: ",
	} {
		secretive := filepath.Join(t.TempDir(), "site.yaml")
		require.NoError(t, os.WriteFile(secretive, append(file, "\n"+line+"\n"...), 0o600))
		code, _, complaint = command(t, "run", "--site", secretive, "--data", data, "--listen", "127.0.0.1:0")
		assert.Equal(t, exitUsage, code)
		assert.Contains(t, complaint, "wickd: "+want)
	}
	code, _, complaint = command(t, "run", "--site", "testdata/bench/site.yaml", "--data", data, "--keep", "3 d")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "--keep")
	code, _, complaint = command(t, "run", "--site", "testdata/bench/site.yaml", "--data", data, "--log", "loud")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, `--log: "loud" is no level; there are debug, info, warn and error`)
	assert.NoDirExists(t, data)
}
