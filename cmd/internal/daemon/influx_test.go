package daemon_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest/rig"
	"wickd/model"
)

// influx is a real InfluxDB 1.8 of the test's own.
type influx struct {
	t       testing.TB
	address string
	config  string
	program string
	cmd     *exec.Cmd
}

func startInflux(t testing.TB) *influx {
	t.Helper()
	i := &influx{t: t, program: rig.Program(t, "influxd"), address: rig.FreeAddress(t)}
	dir := t.TempDir()
	i.config = filepath.Join(dir, "influxd.conf")
	require.NoError(t, os.WriteFile(i.config, fmt.Appendf(nil, `reporting-disabled = true
bind-address = "127.0.0.1:0"
[meta]
dir = "%[1]s/meta"
[data]
dir = "%[1]s/data"
wal-dir = "%[1]s/wal"
[http]
bind-address = %[2]q
log-enabled = false
[monitor]
store-enabled = false
`, dir, i.address), 0o600))
	i.start()
	t.Cleanup(i.stop)
	i.query("CREATE DATABASE yard")
	return i
}

func (i *influx) start() {
	i.cmd = exec.Command(i.program, "-config", i.config)
	require.NoError(i.t, i.cmd.Start())
	require.Eventually(i.t, func() bool {
		client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
		r, err := client.Get("http://" + i.address + "/ping")
		if err != nil {
			return false
		}
		_ = r.Body.Close()
		return r.StatusCode == http.StatusNoContent
	}, 2*patience, pollIt, "influxd does not start")
}

// stop kills it, as a power cut would.
func (i *influx) stop() {
	if i.cmd != nil {
		_ = i.cmd.Process.Kill()
		_ = i.cmd.Wait()
		i.cmd = nil
	}
}

func (i *influx) section() string {
	return fmt.Sprintf(`influx: {url: "http://%s", bucket: yard/autogen}`, i.address)
}

// query runs InfluxQL and gives the rows of the first series.
func (i *influx) query(q string) [][]any {
	i.t.Helper()
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: patience}
	r, err := client.PostForm("http://"+i.address+"/query", url.Values{"q": {q}, "db": {"yard"}})
	require.NoError(i.t, err)
	defer r.Body.Close()
	var body struct {
		Results []struct {
			Series []struct{ Values [][]any }
			Error  string
		}
	}
	require.NoError(i.t, json.NewDecoder(r.Body).Decode(&body))
	require.Empty(i.t, body.Results[0].Error)
	if len(body.Results[0].Series) == 0 {
		return nil
	}
	return body.Results[0].Series[0].Values
}

func (i *influx) count(field, measurement, where string) int {
	i.t.Helper()
	rows := i.query(fmt.Sprintf(`SELECT count(%q) FROM %q WHERE %s`, field, measurement, where))
	if len(rows) == 0 {
		return 0
	}
	return int(rows[0][1].(float64))
}

// Readings and hourly estimates reach the database, also those from while it
// was down, each once.
func TestHistoryReachesTheDatabase(t *testing.T) {
	t.Parallel()
	db := startInflux(t)
	l := live(t, bench(t, embedded, db.section()))
	l.begin()
	l.until(2)
	db.stop()
	l.until(4)
	l.clock.move(2 * time.Minute) // past the hour
	l.daemon.eventually(func() bool { return l.daemon.Snapshot().Time.After(start.Add(4 * time.Hour)) }, "the hour is not evaluated")
	db.start()

	good := goodReadings(t, l.data, model.BagSubject("p1").Sensor(model.Moisture))
	l.daemon.eventually(func() bool {
		return db.count("value", "reading", "sensor='bag/p1/moisture'") == good && db.count("water_content", "bag", "id='p1'") >= 4
	}, "not all of %d readings and 4 hours are there", good)

	_, estimates := found(t, l.data, start.Add(1000*time.Hour))
	var last struct {
		WaterContent float64 `json:"water_content"`
	}
	require.NoError(t, json.Unmarshal([]byte(estimates[len(estimates)-4]), &last), "p1, p2, p3, tank")
	rows := db.query(`SELECT last("water_content") FROM "bag" WHERE id='p1'`)
	assert.InDelta(t, last.WaterContent, rows[0][1], 1e-12)
	metrics := scrape(t, l.daemon)
	has(t, metrics, "wickd_forward_pending_rows 0\n")
	has(t, metrics, "wickd_forward_refused_readings_total 0\n")
}
