package grafana_test

import (
	"encoding/json"
	"flag"
	"os"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/deploy/grafana"
)

var update = flag.Bool("update", false, "write wickd.json again")

const file = "wickd.json"

func TestTheFileIsCurrent(t *testing.T) {
	want, err := grafana.JSON()
	require.NoError(t, err)
	if *update {
		require.NoError(t, os.WriteFile(file, want, 0o644))
	}
	have, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(have), "run: go generate ./deploy/grafana")
}

// panel is what the tests read of a panel, independent of what wrote it.
type panel struct {
	Type, Title, Description string
	GridPos                  struct{ X, Y, W, H int }
	Targets                  []struct{ RefID, Expr string }
}

// panels are the file's panels without the headings of rows.
func panels(t *testing.T) []panel {
	t.Helper()
	content, err := os.ReadFile(file)
	require.NoError(t, err)
	var d struct{ Panels []panel }
	require.NoError(t, json.Unmarshal(content, &d))
	shown := slices.DeleteFunc(d.Panels, func(p panel) bool { return p.Type == "row" })
	require.Greater(t, len(shown), 15)
	return shown
}

// Every panel must fit its grid and lie beside the others, not over them.
func TestPanelsDoNotOverlap(t *testing.T) {
	taken := map[[2]int]string{}
	for _, p := range panels(t) {
		g := p.GridPos
		assert.Positive(t, g.W*g.H, p.Title)
		assert.LessOrEqual(t, g.X+g.W, 24, p.Title)
		for x := g.X; x < g.X+g.W; x++ {
			for y := g.Y; y < g.Y+g.H; y++ {
				cell := [2]int{x, y}
				assert.Empty(t, taken[cell], "%s lies over it", p.Title)
				taken[cell] = p.Title
			}
		}
	}
}

func TestEveryPanelSaysWhatItShows(t *testing.T) {
	titles := map[string]bool{}
	for _, p := range panels(t) {
		assert.False(t, titles[p.Title], "two panels are called %q", p.Title)
		titles[p.Title] = true
		assert.NotEmpty(t, p.Description, p.Title)
		assert.NotEmpty(t, p.Targets, p.Title)
		letters := map[string]bool{}
		for _, q := range p.Targets {
			assert.NotEmpty(t, q.RefID, p.Title)
			assert.False(t, letters[q.RefID], "%s: two queries %s", p.Title, q.RefID)
			letters[q.RefID] = true
		}
	}
}

// The eight colours of Okabe and Ito (2008) [M], less yellow and black, which
// vanish on a light and a dark ground, and a grey. Green and vermillion never
// stand alone for good and bad: the sets used here differ in lightness too.
func TestColoursAreOfTheColourBlindSafeSet(t *testing.T) {
	safe := []string{"#0072B2", "#56B4E9", "#009E73", "#E69F00", "#D55E00", "#CC79A7", "#7F7F7F"}
	content, err := os.ReadFile(file)
	require.NoError(t, err)
	used := regexp.MustCompile(`"(?:fixedColor|color)": "([^"]+)"`).FindAllStringSubmatch(string(content), -1)
	assert.NotEmpty(t, used)
	for _, m := range used {
		assert.Contains(t, safe, m[1])
	}
	assert.NotContains(t, string(content), "palette-classic")
}
