package daemon_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/cmd/internal/daemon"
	"wickd/ingest/capture"
	"wickd/ingest/journal"
	"wickd/model"
	"wickd/model/sim"
)

// life is a daemon on a virtual clock with the simulated bench publishing to
// its broker over MQTT.
type life struct {
	t       *testing.T
	config  *config.Config
	data    string
	clock   *wall
	world   *sim.Sim
	daemon  *running // nil: there is none now
	sensors *sensors
}

func live(t *testing.T, c *config.Config, faults ...sim.Fault) *life {
	l := &life{t: t, config: c, data: t.TempDir(), clock: &wall{now: start.Add(-90 * time.Second)}, world: simulated(t, c, 5, faults...)}
	return l
}

func (l *life) begin() {
	l.t.Helper()
	l.daemon = run(l.t, daemon.Options{Config: l.config, Data: l.data, Clock: l.clock.read})
	l.daemon.eventually(l.ready, "not ready")
	if l.config.MQTT.Embedded != nil {
		l.sensors = connect(l.t, l.daemon.BrokerAddr())
	}
}

// end stops the daemon in order.
func (l *life) end() {
	l.t.Helper()
	require.NoError(l.t, l.daemon.end())
	l.daemon = nil
}

func (l *life) ready() bool { return get(l.t, l.daemon.Addr(), "/readyz") == http.StatusOK }

// get asks the web side and gives the status.
func get(t testing.TB, addr, path string) int {
	t.Helper()
	status, _ := fetch(t, addr, path)
	return status
}

func fetch(t testing.TB, addr, path string) (int, string) {
	t.Helper()
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: patience}
	answer, err := client.Get("http://" + addr + path)
	require.NoError(t, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(body)
}

// until lets the bench live, publishing, until some hours after the start. The
// clock moves minute by minute; how many of the daemon's ticks fall between is
// left to chance, as it is in life.
func (l *life) until(hours float64) {
	l.t.Helper()
	l.pass(hours, func(messages []sim.Message) {
		if l.daemon == nil {
			l.sensors.all(messages)
			return
		}
		before := l.daemon.Accepted()
		l.sensors.all(messages)
		// A broker of its own confirms before it delivers, and the clock must not
		// run away from the deliveries.
		l.daemon.eventually(func() bool { return l.daemon.Accepted() >= before+uint64(len(messages)) }, "messages are not delivered")
	})
}

// away lets time pass while what the sensors send is lost.
func (l *life) away(hours float64) { l.pass(hours, func([]sim.Message) {}) }

func (l *life) pass(hours float64, send func([]sim.Message)) {
	l.t.Helper()
	end := start.Add(time.Duration(hours * float64(time.Hour)))
	for l.world.Now().Before(end) {
		now, messages := l.world.Advance()
		for l.clock.read().Before(now.Add(-time.Minute)) {
			l.clock.move(time.Minute)
			time.Sleep(time.Millisecond) // so that a tick may fall between
		}
		if l.clock.read().Before(now) {
			l.clock.set(now)
		}
		send(messages)
	}
	require.NoError(l.t, l.world.Err())
}

// crash ends the daemon as a power cut does: it goes on with what is on disk
// at this moment, and nothing that is written in the course of an orderly end
// counts.
func (l *life) crash() {
	l.t.Helper()
	quiet, before := 0, ""
	l.daemon.eventually(func() bool { // a copy of files that are being written is no copy
		now := ""
		for _, f := range l.files() {
			info, err := os.Stat(f)
			require.NoError(l.t, err)
			now += fmt.Sprintln(f, info.Size(), info.ModTime())
		}
		if quiet++; now != before {
			quiet, before = 0, now
		}
		return quiet == 10
	}, "the journal is written without end")
	image := l.t.TempDir()
	for _, f := range l.files() {
		content, err := os.ReadFile(f)
		require.NoError(l.t, err)
		require.NoError(l.t, os.WriteFile(filepath.Join(image, filepath.Base(f)), content, 0o600))
	}
	l.end()
	l.data = image
}

// files are those of the journal that outlive the process.
func (l *life) files() []string {
	l.t.Helper()
	files, err := filepath.Glob(filepath.Join(l.data, "journal.db*"))
	require.NoError(l.t, err)
	return slices.DeleteFunc(files, func(f string) bool { return strings.HasSuffix(f, "-shm") })
}

// exported is what wickd export writes.
func exported(t testing.TB, data string) []byte {
	t.Helper()
	j, err := journal.OpenReadOnly(data)
	require.NoError(t, err)
	defer func() { _ = j.Close(t.Context()) }()
	var out bytes.Buffer
	w := capture.NewWriter(&out)
	require.NoError(t, j.Each(t.Context(), time.Time{}, time.Time{}, w.Write))
	require.NoError(t, w.Flush())
	return out.Bytes()
}

// found is what the journal holds of what a daemon found up to a time, in the
// form of records: alerts and estimates apart, each in order.
func found(t testing.TB, data string, end time.Time) (alerts, estimates []string) {
	t.Helper()
	j, err := journal.OpenReadOnly(data)
	require.NoError(t, err)
	defer func() { _ = j.Close(t.Context()) }()
	transitions, err := j.Transitions(t.Context(), journal.History{To: end, Limit: 1 << 20})
	require.NoError(t, err)
	slices.Reverse(transitions)
	var out bytes.Buffer
	recorder := daemon.NewRecorder(&out)
	for _, tr := range transitions {
		// What is outside the recording, or done by a person, a replay cannot know.
		if (tr.Subject == model.DaemonSubject("sensors") || tr.Subject.Kind() != model.KindDaemon) && (tr.Kind == model.Raised || tr.Kind == model.Cleared || tr.Kind == model.Suppressed) {
			recorder.Changed([]model.Transition{tr})
		}
	}
	alerts = lines(out.String())
	rows, err := j.Estimates(t.Context(), 0, 1<<20)
	require.NoError(t, err)
	for _, e := range rows {
		if e.At.Before(end) {
			estimates = append(estimates, string(e.Body))
		}
	}
	return alerts, estimates
}

// goodReadings counts what the journal holds of a sensor.
func goodReadings(t testing.TB, data string, sensor model.Subject) int {
	t.Helper()
	j, err := journal.OpenReadOnly(data)
	require.NoError(t, err)
	defer func() { _ = j.Close(t.Context()) }()
	records, err := j.Read(t.Context(), 0, 1<<20)
	require.NoError(t, err)
	n := 0
	for _, r := range records {
		for _, reading := range r.Readings {
			if reading.Sensor == sensor && reading.Verdict == model.Good {
				n++
			}
		}
	}
	return n
}

func lines(text string) []string {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

// requireReplaysTheSame compares what was found live with what a replay of the
// export finds, and gives the alerts.
func requireReplaysTheSame(t testing.TB, c *config.Config, data string) []string {
	t.Helper()
	recording := exported(t, data)
	all := lines(string(recording))
	last, err := capture.Decode([]byte(all[len(all)-1]))
	require.NoError(t, err)
	end := last.Message.Arrived

	var wantAlerts, wantEstimates []string
	for _, line := range lines(replay(t, c, recording)) {
		var r struct {
			Record string
			Time   time.Time
		}
		require.NoError(t, json.Unmarshal([]byte(line), &r))
		switch {
		case !r.Time.Before(end):
		case r.Record == "alert":
			wantAlerts = append(wantAlerts, line)
		default:
			wantEstimates = append(wantEstimates, line)
		}
	}
	alerts, estimates := found(t, data, end)
	require.Equal(t, wantAlerts, alerts, "alerts: replayed, then live")
	require.Equal(t, wantEstimates, estimates, "estimates: replayed, then live")
	require.NotEmpty(t, estimates)
	return alerts
}

// A day at the bench with restarts, rubbish and faults; its export, replayed,
// tells the same story to the last bit.
func TestLiveDayReplaysTheSame(t *testing.T) {
	t.Parallel()
	at := func(hours float64) time.Time { return start.Add(time.Duration(hours * float64(time.Hour))) }
	c := bench(t, embedded)
	l := live(t, c,
		sim.Fault{Kind: sim.WickLostContact, Subject: model.BagSubject("p2"), Start: at(5), Size: 0.05},
		sim.Fault{Kind: sim.ProbeSilent, Subject: model.BagSubject("p3").Sensor(model.Moisture), Start: at(3), End: at(9)},
	)
	l.begin()
	l.until(2)
	for _, payload := range []string{"51,3", "nan", "null", "-127", ""} {
		l.sensors.publish("bench/p1/moisture", payload)
	}
	l.until(4 + 5.0/6)
	l.clock.set(at(5).Add(20 * time.Second))
	l.daemon.eventually(func() bool { return l.daemon.Snapshot().Time.Equal(at(5)) }, "the full hour is not evaluated")
	l.end()   // between that hour and the next message
	l.away(6) // nobody listens, and what is sent is lost
	l.begin()
	l.until(7)
	for range 3 { // again and again, with no message in between
		l.end()
		l.clock.move(40 * time.Minute)
		l.begin()
		l.clock.move(80 * time.Second)
		l.daemon.eventually(func() bool { return !l.daemon.Snapshot().Time.IsZero() }, "no tick is evaluated")
	}
	l.away(9 + 1.0/6)
	l.until(10)
	l.crash()
	l.begin()
	l.until(11)
	l.clock.move(5 * time.Minute)
	l.crash() // marks have been evaluated that no checkpoint stands for
	l.begin()
	l.until(13)
	l.end()
	alerts := requireReplaysTheSame(t, c, l.data)
	assert.Contains(t, strings.Join(alerts, "\n"), `"condition":"sensor-silent","subject":"bag/p3/moisture","transition":"raised"`)
}

// The same with a broker of its own that keeps what is sent while the daemon is
// away, and that is away itself for a while.
func TestLiveDayWithABrokerReplaysTheSame(t *testing.T) {
	t.Parallel()
	m := startMosquitto(t)
	c := bench(t, through(m))
	l := live(t, c, sim.Fault{Kind: sim.WickLostContact, Subject: model.BagSubject("p2"), Start: start.Add(2 * time.Hour), Size: 0.05})
	l.begin()
	l.sensors = connect(t, m.Address)
	l.until(3)
	l.end()
	l.until(5) // the broker keeps it
	l.begin()
	l.settle(12)
	l.until(6)

	m.Stop()
	l.daemon.eventually(func() bool { return !l.ready() }, "the daemon does not notice that the broker is gone")
	l.away(7.5)
	m.Start()
	l.daemon.eventually(l.ready, "the daemon does not come back")
	l.until(9)
	l.end()
	m.Stop() // mosquitto forgets nothing, and the daemon has heard it all
	m.Start()
	l.begin()
	l.until(10)
	l.end()

	alerts := requireReplaysTheSame(t, c, l.data)
	for _, a := range alerts {
		assert.NotContains(t, a, "sensor-silent", "nobody listened, so nobody was silent")
	}
	var marked int
	for _, line := range lines(string(exported(t, l.data))) {
		r, err := capture.Decode([]byte(line))
		require.NoError(t, err)
		if !r.Message.Taken.IsZero() {
			marked++
			assert.True(t, r.Message.Taken.After(start.Add(3*time.Hour)) && r.Message.Taken.Before(start.Add(5*time.Hour+time.Minute)), "%s", line)
		}
	}
	assert.Greater(t, marked, 12*6, "two hours of seven topics, every ten minutes, less one in a hundred that was lost on the way")
}

// settle lets the clock run on until the backlog after steps of the simulation
// has been taken in.
func (l *life) settle(steps int) {
	l.t.Helper()
	l.daemon.eventually(func() bool {
		l.clock.move(2 * pollIt) // not much faster than life: the broker may pause
		return strings.Contains(l.daemon.log.String(), "a backlog has arrived")
	}, "the queue of %d steps has not been taken in", steps)
}
