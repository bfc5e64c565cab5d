package config_test

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
)

var update = flag.Bool("update", false, "write golden files")

// faults lists the broken site files: each breaks one rule, and "many" breaks
// many at once.
func faults(t testing.TB) []string {
	files, err := filepath.Glob("testdata/faults/*.yaml")
	require.NoError(t, err)
	require.Greater(t, len(files), 80)
	return files
}

func read(t testing.TB, file string) []byte {
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	return data
}

// Each broken file gives exactly the problems in the golden file beside it.
func TestFaults(t *testing.T) {
	for _, file := range faults(t) {
		name := strings.TrimSuffix(filepath.Base(file), ".yaml")
		t.Run(name, func(t *testing.T) {
			cfg, err := config.Parse("site.yaml", read(t, file))
			require.Error(t, err)
			assert.Nil(t, cfg)
			var problems config.Problems
			require.ErrorAs(t, err, &problems)
			golden := strings.TrimSuffix(file, ".yaml") + ".golden"
			got := err.Error() + "\n"
			if *update {
				require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
			}
			assert.Equal(t, string(read(t, golden)), got)
			assert.NotContains(t, got, "hunter2", "a secret in an error")
		})
	}
}
