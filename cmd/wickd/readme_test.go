package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The sessions of mix and calibrate in the README give, word for word, what the
// README says that they give.
func TestReadmeSessions(t *testing.T) {
	file, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	text := string(file)
	readings := regexp.MustCompile("(?s)`probe.csv` holds\n\n```\n(.*?)```").FindStringSubmatch(text)
	require.Len(t, readings, 2)
	path := filepath.Join(t.TempDir(), "probe.csv")
	require.NoError(t, os.WriteFile(path, []byte(readings[1]), 0o600))
	promised := map[string][]string{"mix": {"79.4 L of water", "290 mL of"}, "calibrate": {"calibrate: [[1150, 56.88], [2380, 10.99]]"}}
	for name, words := range promised {
		line := regexp.MustCompile(`(?m)^wickd ` + name + ` .*$`).FindString(text)
		require.NotEmpty(t, line)
		var args []string
		for _, word := range regexp.MustCompile(`'[^']*'|\S+`).FindAllString(line, -1)[1:] {
			args = append(args, strings.Replace(strings.Trim(word, "'"), "probe.csv", path, 1))
		}
		code, out, complaint := command(t, args...)
		require.Zero(t, code, complaint)
		for _, want := range words {
			assert.Contains(t, out, want)
			assert.Contains(t, text, want, "the README no longer says so")
		}
	}
}
