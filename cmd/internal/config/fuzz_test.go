package config_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"wickd/cmd/internal/config"
)

// Whatever the bytes: either problems, in order and with their place within
// the file, and no Config; or a Config whose invariants hold, which is the same
// when it is read again, and which can be encoded.
func FuzzParse(f *testing.F) {
	for _, file := range goodFiles(f) {
		f.Add(read(f, file))
	}
	for _, file := range faults(f) {
		f.Add(read(f, file))
	}
	f.Add(read(f, exampleFile))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		cfg, err := config.Parse("site.yaml", data)
		if err != nil {
			require.Nil(t, cfg)
			checkProblems(t, err, data)
			return
		}
		checkSite(t, cfg.Site)
		_, err = json.Marshal(cfg.Site)
		require.NoError(t, err)
		again, err := config.Parse("site.yaml", data)
		require.NoError(t, err)
		require.Equal(t, cfg, again)
	})
}

func checkProblems(t *testing.T, err error, data []byte) {
	var problems config.Problems
	require.ErrorAs(t, err, &problems)
	require.NotEmpty(t, problems)
	lines := 1
	for _, b := range data {
		if b == '\n' || b == '\r' {
			lines++
		}
	}
	for i, p := range problems {
		require.NotEmpty(t, p.Message)
		require.True(t, p.Line >= 1 && p.Line <= lines, "line %d of %d", p.Line, lines)
		require.GreaterOrEqual(t, p.Column, 1)
		if i > 0 {
			require.LessOrEqual(t, problems[i-1].Line, p.Line)
		}
	}
}
