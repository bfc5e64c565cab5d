package main

import (
	"bytes"
	"compress/gzip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

// The simulation of the bench knows what was so; what a replay estimates of it
// from the readings must lie near, and the pictures say how near.
func TestPicturesShowWhatWasSo(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	code, _, complaint := command(t, "replay", "-q", "--site", "testdata/bench/site.yaml", "--plot", dir, "--truth", "testdata/bench/truth.json.gz",
		"--records", filepath.Join(dir, "out.ndjson"), "testdata/bench/capture.ndjson.gz")
	require.Equal(t, exitDone, code, complaint)
	assert.Empty(t, complaint, "it was asked for")
	bag, err := os.ReadFile(filepath.Join(dir, "bag-p1.svg"))
	require.NoError(t, err)
	said := letters(string(bag))
	assert.Contains(t, said, "Against the truth: water content off by 0.")
	assert.Regexp(t, `within the band at (8[5-9]|9\d|100)\x{a0}% of 7\d times`, said)
	assert.Contains(t, said, "Taken up: ")
	assert.Equal(t, 2, strings.Count(string(bag), ">truth<"), "of the water and of the uptake")
	tank, err := os.ReadFile(filepath.Join(dir, "reservoir-tank.svg"))
	require.NoError(t, err)
	assert.Contains(t, letters(string(tank)), "volume off by 0.")
}

// letters are the words of a picture in the order in which they are drawn.
func letters(svg string) string {
	var out []string
	for _, part := range strings.Split(svg, "</text>") {
		if _, element, ok := strings.Cut(part, "<text"); ok {
			_, words, _ := strings.Cut(element, ">")
			out = append(out, words)
		}
	}
	return strings.Join(out, " ")
}

func TestTruthIsRead(t *testing.T) {
	t.Parallel()
	site := &model.Site{Bags: []model.Bag{{ID: "a1"}, {ID: "a2"}}, Reservoirs: []model.Reservoir{{ID: "tank"}}}
	const good = `{"bags": ["a1", "a2"], "rows": [
		{"tst": "2026-06-01T08:00:00Z", "theta": [0.51, null], "uptake_l": [0, 0], "vol": 120},
		{"tst": "2026-06-02T08:00:00Z", "theta": [0.49, 0.5], "uptake_l": [1.2, 1.3], "vol": 108, "more": "is passed over"}]}`
	so, err := readTruth(written(t, good), site)
	require.NoError(t, err)
	assert.Equal(t, []float64{0.51, 0.49}, so.water["a1"].values)
	assert.Equal(t, []float64{0.5}, so.water["a2"].values)
	assert.Equal(t, []float64{120, 108}, so.volume.values)
	assert.InDeltaSlice(t, []float64{1.2}, so.uptake["a1"].perDay(24*time.Hour).values, 1e-12)
	assert.Empty(t, so.uptake["a1"].perDay(time.Hour).values, "a day's total says nothing of one hour")
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	_, err = z.Write([]byte(good))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	unpacked, err := readTruth(written(t, packed.String()), site)
	require.NoError(t, err)
	assert.Equal(t, so, unpacked)
	site.Reservoirs = append(site.Reservoirs, model.Reservoir{ID: "drum"})
	two, err := readTruth(written(t, good), site)
	require.NoError(t, err)
	assert.Empty(t, two.volume.values, "of which reservoir it is, the table does not say")

	for name, c := range map[string]struct{ from, to, want string }{
		"no JSON":        {good, "time,water", "it has to be one JSON object"},
		"no rows":        {good, `{"bags": ["a1"]}`, "it has no rows"},
		"cut packed":     {good, packed.String()[:30], "it has to be one JSON object"},
		"other bags":     {`"a1", "a2"`, `"z1", "z2"`, `none of its bags is of this site: it has "z1" and "z2"`},
		"bag twice":      {`"a1", "a2"`, `"a1", "a1"`, `bag "a1" is there twice`},
		"too few":        {`[0.49, 0.5]`, `[0.49]`, "row 2: theta has 1 figure for 2 bags"},
		"in per cent":    {`[0.49, 0.5]`, `[49, 50]`, "row 2: theta of a1 is 49; it has to lie between 0 and 1"},
		"negative":       {`"vol": 108`, `"vol": -5`, "row 2: vol is -5; it has to lie between 0 and 1e+06"},
		"EC in µS/cm":    {`"vol": 108`, `"ec": 1400`, "row 2: ec is 1400"},
		"a word":         {`"vol": 108`, `"vol": "full"`, "rows.vol is a string; it has to be"},
		"no figure":      {good, `{"bags": ["a1"], "rows": [{"tst": "2026-06-01T08:00:00Z", "thetta": [0.5]}]}`, "it has no figure that is drawn"},
		"empty list":     {`[0.49, 0.5]`, `[]`, "row 2: theta has 0 figures for 2 bags"},
		"yesterday":      {"2026-06-02T08:00:00Z", "yesterday", "is no time, such as 2026-06-01"},
		"more after it":  {good, good + "{}", "something stands after its JSON object"},
		"out of order":   {"2026-06-02", "2026-05-02", "row 2 is of 2026-05-02T08:00:00Z, no later than the row before it"},
		"no time at all": {`"tst": "2026-06-02T08:00:00Z", `, "", "row 2 is of 0001-01-01T00:00:00Z"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := readTruth(written(t, strings.Replace(good, c.from, c.to, 1)), site)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

// written is a file that holds text.
func written(t *testing.T, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "truth.json")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// A truth that was not asked for stops nothing; one that was must be good, and
// there must be pictures.
func TestTruthBesideTheRecording(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	tape, err := os.ReadFile("testdata/bench/capture.ndjson.gz")
	require.NoError(t, err)
	beside := filepath.Join(dir, "capture.ndjson.gz")
	require.NoError(t, os.WriteFile(beside, tape, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "truth.json"), []byte("{}"), 0o600))
	args := []string{"replay", "-q", "--site", "testdata/bench/site.yaml", "--records", filepath.Join(dir, "out.ndjson"), beside}
	code, _, complaint := command(t, append(args, "--plot", filepath.Join(dir, "pictures"))...)
	assert.Equal(t, exitDone, code)
	assert.Contains(t, complaint, "it has no rows")
	assert.Contains(t, complaint, "the pictures are drawn without it")
	code, _, complaint = command(t, append(args, "--plot", filepath.Join(dir, "others"), "--truth", filepath.Join(dir, "truth.json"))...)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "it has no rows")
	assert.NoDirExists(t, filepath.Join(dir, "others"))
	other := written(t, `{"bags": ["p1"], "rows": [{"tst": "2025-06-01T08:00:00Z", "theta": [0.5]}]}`)
	code, _, complaint = command(t, append(args, "--plot", filepath.Join(dir, "pictures"), "--truth", other)...)
	assert.Equal(t, exitDone, code)
	assert.Contains(t, complaint, "what was so is of 2025-06-01 to 2025-06-01, when nothing was recorded")
	code, _, complaint = command(t, append(args, "--truth", filepath.Join(dir, "truth.json"))...)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "--plot DIR")
}
