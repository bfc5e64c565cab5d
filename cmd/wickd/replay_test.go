package main

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
	"wickd/model"
	"wickd/model/sim"
)

// Three days of the trial bench: the wicks of p2 lose contact, the probe of p3
// falls silent for a night, the tank gets low and is refilled. What a replay
// makes of it changes only on purpose: read the difference before -update.
func TestReplayOfTheBench(t *testing.T) {
	t.Parallel()
	const capture = "testdata/bench/capture.ndjson.gz"
	if *update {
		require.NoError(t, os.WriteFile(capture, recordBench(t), 0o644))
	}
	out := filepath.Join(t.TempDir(), "records.ndjson")
	code, printed, complaint := command(t, "replay", "--site", "testdata/bench/site.yaml", "--records", out, "-q", capture)
	require.Equal(t, exitDone, code, complaint)
	assert.Empty(t, printed)
	assert.Empty(t, complaint)
	records, err := os.ReadFile(out)
	require.NoError(t, err)
	// What went wrong is told, and nothing else: this no -update can change.
	assert.Equal(t, map[string]bool{
		"sensor-silent bag/p3/moisture": true, "reservoir-low reservoir/tank": true, "wick-failing bag/p2": true,
	}, raised(t, records))
	assert.Contains(t, string(records), `"condition":"wick-failing","subject":"bag/p2","transition":"raised","priority":"high","cause":"wick-lost-contact"`)
	golden(t, "bench/records.ndjson", rounded(string(records)))
}

// raised lists the alerts in records.
func raised(t *testing.T, records []byte) map[string]bool {
	t.Helper()
	found := map[string]bool{}
	for line := range bytes.Lines(records) {
		var r struct{ Record, Condition, Subject, Transition string }
		require.NoError(t, json.Unmarshal(line, &r))
		if r.Record == "alert" && r.Transition == "raised" {
			found[r.Condition+" "+r.Subject] = true
		}
	}
	return found
}

// longNumber is a number with a fraction, as a value of JSON.
var longNumber = regexp.MustCompile(`(:)(-?\d+\.\d+(?:e[-+]?\d+)?)([,}])`)

// rounded keeps five digits of every figure: processors differ in the last
// ones, where they fuse a multiplication and an addition, and readers do not
// care.
func rounded(records string) string {
	return longNumber.ReplaceAllStringFunc(records, func(s string) string {
		m := longNumber.FindStringSubmatch(s)
		v, err := strconv.ParseFloat(m[2], 64)
		if err != nil {
			return s
		}
		return m[1] + strconv.FormatFloat(v, 'g', 5, 64) + m[3]
	})
}

func recordBench(t *testing.T) []byte {
	t.Helper()
	c, err := config.Load("testdata/bench/site.yaml")
	require.NoError(t, err)
	start := time.Date(2026, 6, 8, 0, 0, 0, 0, time.UTC)
	at := func(hours float64) time.Time { return start.Add(time.Duration(hours * float64(time.Hour))) }
	world, err := sim.New(sim.Options{Site: c.Site, Seed: 11, Start: start, Fill: 0.28, Faults: []sim.Fault{
		{Kind: sim.WickLostContact, Subject: model.BagSubject("p2"), Start: at(34), Size: 0.05},
		{Kind: sim.ProbeSilent, Subject: model.BagSubject("p3").Sensor(model.Moisture), Start: at(20), End: at(30)},
	}})
	require.NoError(t, err)
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	for world.Now().Before(at(72)) {
		_, messages := world.Advance()
		for i, m := range messages {
			_, err := fmt.Fprintf(z, `{"tst":%q,"topic":%q,"qos":1,"retain":0,"payload":%q}`+"\n",
				m.Time.Add(time.Duration(i)*137*time.Millisecond).Format("2006-01-02T15:04:05.000Z07:00"), m.Topic, m.Payload)
			require.NoError(t, err)
		}
	}
	require.NoError(t, world.Err())
	require.NoError(t, z.Close())
	return packed.Bytes()
}

func TestReplayKeepsItsRecording(t *testing.T) {
	t.Parallel()
	const line = `{"tst":"2026-06-01T00:00:00Z","topic":"bench/p1/moisture","payload":"52.0"}` + "\n"
	file := filepath.Join(t.TempDir(), "capture.ndjson")
	require.NoError(t, os.WriteFile(file, []byte(line), 0o600))
	code, _, complaint := command(t, "replay", "--site", "testdata/bench/site.yaml", "--records", file, file)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "write over the recording")
	left, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, line, string(left))
}
