package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/ingest"
	"wickd/ingest/journal"
)

func TestMoment(t *testing.T) {
	zone := time.FixedZone("two hours east", 2*3600)
	tests := map[string]struct{ text, from, to string }{
		"a day":             {"2026-05-01", "2026-04-30T22:00:00Z", "2026-05-01T22:00:00Z"},
		"a minute":          {"2026-05-01 08:30", "2026-05-01T06:30:00Z", "2026-05-01T06:30:00Z"},
		"a second, with T":  {"2026-05-01T08:30:05", "2026-05-01T06:30:05Z", "2026-05-01T06:30:05Z"},
		"with its own zone": {"2026-05-01T08:30:00+05:00", "2026-05-01T03:30:00Z", "2026-05-01T03:30:00Z"},
		"universal time":    {"2026-05-01T08:30:00Z", "2026-05-01T08:30:00Z", "2026-05-01T08:30:00Z"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			var m moment
			require.NoError(t, m.UnmarshalText([]byte(tt.text)))
			assert.Equal(t, tt.from, m.from(zone).UTC().Format(time.RFC3339))
			assert.Equal(t, tt.to, m.to(zone).UTC().Format(time.RFC3339))
		})
	}
	assert.Zero(t, moment{}.from(zone))
	assert.Zero(t, moment{}.to(zone))
	for text, want := range map[string]string{
		"yesterday":        "for example 2026-06-01",
		"01.05.2026":       "for example 2026-06-01",
		"2026-02-30":       "there is no such day",
		"2026-05-01T25:00": "there is no such day or time",
		"":                 "no date or time",
	} {
		var m moment
		assert.ErrorContains(t, m.UnmarshalText([]byte(text)), want)
		assert.Zero(t, m)
	}
}

// The day on which the clocks are put forward has 23 hours, all of which are in
// it.
func TestADayOfTheSite(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Zurich")
	require.NoError(t, err)
	var m moment
	require.NoError(t, m.UnmarshalText([]byte("2026-03-29")))
	assert.Equal(t, 23*time.Hour, m.to(zone).Sub(m.from(zone)))
}

func TestExportOfADay(t *testing.T) {
	dir := t.TempDir()
	j, err := journal.Open(journal.Options{Dir: dir})
	require.NoError(t, err)
	for _, at := range []string{"2026-05-31T21:59:00Z", "2026-05-31T22:00:00Z", "2026-06-01T21:59:00Z", "2026-06-01T22:00:00Z"} {
		arrived, err := time.Parse(time.RFC3339, at)
		require.NoError(t, err)
		_, err = j.Append(t.Context(), []ingest.Entry{{Message: ingest.Message{Arrived: arrived, Topic: "yard/a", Payload: []byte(at)}}})
		require.NoError(t, err)
	}
	require.NoError(t, j.Close(context.Background()))
	content, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	site := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Replace(string(content), "timezone: UTC", "timezone: Europe/Zurich", 1)), 0o600))

	code, out, complaint := command(t, "export", "--data", dir, "--site", site, "--from", "2026-06-01", "--to", "2026-06-01")
	require.Equal(t, exitDone, code, complaint)
	assert.Empty(t, complaint)
	assert.Equal(t, 2, strings.Count(out, "\n"), out)
	assert.Contains(t, out, "2026-05-31T22:00:00Z")
	assert.Contains(t, out, "2026-06-01T21:59:00Z")

	code, out, complaint = command(t, "export", "--data", dir, "--site", site, "--from", "2026-07-01")
	require.Equal(t, exitDone, code)
	assert.Empty(t, out)
	assert.Equal(t, "note: nothing was received in that time; the journal holds messages from 2026-05-31T23:59:00+02:00 to 2026-06-02T00:00:00+02:00\n", complaint)
}
