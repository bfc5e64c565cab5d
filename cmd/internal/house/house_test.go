package house_test

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/house"
)

// root is the top of the tree.
const root = "../../.."

// The rules that look at Go source hold in the whole tree. That each of them can
// fail is shown in wrong_test.go.
func TestTheHouseIsInOrder(t *testing.T) {
	files, err := house.Load(root)
	require.NoError(t, err)
	require.Greater(t, len(files), 50, "the source was not found")
	rules := map[string]func([]house.File) []house.Finding{
		"no imports sideways":           house.Sideways,
		"no I/O under model":            house.InputOutput,
		"libraries have one owner":      house.Owned,
		"time and chance are arguments": house.Clock,
		"excuses are needed":            house.Excuses,
		"packages explain themselves":   house.Explained,
	}
	for name, rule := range rules {
		t.Run(name, func(t *testing.T) { report(t, rule(files)) })
	}
}

func report(t *testing.T, found []house.Finding) {
	t.Helper()
	for _, f := range found {
		t.Error(f)
	}
}

func TestTheTopOfTheTree(t *testing.T) {
	entries, err := os.ReadDir(root)
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	report(t, house.Top(names))
}

func TestNothingIsLeftForLater(t *testing.T) {
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if d.Name() == ".git" {
				return fs.SkipDir
			}
			return nil
		}
		if slices.Contains([]string{".gz", ".db", ".png", ".svg", ".sum"}, filepath.Ext(p)) {
			return nil
		}
		content, err := os.ReadFile(p)
		if err != nil || !utf8.Valid(content) {
			return err
		}
		report(t, house.Later(p, string(content)))
		return nil
	})
	require.NoError(t, err)
}

// Every command that the texts show is asked of the real program.
func TestTheCommandsInTheTextsExist(t *testing.T) {
	var shown []string
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		content, err := os.ReadFile(filepath.Join(root, name))
		if os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err)
		for _, l := range house.CommandLines(string(content)) {
			shown = append(shown, l.Command)
		}
	}
	require.NotEmpty(t, shown, "README.md and DEVELOPERS.md show commands")
	program := build(t)
	asked := map[string]bool{}
	exists := func(command string) bool {
		known, done := asked[command]
		if !done {
			known = exec.CommandContext(t.Context(), program, command, "--help").Run() == nil
			asked[command] = known
		}
		return known
	}
	require.False(t, exists("no-such-command"), "the program must refuse what it does not know")
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		content, err := os.ReadFile(filepath.Join(root, name))
		if err == nil {
			report(t, house.Unknown(name, house.CommandLines(string(content)), exists))
		}
	}
}

func build(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "wickd")
	command := exec.CommandContext(t.Context(), "go", "build", "-o", program, "./cmd/wickd")
	command.Dir = root
	out, err := command.CombinedOutput()
	require.NoError(t, err, string(out))
	return program
}
