package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wickd/ingest/mqtt"
	"wickd/ingest/rig"
)

// patience bounds every wait; the machine may be busy.
const (
	patience = 2 * time.Minute
	pollIt   = 10 * time.Millisecond
)

// text is a buffer that a process writes and a test reads.
type text struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (x *text) Write(p []byte) (int, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.buf.Write(p)
}

func (x *text) String() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.buf.String()
}

// process is wickd in a process of its own.
type process struct {
	t        *testing.T
	cmd      *exec.Cmd
	out, err *text
	done     chan struct{}
}

func prepare(t *testing.T, args ...string) *process {
	t.Helper()
	p := &process{t: t, cmd: exec.Command("wickd", args...), out: &text{}, err: &text{}, done: make(chan struct{})}
	p.cmd.Stdout, p.cmd.Stderr = p.out, p.err
	return p
}

func launch(t *testing.T, args ...string) *process {
	t.Helper()
	p := prepare(t, args...)
	p.start()
	return p
}

func (p *process) start() {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Start())
	go func() {
		_ = p.cmd.Wait()
		close(p.done)
	}()
	p.t.Cleanup(func() {
		_ = p.cmd.Process.Kill()
		<-p.done
	})
}

func (p *process) signal(s syscall.Signal) { _ = p.cmd.Process.Signal(s) }

// wait gives the exit code and how long it took to come.
func (p *process) wait() (code int, took time.Duration) {
	p.t.Helper()
	began := time.Now()
	select {
	case <-p.done:
	case <-time.After(patience):
		require.FailNow(p.t, "wickd does not end", "%s", p.err)
	}
	return p.cmd.ProcessState.ExitCode(), time.Since(began)
}

func (p *process) eventually(condition func() bool, what string) {
	p.t.Helper()
	require.Eventually(p.t, condition, patience, pollIt, "%s\n%s%s", what, p.err, p.out)
}

// output runs a command to its end, without a process of its own, and gives
// what it printed.
func output(t *testing.T, args ...string) string {
	t.Helper()
	code, out, complaint := command(t, args...)
	require.Equal(t, exitDone, code, "wickd %s: %s", strings.Join(args, " "), complaint)
	return out
}

// yard is a site file and a data directory.
type yard struct {
	t                            *testing.T
	site, data, listen, embedded string
}

// newYard writes the bench's file with another broker and further sections; an
// empty broker is the one inside wickd.
func newYard(t *testing.T, broker string, sections ...string) *yard {
	t.Helper()
	y := &yard{t: t, data: filepath.Join(t.TempDir(), "data"), listen: rig.FreeAddress(t)}
	file, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	const shipped = `mqtt: {embedded: {listen: "127.0.0.1:0"}}`
	require.Contains(t, string(file), shipped)
	section := `mqtt: {broker: "tcp://` + broker + `"}`
	if broker == "" {
		y.embedded = rig.FreeAddress(t)
		section = `mqtt: {embedded: {listen: "` + y.embedded + `"}}`
	}
	content := strings.Replace(string(file), shipped, section, 1) + "\n" + strings.Join(sections, "\n") + "\n"
	y.site = filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(y.site, []byte(content), 0o600))
	return y
}

// run starts the daemon and waits until it is ready.
func (y *yard) run() *process {
	y.t.Helper()
	p := launch(y.t, "run", "--site", y.site, "--data", y.data, "--listen", y.listen)
	p.eventually(func() bool { status, _ := fetch(y.listen, "/readyz"); return status == http.StatusOK }, "wickd is not ready")
	return p
}

func fetch(addr, path string) (status int, body string) {
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: patience}
	answer, err := client.Get("http://" + addr + path)
	if err != nil {
		return 0, err.Error()
	}
	defer answer.Body.Close()
	content, err := io.ReadAll(answer.Body)
	if err != nil {
		return 0, err.Error()
	}
	return answer.StatusCode, string(content)
}

// phone is a real web server that a webhook tells.
type phone struct {
	server *httptest.Server
	url    string // file with the address
	mu     sync.Mutex
	titles []string
}

func newPhone(t *testing.T) *phone {
	t.Helper()
	p := &phone{url: filepath.Join(t.TempDir(), "phone-url")}
	p.server = httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		var n struct{ Title string }
		if err := json.NewDecoder(r.Body).Decode(&n); err != nil {
			n.Title = err.Error()
		}
		p.mu.Lock()
		defer p.mu.Unlock()
		p.titles = append(p.titles, n.Title)
	}))
	t.Cleanup(p.server.Close)
	require.NoError(t, os.WriteFile(p.url, []byte("generic+"+p.server.URL+"/?template=json"), 0o600))
	return p
}

func (p *phone) section() string {
	return "notify: {recipients: {keeper: {url_file: " + p.url + "}}}"
}

func (p *phone) about(words string) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	n := 0
	for _, title := range p.titles {
		if strings.Contains(title, words) {
			n++
		}
	}
	return n
}

// sensors publish over MQTT, each message until it is confirmed.
type sensors struct {
	t      *testing.T
	client *mqtt.Client
}

func connect(t *testing.T, broker, id string) *sensors {
	t.Helper()
	c, err := mqtt.New(mqtt.Options{URL: "tcp://" + broker, ClientID: id, RetryMin: pollIt, RetryMax: 50 * time.Millisecond})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-done)
	})
	return &sensors{t, c}
}

// try publishes once and says whether it was confirmed.
func (s *sensors) try(topic, payload string) bool {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := s.client.Publish(ctx, topic, []byte(payload), false)
	if err != nil && !errors.Is(err, mqtt.ErrNotConnected) && !errors.Is(err, mqtt.ErrConnectionLost) {
		s.t.Errorf("publish %s: %v", topic, err)
	}
	return err == nil
}

func (s *sensors) publish(topic, payload string) {
	for !s.try(topic, payload) && !s.t.Failed() {
		time.Sleep(pollIt) // between attempts, as a sensor does
	}
}

// mosquitto is a real broker with the shipped configuration.
func mosquitto(t *testing.T, replace ...string) (address string) {
	t.Helper()
	return rig.StartMosquitto(t, "../../deploy/mosquitto/wickd.conf", replace...).Address
}
