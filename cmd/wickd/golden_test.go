package main

import (
	"bytes"
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite what the commands are expected to print")

// command runs wickd as from a shell, without a process.
func command(t *testing.T, args ...string) (code int, out, complaint string) {
	t.Helper()
	var stdout, stderr bytes.Buffer
	code = execute(context.Background(), args, console{out: &stdout, err: &stderr})
	return code, stdout.String(), stderr.String()
}

// golden compares with testdata/name, which -update rewrites.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update")
	assert.Equal(t, string(want), got)
}
