package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
)

func raisedAt(subject model.Subject, condition model.Condition, at time.Time) model.Transition {
	return model.Transition{Subject: subject, Condition: condition, Kind: model.Raised, Time: at}
}

func TestComparison(t *testing.T) {
	at := time.Date(2026, 6, 3, 10, 5, 0, 0, time.UTC)
	as := []model.Transition{
		raisedAt("reservoir/tank", "leak", at), raisedAt("bag/a1", "bag-dry", at), raisedAt("bag/a1", "bag-dry", at.Add(24*time.Hour)),
	}
	other := []model.Transition{raisedAt("bag/a1", "bag-dry", at.Add(time.Hour)), raisedAt("bag/a2", "bag-dry", at)}
	zone := time.FixedZone("two hours east", 2*3600)
	want := `as.yaml would have sent 3 alerts, if.yaml 2 alerts.

subject         condition  as.yaml                        if.yaml
bag/a1          bag-dry    2: 3 Jun 12:05, 4 Jun 12:05    1: 3 Jun 13:05
bag/a2          bag-dry    –                              1: 3 Jun 12:05
reservoir/tank  leak       1: 3 Jun 12:05                 –

Both were given the same readings, those of the site as it was: this compares what they make of
them, not what another build would have done.
`
	// The dash is three bytes and one column.
	got := comparison("as.yaml", as, "if.yaml", other, zone)
	assert.Equal(t, strings.Fields(want), strings.Fields(got))
	assert.Equal(t, "as.yaml would have sent no alert, if.yaml no alert.\n", comparison("as.yaml", nil, "if.yaml", nil, zone))
}

func TestChronicleTellsSentFromKeptBack(t *testing.T) {
	at := time.Date(2026, 6, 3, 10, 5, 0, 0, time.UTC)
	sent, kept := raisedAt("channel/a", "channel-dry", at), raisedAt("bag/a1", "bag-dry", at)
	sent.Occurrence, kept.Suppressed = "first", true
	end := model.Transition{Subject: sent.Subject, Condition: sent.Condition, Kind: model.Cleared, Time: at.Add(3 * time.Hour), Occurrence: "first"}
	story := newChronicle(false)
	story.Changed([]model.Transition{sent, kept, end})
	var told strings.Builder
	p := &progress{out: &told}
	p.done(story)
	assert.Contains(t, told.String(), "; 1 alert (and 1 kept back, for one of these explains it)")
	g := gallery{site: &model.Site{TimeZone: time.UTC}, story: story}
	assert.Equal(t, "to 3 June 13:05", g.until(story.raised[0]))
	story.hours = []model.Snapshot{{Time: at}}
	path, err := g.report(t.TempDir(), nil)
	require.NoError(t, err)
	page, err := os.ReadFile(path)
	require.NoError(t, err)
	alerts, back, ok := strings.Cut(string(page), "Kept back")
	require.True(t, ok)
	assert.Equal(t, 1, strings.Count(alerts, "3 June 10:05<br>"))
	assert.Equal(t, 1, strings.Count(back, "3 June 10:05<br>"))
}

func TestReplayComparesAndDraws(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	site, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	deaf := filepath.Join(dir, "deaf.yaml")
	require.NoError(t, os.WriteFile(deaf, []byte(string(site)+"\nalerts: {conditions: {wick-failing: {enabled: false}}}\n"), 0o600))
	pictures := filepath.Join(dir, "pictures")
	code, printed, complaint := command(t, "replay", "-q", "--site", "testdata/bench/site.yaml", "--what-if", deaf, "--plot", pictures,
		"--records", filepath.Join(dir, "out.ndjson"), "testdata/bench/capture.ndjson.gz")
	require.Equal(t, exitDone, code, complaint)
	assert.Contains(t, printed, "deaf.yaml")
	line := ""
	for _, l := range strings.Split(printed, "\n") {
		if strings.Contains(l, "wick-failing") {
			line = l
		}
	}
	assert.Regexp(t, `bag/p2 +wick-failing +1: .* +–`, line)
	page, err := os.ReadFile(filepath.Join(pictures, "index.html"))
	require.NoError(t, err)
	assert.Contains(t, string(page), "wicks of bag p2 are failing")
	assert.Contains(t, string(page), "still stands at the end")
	assert.Contains(t, string(page), "pressed into the mix", "what to do is in the report too")
	assert.NotContains(t, string(page), "Kept back", "nothing was")
	assert.Contains(t, complaint, "bench/truth.json.gz says was so is drawn")
	assert.Regexp(t, `the pictures and the records are of .*bench/site.yaml`, complaint)
	drawn, err := os.ReadFile(filepath.Join(pictures, "bag-p2.svg"))
	require.NoError(t, err)
	assert.Contains(t, string(drawn), ">10 Jun<", "the days are named")
	for _, name := range []string{"bag-p2.svg", "bag-p2.png"} {
		assert.Contains(t, string(page), "bag-p2.svg")
		info, err := os.Stat(filepath.Join(pictures, name))
		require.NoError(t, err)
		assert.Greater(t, info.Size(), int64(1000))
	}
	assert.NotContains(t, string(page), "http", "the report needs nothing from elsewhere")
	assert.False(t, foreignReport(pictures), "the next replay may write over it")

	require.NoError(t, os.WriteFile(filepath.Join(pictures, "index.html"), []byte("<p>my own page"), 0o600))
	code, _, complaint = command(t, "replay", "-q", "--site", "testdata/bench/site.yaml", "--plot", pictures, "--records", filepath.Join(dir, "out.ndjson"), "testdata/bench/capture.ndjson.gz")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "holds an index.html that no replay wrote")
}
