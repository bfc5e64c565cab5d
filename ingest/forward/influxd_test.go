package forward

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"wickd/ingest/rig"

	"github.com/stretchr/testify/require"
)

// server is a real InfluxDB 1.8 of the test's own.
type server struct {
	t      *testing.T
	binary string
	dir    string
	addr   string
	run    *exec.Cmd
}

// startServer makes one, or skips the test: set WICKD_INFLUXD to the path of
// influxd 1.8, or put it on the path. With CI=true it must be there.
func startServer(t *testing.T) *server {
	t.Helper()
	s := &server{t: t, binary: rig.Program(t, "influxd"), dir: t.TempDir(), addr: rig.FreeAddress(t)}
	config := fmt.Sprintf(`reporting-disabled = true
bind-address = "127.0.0.1:0"
[meta]
dir = %q
[data]
dir = %q
wal-dir = %q
[http]
bind-address = %q
log-enabled = false
[monitor]
store-enabled = false
`, filepath.Join(s.dir, "meta"), filepath.Join(s.dir, "data"), filepath.Join(s.dir, "wal"), s.addr)
	require.NoError(t, os.WriteFile(filepath.Join(s.dir, "influxd.conf"), []byte(config), 0o600))
	t.Cleanup(s.stop)
	s.start()
	return s
}

func (s *server) start() {
	s.t.Helper()
	s.run = exec.Command(s.binary, "-config", filepath.Join(s.dir, "influxd.conf"))
	require.NoError(s.t, s.run.Start())
	require.Eventually(s.t, func() bool {
		res, err := http.Get("http://" + s.addr + "/ping")
		if err != nil {
			return false
		}
		_ = res.Body.Close()
		return res.StatusCode == http.StatusNoContent
	}, 60*time.Second, 20*time.Millisecond)
}

// stop kills it, as a power cut would.
func (s *server) stop() {
	if s.run != nil {
		_ = s.run.Process.Kill()
		_ = s.run.Wait()
		s.run = nil
	}
}

// query runs InfluxQL and gives the rows of the first series.
func (s *server) query(q string) [][]any {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	form := url.Values{"q": {q}, "db": {"yard"}}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+s.addr+"/query?"+form.Encode(), nil)
	require.NoError(s.t, err)
	res, err := http.DefaultClient.Do(req)
	require.NoError(s.t, err)
	defer res.Body.Close()
	var body struct {
		Results []struct {
			Series []struct{ Values [][]any }
			Error  string
		}
	}
	require.NoError(s.t, json.NewDecoder(res.Body).Decode(&body))
	require.Empty(s.t, body.Results[0].Error)
	if len(body.Results[0].Series) == 0 {
		return nil
	}
	return body.Results[0].Series[0].Values
}

// count is how many values of a field are stored.
func (s *server) count(measurement string) int {
	s.t.Helper()
	rows := s.query(`SELECT count("value") FROM "` + measurement + `"`)
	if len(rows) == 0 {
		return 0
	}
	return int(rows[0][1].(float64))
}
