package main

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/web"
	"wickd/model"
	"wickd/model/solution"
)

// topUpArgs fill the Kestrel Yard tank up with hard tap water.
func topUpArgs() []string {
	return []string{
		"mix", "top-up", "--volume", "120L", "--ec", "1.6mS/cm", "--ph", "6.4", "--full", "200L", "--target-ec", "1.4mS/cm", "--target-ph", "5.8",
		"--water-ec", "0.4mS/cm", "--alkalinity", "3meq/L", "--stock", "A=0.11", "--stock", "B=0.09", "--acid", "phosphoric 85%",
	}
}

// onlyPH corrects nothing but the pH.
func onlyPH(pH string, more ...string) []string {
	return append([]string{"mix", "correct", "--volume", "120L", "--ec", "1.4mS/cm", "--ph", pH, "--target-ph", "5.8"}, more...)
}

func recipeArgs() []string {
	return []string{"mix", "recipe", "--target", "K 6, Ca 4, Mg 2, NH4 1, P 1, S 2", "--traces", "Fe 1.5, Mn 0.5, B 0.3"}
}

func TestMixText(t *testing.T) {
	stocks := recipeStocks(t)
	tests := map[string][]string{
		"top-up":     topUpArgs(),
		"recipe":     recipeArgs(),
		"recipe-tap": {"mix", "recipe", "--target", "K 4, Ca 3, Mg 1.5, NH4 0.8, P 1, S 1.5", "--water", "Ca 1.5, Mg 0.3, Na 0.4, Cl 0.4, S 0.3, HCO3 3", "--tank", "20L", "--dilution", "200"},
		"change":     {"mix", "change", "--to", "200L", "--target-ec", "1.4mS/cm", "--target-ph", "5.8", "--water-ec", "0.55mS/cm", "--alkalinity", "10°dH", "--stocks", stocks, "--acid", "nitric 38%"},
		"thin":       {"mix", "correct", "--volume", "195L", "--full", "200L", "--ec", "2.1mS/cm", "--target-ec", "1.4mS/cm", "--water-ec", "0.3mS/cm"},
		"raise-ph":   {"mix", "correct", "--volume", "120L", "--ec", "1.4mS/cm", "--ph", "5.0", "--target-ph", "5.8", "--base", "potassium bicarbonate"},
		"unseen":     {"mix", "correct", "--volume", "120L", "--ec", "1.4mS/cm", "--ph", "6.5", "--target-ph", "5.8", "--acid", "nitric 38%", "--ph-before", "6.5", "--given", "0.6mL"},
		"no-acid":    {"mix", "change", "--to", "100L", "--target-ec", "1.4mS/cm", "--target-ph", "5.8", "--alkalinity", "3meq/L", "--stock", "A=0.11", "--stock", "B=0.09"},
	}
	for name, args := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, args...)
			require.Zero(t, code, complaint)
			golden(t, "mix/"+name+".txt", out)
		})
	}
}

// recipeStocks is a file of what mix recipe --json prints.
func recipeStocks(t *testing.T) string {
	code, out, complaint := command(t, append(recipeArgs(), "--json")...)
	require.Zero(t, code, complaint)
	path := filepath.Join(t.TempDir(), "stocks.json")
	require.NoError(t, os.WriteFile(path, []byte(out), 0o600))
	return path
}

// What is nearer to its target than can be measured need not be touched.
func TestMixSaysWhatIsNearEnough(t *testing.T) {
	const enough = "left alone it is as good"
	for ec, near := range map[string]bool{"1.81mS/cm": true, "1.78mS/cm": true, "1.95mS/cm": false} {
		_, out, complaint := command(t, "mix", "correct", "--volume", "120L", "--full", "200L", "--ec", ec, "--target-ec", "1.8mS/cm", "--water-ec", "0.4mS/cm", "--stock", "A=0.11", "--stock", "B=0.09")
		require.Empty(t, complaint)
		assert.Equal(t, near, strings.Contains(strings.Join(strings.Fields(out), " "), enough), ec)
	}
}

// Whatever names acid, base or concentrate comes with the caution for it, in
// words and for machines.
func TestMixCautions(t *testing.T) {
	lye := []string{"mix", "correct", "--volume", "120L", "--ec", "1.4mS/cm", "--ph", "5.0", "--target-ph", "5.8", "--base", "potassium hydroxide 10%"}
	tests := map[string]struct {
		args []string
		want []string
	}{
		"acid and concentrates": {topUpArgs(), []string{careAcid, careConcentrate, careEyes, careMains, careCode}},
		"base":                  {lye, []string{careBase, careEyes, careCode}},
		"recipe":                {recipeArgs(), []string{careConcentrate, careSalts, careEyes, careCode}},
		"recipe for hard water": {append(recipeArgs(), "--water", "Ca 1, HCO3 2"), []string{careConcentrate, careAcid, careSalts, careEyes, careCode}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			_, out, _ := command(t, tt.args...)
			text := strings.Join(strings.Fields(out), " ")
			code, out, _ := command(t, append(tt.args, "--json")...)
			require.Zero(t, code)
			var doc struct{ Cautions []string }
			require.NoError(t, json.Unmarshal([]byte(out), &doc))
			assert.Equal(t, tt.want, doc.Cautions)
			for _, care := range tt.want {
				assert.Contains(t, text, care)
			}
		})
	}
}

// The command that a plan ends with runs as it is printed, with what was measured
// in its place.
func TestMixFollowUpRuns(t *testing.T) {
	_, out, _ := command(t, append(topUpArgs(), "--json")...)
	var doc mixDocument
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.NotNil(t, doc.Reagent)
	line, acid, ok := strings.Cut(doc.Then, "--acid ")
	require.True(t, ok)
	args := append(strings.Fields(strings.Replace(line, "MEASURED", "6.3", 1))[1:], "--acid", strings.Trim(acid, "'"), "--json")
	code, out, complaint := command(t, args...)
	require.Zero(t, code, complaint)
	var rest mixDocument
	require.NoError(t, json.Unmarshal([]byte(out), &rest))
	require.NotNil(t, rest.Reagent)
	// About as much is left as went in first: the pH was about as foretold.
	assert.InEpsilon(t, doc.Reagent.First, rest.Reagent.Amount, 0.4)
	assert.Empty(t, rest.Doses)
}

// While nobody knows what a solution holds, the dose is small, no figure of the
// outcome is promised, and the next command says what was given.
func TestMixDoesNotTrustAHighPH(t *testing.T) {
	args := []string{"mix", "correct", "--volume", "120L", "--ec", "0.05mS/cm", "--ph", "9.0", "--target-ph", "5.8", "--acid", "sulfuric 96%", "--json"}
	code, out, complaint := command(t, args...)
	require.Zero(t, code, complaint)
	var doc mixDocument
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.NotNil(t, doc.Reagent)
	assert.Less(t, doc.Reagent.First, 0.1*doc.Reagent.Amount)
	assert.Contains(t, doc.Steps[0], "half of what it takes if it holds no carbonate")
	assert.Contains(t, doc.Steps[0], "syringe")
	assert.NotContains(t, doc.Steps[1], "about")
	assert.Contains(t, doc.Cautions, careHeat)
	line, acid, ok := strings.Cut(doc.Then, "--acid ")
	require.True(t, ok)
	assert.Regexp(t, `--ph-before 9 --given 0\.\d+mL --phosphate`, line)
	next := append(strings.Fields(strings.Replace(line, "MEASURED", "6.5", 1))[1:], "--acid", strings.Trim(acid, "'"), "--json")
	code, out, complaint = command(t, next...)
	require.Zero(t, code, complaint)
	var rest mixDocument
	require.NoError(t, json.Unmarshal([]byte(out), &rest))
	require.NotNil(t, rest.Reagent)
	assert.Less(t, rest.Reagent.Amount, doc.Reagent.First, "the pH fell far: there is little in it")
	code, _, complaint = command(t, "mix", "correct", "--volume", "120L", "--ec", "1.4mS/cm", "--ph", "6", "--target-ph", "5.8", "--given", "3mL", "--acid", "nitric 38%")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "--ph-before and --given go together")
	unmoved := []string{"mix", "correct", "--volume", "120L", "--ec", "1.4mS/cm", "--ph", "6.5", "--target-ph", "5.8", "--acid", "nitric 38%", "--ph-before", "6.5"}
	code, _, complaint = command(t, append(unmoved, "--base", "potassium bicarbonate", "--given", "5g")...)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "moves the pH away from 5.8", "grams are of the base")
	code, _, complaint = command(t, append(unmoved, "--given", "4mL")...)
	assert.Equal(t, 1, code)
	assert.Contains(t, complaint, "--probe-checked")
	code, out, complaint = command(t, append(unmoved, "--given", "4mL", "--probe-checked")...)
	assert.Zero(t, code, complaint)
	assert.Contains(t, out, "no more than was given so")
	code, _, complaint = command(t, append(topUpArgs(), "--probe-checked")...)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, complaint, "--probe-checked counts where")
}

func TestMixRefuses(t *testing.T) {
	tests := map[string]struct {
		args []string
		code int
		want string
	}{
		"salty water":    {[]string{"mix", "change", "--to", "100L", "--target-ec", "0.3mS/cm", "--water-ec", "0.5mS/cm"}, exitFailed, "the water alone has 0.50 mS/cm"},
		"no unit":        {[]string{"mix", "change", "--to", "100", "--target-ec", "1.4mS/cm"}, exitUsage, "needs a unit"},
		"ppm":            {[]string{"mix", "change", "--to", "100L", "--target-ec", "900ppm"}, exitUsage, "mS/cm"},
		"no volume":      {[]string{"mix", "correct", "--ec", "1.4mS/cm", "--target-ec", "1.2mS/cm"}, exitUsage, "Give --volume"},
		"no EC":          {[]string{"mix", "correct", "--volume", "10L", "--target-ec", "1.2mS/cm"}, exitUsage, "Give --ec"},
		"no target":      {[]string{"mix", "change", "--to", "10L"}, exitUsage, "--target-ec"},
		"no pH":          {[]string{"mix", "correct", "--volume", "10L", "--ec", "1.4mS/cm", "--target-ph", "5.8"}, exitUsage, "measure it"},
		"vinegar":        {[]string{"mix", "change", "--to", "10L", "--target-ec", "1.4mS/cm", "--acid", "vinegar 5%"}, exitUsage, "nitric acid, phosphoric acid"},
		"acid for base":  {[]string{"mix", "change", "--to", "10L", "--target-ec", "1.4mS/cm", "--base", "nitric 38%"}, exitUsage, "lowers pH"},
		"two stocks":     {[]string{"mix", "change", "--to", "10L", "--target-ec", "1.4mS/cm", "--stock", "A=0.1", "--stocks", "x"}, exitUsage, "give one"},
		"alkalinity":     {[]string{"mix", "change", "--to", "10L", "--target-ec", "1.4mS/cm", "--alkalinity", "150 mg/L"}, exitUsage, "mg/L CaCO3"},
		"an ion":         {[]string{"mix", "recipe", "--target", "Xx 3"}, exitUsage, "is none of NO3"},
		"ion twice":      {[]string{"mix", "recipe", "--target", "K 3, K 4"}, exitUsage, "given twice"},
		"unbalanced":     {[]string{"mix", "recipe", "--target", "K 6, NO3 1"}, exitFailed, "nitrate is usual"},
		"no acid":        {onlyPH("6.9"), exitUsage, "To bring it down to 5.8 takes 53.5 meq of acid. Name your acid with its strength to have it in mL. For example: --acid 'nitric 38%'"},
		"no base":        {onlyPH("5.0"), exitUsage, "--base 'potassium hydroxide 10%'"},
		"acid, but up":   {onlyPH("5.0", "--acid", "nitric 38%"), exitUsage, "the nitric acid 38 % that you named would move it the other way"},
		"base, but down": {onlyPH("6.9", "--base", "potassium bicarbonate"), exitUsage, "the potassium bicarbonate (powder) that you named would move it the other way"},
		"no strength":    {onlyPH("6.9", "--acid", "nitric"), exitUsage, "give the one on its label, for example 'nitric acid 38%'"},
		"below zero":     {[]string{"mix", "correct", "--volume", "-120L"}, exitUsage, `--volume: "-120L" is below 0; write it without the minus, for example 120L`},
		"same stock":     {[]string{"mix", "change", "--to", "10L", "--target-ec", "1.4mS/cm", "--stock", "A=0.1", "--stock", "A=0.1"}, exitUsage, "concentrate A is named twice"},
		"site alone":     {append(topUpArgs(), "--site", "testdata/bench/site.yaml"), exitUsage, "--reservoir"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			code, out, complaint := command(t, tt.args...)
			assert.Equal(t, tt.code, code, complaint)
			assert.Contains(t, complaint, tt.want)
			if tt.code == exitFailed {
				assert.Empty(t, out)
			}
		})
	}
}

// daemonWith serves one snapshot, as a running daemon does.
func daemonWith(t *testing.T, r web.ReservoirDoc) string {
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_ = json.NewEncoder(w).Encode(web.Document{Site: "Trial bench", Reservoirs: []web.ReservoirDoc{r}})
	}))
	t.Cleanup(server.Close)
	return server.URL
}

func figureOf(x float64, q model.Quality) web.Figure { return web.Figure{Value: &x, Quality: q} }

func TestMixReadsTheDaemon(t *testing.T) {
	tank := web.ReservoirDoc{
		Reservoir: "tank", Volume: figureOf(50, model.Fresh), EC: figureOf(1.5, model.Fresh), PH: figureOf(6.3, model.Stale), Temperature: figureOf(24, model.Fresh),
	}
	url := daemonWith(t, tank)
	args := []string{"mix", "top-up", "--reservoir", "tank", "--site", "testdata/bench/site.yaml", "--daemon", url, "--stock", "A=0.11", "--stock", "B=0.09"}
	code, _, complaint := command(t, args...)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "no fresh pH; measure it and give --ph", "a stale figure is never mixed in")

	code, out, complaint := command(t, append(args, "--ph", "6.1", "--json")...)
	require.Zero(t, code, complaint)
	var doc mixDocument
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	// The bench's tank is a box of 60 × 40 cm, full at 375 mm: 90 L, target 1.8.
	assert.InDelta(t, 90, doc.Expected.Volume, 0.1)
	assert.InDelta(t, 1.8, doc.Expected.EC, 0.01)
	// By hand, from rain: 90·1.8 − 50·1.5 = 87 mS/cm·L of 0.2 for each mL pair.
	require.Len(t, doc.Doses, 2)
	assert.InDelta(t, 435, doc.Doses[0].ML, 10)

	code, _, complaint = command(t, append(args, "--reservoir", "barrel")...)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, `watches no reservoir "barrel"`)
}

// A change lets out what the daemon measures, but for what the outlet leaves, which
// counts as what it is.
func TestMixChangeLetsOut(t *testing.T) {
	const site = "testdata/bench/site.yaml" // a box of 60 × 40 cm, full at 375 mm and empty at 50
	url := daemonWith(t, web.ReservoirDoc{
		Reservoir: "tank", Volume: figureOf(80, model.Fresh), EC: figureOf(2.4, model.Fresh), PH: figureOf(6.3, model.Fresh), Temperature: figureOf(21, model.Fresh),
	})
	plan := func(more ...string) mixDocument {
		code, out, complaint := command(t, append([]string{"mix", "change", "--reservoir", "tank", "--daemon", url, "--stock", "A=0.11", "--stock", "B=0.09", "--json"}, more...)...)
		require.Zero(t, code, complaint)
		var doc mixDocument
		require.NoError(t, json.Unmarshal([]byte(out), &doc))
		return doc
	}
	// Below the outlet are 12 L, so that 68 of the 80 go.
	doc := plan("--site", site)
	assert.InDelta(t, 68, doc.Discard, 0.1)
	assert.Contains(t, doc.Steps[0], "Let out 68 L, until no more than 12 L are left")
	assert.InDelta(t, 90, doc.Expected.Volume, 0.1)
	// By hand, from rain: 90·1.8 − 12·2.4 = 133.2 mS/cm·L of 0.2 for each mL pair.
	assert.InDelta(t, 666, doc.Doses[0].ML, 15)

	doc = plan("--site", site, "--volume", "5L")
	assert.InDelta(t, 75, doc.Discard, 0.1, "of what stays somebody knows better")

	for _, nothing := range [][]string{nil, {"--volume", "0L"}} {
		doc = plan(append(nothing, "--to", "90L", "--target-ec", "1.8mS/cm")...)
		assert.Contains(t, doc.Steps[0], "Let out 80 L, until nothing is left")
	}
	doc = plan("--site", site, "--volume", "0L")
	assert.InDelta(t, 80, doc.Discard, 0.1, "tipped out, below the outlet too")
	url = daemonWith(t, web.ReservoirDoc{Reservoir: "tank", Volume: figureOf(80, model.Stale)})
	doc = plan("--to", "90L", "--target-ec", "1.8mS/cm")
	assert.Contains(t, doc.Steps[0], "Let out what is in it, until nothing is left")
	assert.InDelta(t, 810, doc.Doses[0].ML, 15)
}

// An EC that is nearer to its target than can be measured asks for no concentrate, and
// the pH is corrected.
func TestMixNeedsNoConcentrateForAHair(t *testing.T) {
	args := []string{"mix", "correct", "--volume", "170L", "--full", "180L", "--ph", "6.4", "--target-ec", "1.8mS/cm", "--target-ph", "5.8", "--acid", "nitric 38%"}
	code, out, complaint := command(t, append(args, "--ec", "1.79mS/cm")...)
	require.Zero(t, code, complaint)
	assert.Contains(t, out, "mL of nitric acid")
	code, _, complaint = command(t, append(args, "--ec", "1.7mS/cm")...)
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, complaint, "takes concentrate")
}

// Alkalinity is salt: water that is said to have it and no EC is doubted.
func TestMixDoubtsHardWaterWithoutSalt(t *testing.T) {
	args := []string{"mix", "change", "--to", "200L", "--target-ec", "1.4mS/cm", "--alkalinity", "3meq/L", "--stock", "A=0.11"}
	_, out, _ := command(t, args...)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "has about 0.27 mS/cm by that alone")
	_, out, _ = command(t, append(args, "--water-ec", "0.35mS/cm")...)
	assert.NotContains(t, out, "by that alone")
}

// The water that the site file states once is what mix pours in, whether it reads
// the file or asks the daemon; what the command line says of it comes first.
func TestMixTakesTheStatedWater(t *testing.T) {
	file, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	const full = "    full: 375 mm\n"
	require.Contains(t, string(file), full)
	site := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Replace(string(file), full, full+"    water: {ec: 0.5 mS/cm, alkalinity: 150 mg/L CaCO3}\n", 1)), 0o600))
	tank := web.ReservoirDoc{Reservoir: "tank", Volume: figureOf(50, model.Fresh), EC: figureOf(1.5, model.Fresh), PH: figureOf(6.3, model.Fresh), Temperature: figureOf(20, model.Fresh)}
	soft := tank
	soft.Water = &web.WaterDoc{EC: 0.2, Alkalinity: 1}
	base := []string{"mix", "top-up", "--reservoir", "tank", "--stock", "A=0.11", "--stock", "B=0.09", "--acid", "nitric 38%"}
	withSite := append([]string{"--site", site}, base[2:]...)
	free := []string{"--full", "90L", "--target-ec", "1.8mS/cm", "--target-ph", "5.8"}
	plan := func(tank web.ReservoirDoc, args ...string) (mixDocument, string) {
		all := append([]string{"mix", "top-up", "--daemon", daemonWith(t, tank)}, args...)
		code, out, complaint := command(t, append(all, "--json")...)
		require.Zero(t, code, complaint)
		var doc mixDocument
		require.NoError(t, json.Unmarshal([]byte(out), &doc))
		return doc, strings.Join(doc.Notes, " ")
	}
	// By hand: 90·1.8 − 50·1.5 − 40·EC of the water, of 0.2 for each mL pair; each
	// pair of mL takes the place of 2 mL of water. The acid adds a little.
	fromSite, note := plan(tank, withSite...)
	assert.InDelta(t, (162-75-40*0.5)/0.2, fromSite.Doses[0].ML, 12)
	assert.Contains(t, note, "as the site file states it: 0.50 mS/cm, 3 meq/L of alkalinity")
	fromDaemon, note := plan(soft, append(free, base[2:]...)...)
	assert.InDelta(t, (162-75-40*0.2)/0.2, fromDaemon.Doses[0].ML, 12)
	assert.Contains(t, note, "0.20 mS/cm, 1 meq/L")
	both, _ := plan(soft, withSite...)
	assert.InDelta(t, fromSite.Doses[0].ML, both.Doses[0].ML, 1e-9, "the file was edited after the daemon started")
	over, note := plan(soft, append(withSite, "--water-ec", "0.1mS/cm", "--alkalinity", "0mmol/L")...)
	assert.Greater(t, over.Doses[0].ML, fromSite.Doses[0].ML+60)
	assert.NotContains(t, note, "as the site file states it")
	unstated, note := plan(tank, append(free, base[2:]...)...)
	assert.Contains(t, note, "taken for rain")
	// 40 L of 3 meq/L less those of rain: 120 meq, of which pH 5.8 leaves a fifth or
	// so as carbon dioxide's bicarbonate.
	assert.InDelta(t, 100, fromSite.Demand-unstated.Demand, 20)
}

// A plan that leaves the pH alone does not speak of a guess that only a dose
// rests on.
func TestMixGuessesNothingForNothing(t *testing.T) {
	code, out, complaint := command(t, "mix", "correct", "--volume", "100L", "--full", "120L", "--ec", "1.7mS/cm", "--target-ec", "1.5mS/cm", "--ph", "5.8", "--target-ph", "5.8")
	require.Zero(t, code, complaint)
	assert.NotContains(t, out, "phosphate")
}

// A number below 0 belongs to the flag before it; a flag keeps its own dash.
func TestNegatives(t *testing.T) {
	assert.Equal(t, []string{"size", "--latitude=-33.9", "--json", "--month", "6"}, negatives([]string{"size", "--latitude", "-33.9", "--json", "--month", "6"}))
	assert.Equal(t, []string{"calibrate", "ec", "-", "--plot=d", "-3", "--", "-4"}, negatives([]string{"calibrate", "ec", "-", "--plot=d", "-3", "--", "-4"}))
}

// What stands in the channels is mixed with the rest: by hand, from rain,
// 100·1.8 − 60·1.5 = 90 mS/cm·L of 0.2 for each mL pair.
func TestMixCountsTheChannels(t *testing.T) {
	file, err := os.ReadFile("testdata/bench/site.yaml")
	require.NoError(t, err)
	const channel = "peppers: {reservoir: tank, lift: 70 mm}"
	require.Contains(t, string(file), channel)
	site := filepath.Join(t.TempDir(), "site.yaml")
	require.NoError(t, os.WriteFile(site, []byte(strings.Replace(string(file), channel, "peppers: {reservoir: tank, lift: 70 mm, holds: 10 L}", 1)), 0o600))
	args := []string{"mix", "top-up", "--reservoir", "tank", "--site", site, "--daemon", daemonWith(t, web.ReservoirDoc{
		Reservoir: "tank", Volume: figureOf(50, model.Fresh), EC: figureOf(1.5, model.Fresh), PH: figureOf(6.1, model.Fresh),
	}), "--stock", "A=0.11", "--stock", "B=0.09"}
	code, out, complaint := command(t, append(args, "--json")...)
	require.Zero(t, code, complaint)
	var doc mixDocument
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	assert.InDelta(t, 100, doc.Expected.Volume, 0.1)
	require.Len(t, doc.Doses, 2)
	assert.InDelta(t, 450, doc.Doses[0].ML, 10)
	code, out, complaint = command(t, args...)
	require.Zero(t, code, complaint)
	assert.Contains(t, out, "10 L of this stand in the channels")
}

// A request that the command line makes is the one that its words say.
func TestMixRequest(t *testing.T) {
	var f mixFlags
	for flag, text := range map[interface{ UnmarshalText([]byte) error }]string{
		&f.Volume: "0.12m3", &f.EC: "1600uS/cm", &f.TargetEC: "1.4dS/m", &f.Alkalinity: "150 mg/L CaCO3", &f.Temperature: "70.0degF", &f.Acid: "nitric acid 38 %",
	} {
		require.NoError(t, flag.UnmarshalText([]byte(text)), text)
	}
	m, err := f.request(context.Background(), console{}, solution.Correct)
	require.NoError(t, err)
	r := m.request
	assert.InDelta(t, 120, r.Volume, 1e-9)
	assert.InDelta(t, 1.6, r.EC, 1e-9)
	assert.InDelta(t, 1.4, r.TargetEC, 1e-9)
	assert.InDelta(t, 2.9976, r.Water.Alkalinity, 1e-3) // 100 mg/L is 1.9984 meq/L [D]
	assert.InDelta(t, 21.11, r.Temperature, 0.01)
	assert.InDelta(t, 7.44, r.Acid.Molarity, 0.08) // 38 % nitric acid is about 7.4 mol/L [M]
}

// Whatever is read as ions comes back as it was written, and what is refused
// leaves an error that says how.
func FuzzIons(f *testing.F) {
	for _, s := range []string{"K 6, Ca 4", "NO3 14", "", ",", "K -1", "K 1e9", "K 6,K 6", "HCO3 2.5"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var ions ionsFlag
		if err := ions.UnmarshalText([]byte(text)); err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.NotEmpty(t, ions.given)
		for ion := range solution.Ions {
			require.GreaterOrEqual(t, ions.of[ion], 0.0)
			require.True(t, ions.given[ion] || ions.of[ion] == 0)
		}
		var again ionsFlag
		require.NoError(t, again.UnmarshalText([]byte(strings.ToLower(text))))
		require.Equal(t, ions.of, again.of)
	})
}

// An acid or a stock that is taken has a strength that can be dosed.
func FuzzReagent(f *testing.F) {
	for _, s := range []string{"nitric 38%", "phosphoric acid 85 %", "citric", "nitric 1mol/L", "potassium hydroxide 10%", "A=0.1", "%", "nitric 38"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var r reagentFlag
		if err := r.UnmarshalText([]byte(text)); err == nil {
			require.Positive(t, r.reagent.Normality())
			var again reagentFlag
			require.NoError(t, again.UnmarshalText([]byte(reagentText(*r.reagent))))
			require.InEpsilon(t, r.reagent.Molarity, again.reagent.Molarity, 0.01)
		}
		var a alkalinityFlag
		if err := a.UnmarshalText([]byte(text)); err == nil {
			require.GreaterOrEqual(t, a.value, 0.0)
		}
	})
}
