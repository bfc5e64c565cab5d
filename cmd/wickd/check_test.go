package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCheckReadsWell(t *testing.T) {
	t.Parallel()
	tests := map[string]string{
		"check-kestrel-yard.txt": "../../deploy/site.yaml",
		"check-weak.txt":         "testdata/weak.yaml",
	}
	for name, file := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, "check", file)
			require.Equal(t, exitDone, code, complaint)
			golden(t, name, out)
			for _, line := range strings.Split(out, "\n") {
				assert.LessOrEqual(t, len([]rune(line)), 120, "too wide for a terminal: %s", line)
			}
		})
	}
}

// A float valve costs most of what a level tells, and check says what.
func TestCheckSaysWhatAFloatValveCosts(t *testing.T) {
	t.Parallel()
	const full = "    full: 375 mm\n"
	file, err := os.ReadFile("../../deploy/site.yaml")
	require.NoError(t, err)
	require.Contains(t, string(file), full)
	site := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Replace(string(file), full, full+"    float_valve: true\n", 1)), 0o600))
	code, out, complaint := command(t, "check", site)
	require.Equal(t, exitDone, code, complaint)
	said := strings.Join(strings.Fields(out), " ")
	for _, lost := range []string{"neither what the bags drink nor a leak", "nor when it runs out", "the low and empty marks"} {
		assert.Contains(t, said, lost)
	}
}

// Whoever fills the channels has to know how often.
func TestCheckSaysHowOftenToFillChannels(t *testing.T) {
	t.Parallel()
	const full = "    full: 375 mm\n"
	file, err := os.ReadFile("../../deploy/site.yaml")
	require.NoError(t, err)
	site := filepath.Join(t.TempDir(), "site.yaml")
	text := strings.NewReplacer(full, full+"    feeds_at_times: true\n", "lift: 55 mm}", "lift: 55 mm, holds: 9 L}").Replace(string(file))
	require.NoError(t, os.WriteFile(site, []byte(text), 0o600))
	code, out, complaint := command(t, "check", site)
	require.Equal(t, exitDone, code, complaint)
	said := strings.Join(strings.Fields(out), " ")
	assert.Contains(t, said, "through the bright hours of peak days channel")
	assert.Contains(t, said, "hold 27 L more when they have just been filled")
	assert.Contains(t, said, "a small leak only over days")
}

// Of a level that nobody measures check promises nothing, however the reservoir is
// filled.
func TestCheckSaysWhatNoLevelTells(t *testing.T) {
	t.Parallel()
	const reservoir = "full: 300 mm, empty: 20 mm"
	file, err := os.ReadFile("testdata/weak.yaml")
	require.NoError(t, err)
	require.Contains(t, string(file), reservoir)
	for name, test := range map[string]struct{ fed, want string }{
		"all along":     {"", "nobody is told that it runs low, leaks or is empty"},
		"at times":      {", feeds_at_times: true", "nothing tells that they were filled: what is drunk is counted by the model of the bags"},
		"a float valve": {", float_valve: true", "nothing tells that the valve or its supply fails"},
	} {
		t.Run(name, func(t *testing.T) {
			site := filepath.Join(t.TempDir(), "site.yaml")
			text := strings.NewReplacer(reservoir, reservoir+test.fed, "mm}", "mm, holds: 9 L}", "1 %}", "1 %, holds: 9 L}").Replace(string(file))
			require.NoError(t, os.WriteFile(site, []byte(text), 0o600))
			code, out, complaint := command(t, "check", site)
			require.Equal(t, exitDone, code, complaint)
			said := strings.Join(strings.Fields(out), " ")
			assert.Contains(t, said, test.want)
			for _, promise := range []string{"level tells", "keeps its level", "still watched"} {
				assert.NotContains(t, said, promise)
			}
		})
	}
}

// A target that nobody measures is said to be none that is watched, and what would
// have it watched is a line that the file takes.
func TestCheckSaysWhichTargetNobodyMeasures(t *testing.T) {
	t.Parallel()
	const reservoir = "full: 300 mm, empty: 20 mm"
	file, err := os.ReadFile("testdata/weak.yaml")
	require.NoError(t, err)
	said := func(more string) string {
		site := filepath.Join(t.TempDir(), "site.yaml")
		require.NoError(t, os.WriteFile(site, []byte("mqtt: {broker: \"tcp://127.0.0.1:1883\"}\n"+strings.Replace(string(file), reservoir, reservoir+more, 1)), 0o600))
		code, out, complaint := command(t, "check", site)
		require.Equal(t, exitDone, code, complaint)
		return strings.Join(strings.Fields(out), " ")
	}
	const (
		ec = `ec: {topic: "yard/{id}/ec", unit: mS/cm}`
		ph = `ph: {topic: "yard/{id}/ph", unit: pH}`
	)
	assert.NotContains(t, said(""), "Its target")
	assert.Contains(t, said(", target: {ec: 1.4 mS/cm, ph: 5.8}"), "Its target states its EC and pH, which no sensor measures: no alert tells when that is off, and the salt in its bags is counted as if the EC were on target. To have it watched, add to its sensors "+ec+" and "+ph+".")
	assert.Contains(t, said(", target: {ec: 1.4 mS/cm, ph: 5.8}, sensors: {"+ec+"}"), "Its target states its pH, which no sensor measures: no alert tells when that is off. To have it watched, add to its sensors "+ph+".")
	assert.NotContains(t, said(", target: {ec: 1.4 mS/cm, ph: 5.8}, sensors: {"+ec+", "+ph+"}"), "Its target")
}

// What plants drink under lamps is part of what check and size work out, and is named.
func TestLampsArePartOfTheDemand(t *testing.T) {
	t.Parallel()
	file, err := os.ReadFile("testdata/weak.yaml")
	require.NoError(t, err)
	lit := filepath.Join(t.TempDir(), "lit.yaml")
	text := strings.Replace(string(file), "\nmedia:\n", "\nlamps: {radiation: 40 W/m2, hours: [\"05:00-08:00\", \"16:00-22:00\"]}\nmedia:\n", 1)
	require.NoError(t, os.WriteFile(lit, []byte(text), 0o600))
	said := func(args ...string) string {
		code, out, complaint := command(t, args...)
		require.Equal(t, exitDone, code, complaint)
		return strings.Join(strings.Fields(out), " ")
	}
	dark := said("check", "testdata/weak.yaml")
	assert.NotContains(t, dark, "lamps")
	assert.Contains(t, dark, "8.6 days for its 6 bags at peak demand (15.7 L a day)")
	under := said("check", lit)
	assert.Contains(t, under, "0.25 mm by the lamps")
	assert.Contains(t, under, "8.0 days for its 6 bags at peak demand (16.7 L a day)")
	size := []string{"size", "--crop", "strawberry", "--plants", "50", "--per-bag", "5", "--month", "December"}
	assert.NotContains(t, said(append(size, "--site", "testdata/weak.yaml")...), "lamps 0")
	for _, place := range [][]string{nil, {"--latitude", "47"}} {
		assert.Contains(t, said(append(append(size, "--site", lit), place...)...), "lamps 0.21 mm of it site file")
	}
}

// What no probe watches, check says.
func TestCheckSaysWhichBagsNobodyWatches(t *testing.T) {
	t.Parallel()
	code, out, complaint := command(t, "check", "../../deploy/site.yaml")
	require.Equal(t, exitDone, code, complaint)
	assert.NotContains(t, out, "without a moisture probe")
	file, err := os.ReadFile("../../deploy/site.yaml")
	require.NoError(t, err)
	lines := strings.Split(string(file), "\n")
	var kept []string
	for _, line := range lines {
		if !strings.Contains(line, "moisture: {") {
			kept = append(kept, line)
		}
	}
	require.Less(t, len(kept), len(lines))
	site := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Join(kept, "\n")), 0o600))
	code, out, complaint = command(t, "check", site)
	require.Equal(t, exitDone, code, complaint)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "without a moisture probe nobody is told that a bag dries out")
}

// A day of planting that lies ahead may be next week's plan and may be a wrong
// year: check says where it stands, and goes on.
func TestCheckWarnsOfADayAhead(t *testing.T) {
	t.Parallel()
	const planted = "planted: 2026-04-10"
	file, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	require.Contains(t, string(file), planted)
	site := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Replace(string(file), planted, "planted: 2099-04-10\n    flushed: 2020-01-02", 1)), 0o600))
	code, out, complaint := command(t, "check", site)
	require.Equal(t, exitDone, code, complaint)
	assert.NotEmpty(t, out)
	assert.Contains(t, complaint, "site.yaml:38:14: bags[0].planted: 2099-04-10 lies ahead, until then the plants are taken for newly planted ones; is it the right year?")
	assert.NotContains(t, complaint, "flushed")
	code, out, _ = command(t, "check", "--json", site)
	require.Equal(t, exitDone, code)
	assert.Contains(t, out, "2099-04-10 lies ahead")
}

// The keys that other programs rely on, and the pictures of a kind of bag.
func TestCheckForMachines(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	code, out, complaint := command(t, "check", "--json", "--plot", dir, "testdata/slope.yaml")
	require.Equal(t, exitDone, code, complaint)
	var got struct {
		OK         bool
		Bags       []map[string]any
		Reservoirs []map[string]any
		Pictures   []string
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	assert.True(t, got.OK)
	require.Len(t, got.Bags, 3)
	for _, b := range got.Bags {
		for _, key := range []string{"id", "volume_l", "height_mm", "equilibrium_water_content", "easily_available_l", "wick_supply_l_per_day", "peak_demand_l_per_day", "buffer_hours"} {
			assert.Contains(t, b, key, b["id"])
		}
	}
	require.Len(t, got.Reservoirs, 1)
	for _, key := range []string{"id", "usable_l", "days_at_peak"} {
		assert.Contains(t, got.Reservoirs[0], key)
	}
	require.Len(t, got.Bags[2]["advice"], 1, "the last bag down the slope")
	assert.Equal(t, "wicks-cannot-keep-up", got.Bags[2]["advice"].([]any)[0].(map[string]any)["kind"])
	require.Len(t, got.Pictures, 3*2, "one kind of bag, three pictures, two forms")
	for _, p := range got.Pictures {
		info, err := os.Stat(p)
		require.NoError(t, err)
		assert.Greater(t, info.Size(), int64(2000), p)
		assert.Equal(t, dir, filepath.Dir(p))
	}
}

func TestCheckSaysWhatIsWrongWithTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(path, []byte("site: {name: Kestrel Yard}\nbagz: []\n"), 0o600))
	code, out, complaint := command(t, "check", path)
	assert.Equal(t, exitFailed, code)
	assert.Empty(t, out)
	assert.Contains(t, complaint, "site.yaml:2:1: ")
	code, out, _ = command(t, "check", "--json", path)
	assert.Equal(t, exitFailed, code)
	var got struct {
		OK       bool
		Problems []map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	assert.False(t, got.OK)
	assert.NotEmpty(t, got.Problems)
	code, _, complaint = command(t, "check", path+".not")
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "read site file")
	code, _, _ = command(t, "check")
	assert.Equal(t, exitUsage, code)
}

func TestBagsAreNamedInShort(t *testing.T) {
	tests := map[string]struct {
		ids  []string
		want string
	}{
		"one":        {[]string{"a1"}, "a1"},
		"two":        {[]string{"a1", "a2"}, "a1, a2"},
		"a row":      {[]string{"a8", "a9", "a10"}, "a8–a10"},
		"a gap":      {[]string{"a1", "a2", "a4"}, "a1, a2 and a4"},
		"two stems":  {[]string{"a1", "b2", "b3"}, "a1, b2 and b3"},
		"no numbers": {[]string{"left", "middle", "right"}, "left, middle and right"},
		"many":       {[]string{"a", "b", "c", "d", "e", "f", "g", "h"}, "a, b, c, d, e, f and 2 more"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, span(c.ids)) })
	}
}

// Secrets are looked at where the site file names them: what is missing, what
// everybody can read, and what can be no address. The file is in order all the
// same: it may be meant for another machine.
func TestCheckLooksAtSecrets(t *testing.T) {
	t.Parallel()
	site := told(t, "notify:\n  heartbeat: {url_file: beat}\n  recipients:", map[string]string{
		"good": "ntfy://push.example/s3cret", "bare": "s3cret", "half": "smtp://s3cret@",
	})
	dir := filepath.Dir(site)
	require.NoError(t, os.Chmod(filepath.Join(dir, "good-url"), 0o644))
	require.NoError(t, os.Remove(filepath.Join(dir, "half-url")))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "beat"), []byte("s3cret"), 0o600))
	code, out, complaint := command(t, "check", site)
	require.Equal(t, exitDone, code, complaint)
	assert.NotEmpty(t, out)
	for _, want := range []string{
		"notify.recipients.good.url_file: anybody on this machine can read " + dir + "/good-url, run: chmod 600 ",
		"notify.recipients.bare.url_file: what it holds names no service",
		"notify.recipients.half.url_file: there is no file " + dir + "/half-url, write the secret into it",
		"notify.heartbeat.url_file: what it holds is no URL",
	} {
		assert.Contains(t, complaint, want)
	}
	assert.Equal(t, 4, strings.Count(complaint, "warning: "), complaint)
	assert.NotContains(t, out+complaint, "s3cret")
	code, out, _ = command(t, "check", "--json", site)
	require.Equal(t, exitDone, code)
	assert.Contains(t, out, "half.url_file")
	assert.NotContains(t, out, "s3cret")

	require.NoError(t, os.WriteFile(filepath.Join(dir, "half-url"), []byte("smtp://s3cret@"), 0o600))
	_, _, complaint = command(t, "check", site)
	assert.Contains(t, complaint, "notify.recipients.half.url_file: what it holds is not a whole address of smtp")
	assert.NotContains(t, complaint, "s3cret")
}
