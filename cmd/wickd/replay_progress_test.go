package main

import (
	"compress/gzip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// How far a replay is: in the site's zone, with its share and the time left.
func TestProgressSaysHowLongItTakes(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Zurich")
	require.NoError(t, err)
	began := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	first := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	p := progress{zone: zone, total: 40_000, began: began, lines: 10_000, first: first, last: first.Add(90 * time.Hour)}
	assert.Equal(t, "2026-06-04 20:00 CEST: 10000 messages, 4 days; 25 % done, about 60 seconds left", p.stands(began.Add(20*time.Second)))
	p.lines, p.of = p.lines*4, "what if, "
	assert.Regexp(t, "^what if, 2026", p.stands(began.Add(80*time.Second)))
	assert.NotContains(t, p.stands(began.Add(80*time.Second)), "left")
}

func TestLengthsAreSaidInWords(t *testing.T) {
	t.Parallel()
	for want, d := range map[string]time.Duration{
		"1 second": time.Second, "90 seconds": 90 * time.Second, "2 minutes": 2 * time.Minute, "3 hours": 190 * time.Minute,
		"47 hours": 47 * time.Hour, "2 days": 49 * time.Hour, "70 days": 70 * 24 * time.Hour,
	} {
		assert.Equal(t, want, timeTaken(d))
	}
}

func TestOneMessageIsNotSeveral(t *testing.T) {
	t.Parallel()
	var out strings.Builder
	at := time.Date(2026, 6, 1, 0, 30, 0, 0, time.UTC)
	p := progress{out: &out, lines: 1, first: at, last: at}
	p.done(newChronicle(false))
	assert.Regexp(t, `^1 message replayed in .* s; 0 alerts; no full hour`, out.String())
}

// A recording whose checksum is wrong is all there, and not to be trusted; one that
// is cut off ends early. Both are used.
func TestAWrongChecksumIsSaid(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	var packed strings.Builder
	z := gzip.NewWriter(&packed)
	for _, at := range []string{"00:10", "00:20", "03:20"} {
		_, err := z.Write([]byte(`{"tst":"2026-06-01T` + at + `:00Z","topic":"bench/p1/moisture","payload":"52.1"}` + "\n"))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	whole := packed.String()
	wrong := []byte(whole)
	wrong[len(wrong)-6] ^= 0xff // the checksum (RFC 1952 §2.3.1)
	said := func(tape string) string {
		path := filepath.Join(dir, "tape.gz")
		require.NoError(t, os.WriteFile(path, []byte(tape), 0o600))
		code, _, complaint := command(t, "replay", "-q", "--site", "testdata/bench/site.yaml", "--records", filepath.Join(dir, "out"), path)
		assert.Equal(t, exitDone, code)
		return complaint
	}
	assert.Empty(t, said(whole))
	told := said(string(wrong))
	assert.Contains(t, told, "its checksum is wrong, and values in it may be wrong, too; all that can be read of it is used, 3 messages")
	assert.NotContains(t, told, "ends in the middle")
	assert.Contains(t, said(whole[:len(whole)-8]), "ends in the middle")
}
