package main

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/model"
	"wickd/model/design"
)

func raisedAt(subject model.Subject, condition model.Condition, at time.Time) model.Transition {
	return model.Transition{Subject: subject, Condition: condition, Kind: model.Raised, Time: at, Occurrence: string(condition) + "|" + string(subject) + "|" + at.String()}
}

// senderOf is a site file that would have sent alerts, each for an hour, but the last.
func senderOf(file string, raised ...model.Transition) sender {
	story := newChronicle(false)
	story.Changed(raised)
	for i, t := range raised {
		if i < len(raised)-1 {
			story.cleared[t.Occurrence] = t.Time.Add(time.Hour)
		}
	}
	return sender{file, story}
}

// What differs is marked, from when until when is said in the site's zone, and
// nothing is wider than a screen of 80 columns.
func TestComparison(t *testing.T) {
	at := time.Date(2026, 6, 3, 10, 5, 0, 0, time.UTC)
	warm := raisedAt("reservoir/tank", "solution-warm", at)
	as := senderOf("as.yaml", raisedAt("bag/a1", "bag-dry", at), warm, raisedAt("bag/a1", "bag-dry", at.Add(24*time.Hour)))
	other := senderOf("if.yaml", raisedAt("bag/a1", "bag-dry", at.Add(time.Hour)), warm, raisedAt("bag/a2/moisture", "sensor-implausible", at))
	zone := time.FixedZone("Two/Hours_east", 2*3600)
	want := `A, as.yaml, would have sent 3 alerts,
B, if.yaml, 3 alerts.
An asterisk marks what differs; times: Two/Hours_east.

* bag a1: bag dry (bag-dry)
    A     3 Jun 12:05 to 3 Jun 13:05
          4 Jun 12:05 to the end
    B     3 Jun 13:05 to 3 Jun 14:05
* moisture probe of bag a2: sensor implausible (sensor-implausible)
    A     none
    B     3 Jun 12:05 to the end
  reservoir tank: solution too warm (solution-warm)
    A, B  3 Jun 12:05 to 3 Jun 13:05

Both were given the same readings, those of the site as it was: this compares
what they make of them, not what another build would have done.
`
	assert.Equal(t, want, comparison(as, other, zone))
	for line := range strings.Lines(want) {
		assert.LessOrEqual(t, len(line), 80)
	}
	none := senderOf("if.yaml")
	assert.Equal(t, "A, as.yaml, would have sent no alert,\nB, if.yaml, no alert.\n", comparison(senderOf("as.yaml"), none, zone))
	var often []model.Transition
	for i := range 6 {
		often = append(often, raisedAt("bag/a1", "bag-dry", at.Add(time.Duration(i)*24*time.Hour)))
	}
	assert.Contains(t, comparison(senderOf("as.yaml", often...), none, zone), "5 Jun 13:05\n          and 3 more\n    B     none")
	// However many they agree on, what differs is seen.
	assert.Contains(t, comparison(senderOf("as.yaml", often...), senderOf("if.yaml", often[:5]...), zone),
		"and 1 more\n    A     7 Jun 12:05 to 7 Jun 13:05\n          8 Jun 12:05 to the end\n    B     7 Jun 12:05 to the end\n")
}

// A site file that cannot explain a recording makes alerts of what it cannot explain: it
// is said by what. One that explains it as well is left alone, whatever it sends.
func TestComparisonSaysWhatDoesNotFit(t *testing.T) {
	at := time.Date(2026, 6, 3, 10, 5, 0, 0, time.UTC)
	probed := func(s sender, health ...float64) sender {
		site := &model.Site{}
		for i, h := range health {
			id := "a" + strconv.Itoa(i+1)
			site.Bags = append(site.Bags, model.Bag{ID: id, Moisture: &model.Sensor{}})
			s.last.Bags = append(s.last.Bags, model.BagEstimate{Bag: id, WickHealth: model.Measured{Value: h, Quality: model.Fresh}})
		}
		s.physics = &design.Site{Site: site}
		return s
	}
	resets := func(s sender, n int) sender {
		s.resets = n
		return s
	}
	idle := []model.Transition{raisedAt("bag/a1", "bag-not-drinking", at), raisedAt("bag/a2", "bag-not-drinking", at), raisedAt("bag/a3", "bag-not-drinking", at)}
	dry := []model.Transition{raisedAt("bag/a1", "bag-dry", at), raisedAt("bag/a2", "bag-dry", at), raisedAt("bag/a3", "bag-dry", at)}
	as := probed(senderOf("as.yaml"), 1, 1, 0.1)
	for name, test := range map[string]struct {
		other sender
		want  []string
	}{
		"fits":            {probed(senderOf("if.yaml", dry...), 1.2, 1, 0.1), nil},
		"nothing drinks":  {probed(senderOf("if.yaml", idle...), 1, 1, 0.1), []string{"it has plants not drinking in every bag, A in none"}},
		"some do":         {probed(senderOf("if.yaml", idle[:2]...), 1, 1, 0.1), nil},
		"strong wicks":    {probed(senderOf("if.yaml"), 2, 2.1, 0.2), []string{"its wicks lift 2.0 times what their figures say, A's 1.0 times"}},
		"weak wicks":      {probed(senderOf("if.yaml"), 0.5, 0.4, 0.1), []string{"its wicks lift 0.4 times what their figures say, A's 1.0 times"}},
		"begins afresh":   {resets(probed(senderOf("if.yaml"), 1, 1, 0.1), 5), []string{"it had to begin afresh 5 times with a bag or a reservoir, A never"}},
		"nothing is told": {probed(senderOf("if.yaml")), nil},
	} {
		assert.Equal(t, test.want, misfit(as, test.other), name)
	}
	assert.Empty(t, misfit(probed(senderOf("as.yaml", idle[:1]...), 1, 1, 0.1), probed(senderOf("if.yaml", idle...), 1, 1, 0.1)), "it may be so")
	text := comparison(as, probed(senderOf("if.yaml", idle...), 2, 2.1, 0.2), time.UTC)
	assert.Contains(t, strings.Join(strings.Fields(text), " "), "not what another build would have done. B does not fit this recording as well as A does: it has plants not drinking in every bag, A in none; its wicks lift")
	for line := range strings.Lines(text) {
		assert.LessOrEqual(t, len(line), 81)
	}
}

func TestReplayTellsASiteFileThatDoesNotFit(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	site, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	thin := filepath.Join(dir, "thin.yaml")
	require.NoError(t, os.WriteFile(thin, []byte(strings.Replace(string(site), "section: 6 cm2", "section: 0.5 cm2", 1)), 0o600))
	code, printed, complaint := command(t, "replay", "-q", "--site", "testdata/bench/site.yaml", "--what-if", thin,
		"--records", filepath.Join(dir, "out.ndjson"), "testdata/bench/capture.ndjson.gz")
	require.Equal(t, exitDone, code, complaint)
	assert.Regexp(t, `does not fit this recording as well as A does: it has plants not drinking in every bag, A in none; its wicks lift \d`, strings.Join(strings.Fields(printed), " "))
}

func TestFilesOfOneNameAreToldApart(t *testing.T) {
	a, b := tails("/far/away/site.yaml", "/far/away/if.yaml")
	assert.Equal(t, []string{"site.yaml", "if.yaml"}, []string{a, b})
	a, b = tails("/far/away/now/site.yaml", "/far/away/then/site.yaml")
	assert.Equal(t, []string{"now/site.yaml", "then/site.yaml"}, []string{a, b})
	a, b = tails("/now/site.yaml", "/now/site.yaml")
	assert.Equal(t, []string{"site.yaml", "site.yaml"}, []string{a, b})
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
	g := gallery{site: &model.Site{TimeZone: time.FixedZone("Two/Hours_east", 2*3600)}, story: story}
	assert.Equal(t, "to 3 June 15:05", g.ended(story.raised[0]))
	assert.Equal(t, "still stands at the end", g.ended(story.hidden[0]))
	story.hours = []model.Snapshot{{Time: at}}
	path, err := g.report(t.TempDir(), nil)
	require.NoError(t, err)
	page, err := os.ReadFile(path)
	require.NoError(t, err)
	alerts, back, ok := strings.Cut(string(page), "Kept back")
	require.True(t, ok)
	assert.Equal(t, 1, strings.Count(alerts, "3 June 12:05<br>"))
	assert.Equal(t, 1, strings.Count(back, "3 June 12:05<br>"))
	assert.Contains(t, alerts, "(times: Two/Hours_east)")

	later := kept
	later.Suppressed, later.Time = false, at.Add(time.Hour)
	story.Changed([]model.Transition{later})
	assert.Equal(t, "to 3 June 13:05, when it was sent", g.ended(story.hidden[0]))
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
	assert.Contains(t, printed, "B, deaf.yaml, 2 alerts.")
	assert.NotContains(t, printed, "does not fit", "one alert that is turned off changes no model")
	assert.Regexp(t, `\* bag p2: wicks failing \(wick-failing\)\n +A +\d.* to the end\n +B +none\n`, printed)
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
