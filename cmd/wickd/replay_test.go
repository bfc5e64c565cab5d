package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
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
		tape, truth := recordBench(t)
		require.NoError(t, os.WriteFile(capture, tape, 0o644))
		require.NoError(t, os.WriteFile("testdata/bench/truth.json.gz", truth, 0o644))
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

// recordBench simulates the bench: what its sensors sent, and what was so on
// every hour.
func recordBench(t *testing.T) (tape, truth []byte) {
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
	var table truthTable
	for _, b := range c.Site.Bags {
		table.Bags = append(table.Bags, b.ID)
	}
	for world.Now().Before(at(72)) {
		if now := world.Now(); now.Equal(now.Truncate(time.Hour)) {
			table.Rows = append(table.Rows, truthOnTheHour(world.Truth()))
		}
		_, messages := world.Advance()
		for i, m := range messages {
			_, err := fmt.Fprintf(z, `{"tst":%q,"topic":%q,"qos":1,"retain":0,"payload":%q}`+"\n",
				m.Time.Add(time.Duration(i)*137*time.Millisecond).Format("2006-01-02T15:04:05.000Z07:00"), m.Topic, m.Payload)
			require.NoError(t, err)
		}
	}
	require.NoError(t, world.Err())
	require.NoError(t, z.Close())
	tape = bytes.Clone(packed.Bytes())
	packed.Reset()
	z.Reset(&packed)
	require.NoError(t, json.NewEncoder(z).Encode(table))
	require.NoError(t, z.Close())
	return tape, packed.Bytes()
}

func truthOnTheHour(so sim.Truth) truthRow {
	row := truthRow{Time: so.Time}
	for _, b := range so.Bags {
		row.Water, row.Uptake = append(row.Water, &b.WaterContent), append(row.Uptake, &b.Uptake)
	}
	r := so.Reservoirs[0]
	row.Volume, row.Leaked, row.EC, row.PH = &r.Volume, &r.Leaked, &r.EC, &r.PH
	return row
}

func TestReplayKeepsWhatItReads(t *testing.T) {
	t.Parallel()
	const line = `{"tst":"2026-06-01T00:00:00Z","topic":"bench/p1/moisture","payload":"52.0"}` + "\n"
	dir := t.TempDir()
	tape, site, other := filepath.Join(dir, "capture.ndjson"), filepath.Join(dir, "site.yaml"), filepath.Join(dir, "other.yaml")
	bench, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	holds := map[string]string{tape: line, site: string(bench), other: string(bench)}
	for name, text := range holds {
		require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	}
	for name, what := range map[string]string{tape: "the recording itself", site: "the site file", other: "the site file of --what-if"} {
		code, _, complaint := command(t, "replay", "--site", site, "--what-if", other, "--records", name, tape)
		assert.Equal(t, exitUsage, code)
		assert.Contains(t, complaint, "write over "+what+";")
		left, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, holds[name], string(left))
	}
	own := filepath.Join(dir, "notes.txt")
	require.NoError(t, os.WriteFile(own, []byte("flushed b2 on Monday\n"), 0o600))
	code, _, complaint := command(t, "replay", "--site", site, "--records", own, tape)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "which holds no records of a replay; name another file")
	for _, mine := range []string{"", `{"record":"bag"}` + "\n"} {
		require.NoError(t, os.WriteFile(own, []byte(mine), 0o600))
		assert.False(t, foreignRecords(own), "%q", mine)
	}
	code, _, complaint = command(t, "replay", "--site", site, "--records", "", tape)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "--records is empty")
}

// What stands under the name of the records stays what it is: a link goes on to
// lead to its file, and a device or a pipe takes what is written.
func TestRecordsGoWhereTheNameLeads(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	write := func(name, text string) error {
		r, err := createRecords(name, io.Discard)
		if err != nil {
			return err
		}
		defer r.discard()
		if _, err := r.WriteString(text); err != nil {
			return err
		}
		return r.keep()
	}
	file, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	require.NoError(t, os.WriteFile(file, []byte("before"), 0o600))
	require.NoError(t, os.Symlink(file, link))
	require.NoError(t, write(link, "after"))
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "after", string(text))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.Equal(t, os.ModeSymlink, info.Mode().Type())

	pipe := filepath.Join(dir, "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	came := make(chan string)
	go func() {
		text, _ := os.ReadFile(pipe)
		came <- string(text)
	}()
	require.NoError(t, write(pipe, "through"))
	assert.Equal(t, "through", <-came)
	info, err = os.Lstat(pipe)
	require.NoError(t, err)
	assert.Equal(t, os.ModeNamedPipe, info.Mode().Type())

	err = write(filepath.Join(dir, "none", "records"), "nowhere")
	require.ErrorIs(t, err, os.ErrNotExist)
	assert.NotContains(t, err.Error(), ".part")
	assert.Contains(t, err.Error(), "name a file in a directory that you may write to")
}

// A probe that never sent has no picture, and costs nobody the others.
func TestPicturesWithoutADeadProbe(t *testing.T) {
	t.Parallel()
	packed, err := os.Open("testdata/bench/capture.ndjson.gz")
	require.NoError(t, err)
	defer packed.Close()
	tape, err := gzip.NewReader(packed)
	require.NoError(t, err)
	text, err := io.ReadAll(tape)
	require.NoError(t, err)
	var kept []string
	for line := range strings.Lines(string(text)) {
		if !strings.Contains(line, `"bench/p3/`) && !strings.Contains(line, `"bench/p3"`) {
			kept = append(kept, line)
		}
	}
	dir := t.TempDir()
	capture, pictures := filepath.Join(dir, "capture.ndjson"), filepath.Join(dir, "pictures")
	require.NoError(t, os.WriteFile(capture, []byte(strings.Join(kept, "")), 0o644))
	own := filepath.Join(pictures, "bag-notes.png")
	require.NoError(t, os.Mkdir(pictures, 0o755))
	require.NoError(t, os.WriteFile(own, nil, 0o644))
	again := func(capture string) string {
		code, _, complaint := command(t, "replay", "-q", "--site", "testdata/bench/site.yaml", "--plot", pictures, "--records", filepath.Join(dir, "out.ndjson"), capture)
		require.Equal(t, exitDone, code, complaint)
		return complaint
	}
	again("testdata/bench/capture.ndjson.gz")
	require.FileExists(t, filepath.Join(pictures, "bag-p3.png"))
	complaint := again(capture)
	assert.NoFileExists(t, filepath.Join(pictures, "bag-p3.png"), "it is of the replay before")
	assert.FileExists(t, own)
	assert.Contains(t, complaint, "no picture of Bag p3: nothing was heard of it")
	assert.FileExists(t, filepath.Join(pictures, "bag-p2.svg"))
	assert.NoFileExists(t, filepath.Join(pictures, "bag-p3.svg"))
	report, err := os.ReadFile(filepath.Join(pictures, reportName))
	require.NoError(t, err)
	assert.NotContains(t, string(report), "bag-p3")
}

// Whoever stops a replay is told so in words, and finds nothing half-done.
func TestAReplayThatIsStopped(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	out := filepath.Join(t.TempDir(), "records.ndjson")
	var printed, complaint bytes.Buffer
	code := execute(ctx, []string{"replay", "--site", "testdata/bench/site.yaml", "--records", out, "-q", "testdata/bench/capture.ndjson.gz"},
		console{out: &printed, err: &complaint, scratch: &scratch{}})
	assert.Equal(t, exitFailed, code)
	assert.Equal(t, "wickd: stopped before it was done\n", complaint.String())
	assert.NoFileExists(t, out)
}
