package main

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The help of a command is often cut short: that is no mistake to speak of either.
func TestNobodyReadsHelpOn(t *testing.T) {
	t.Parallel()
	from, to, err := os.Pipe()
	require.NoError(t, err)
	require.NoError(t, from.Close())
	p := prepare(t, "mix", "change", "--help")
	p.cmd.Stdout = to
	p.start()
	require.NoError(t, to.Close())
	code, _ := p.wait()
	assert.Equal(t, exitFailed, code)
	assert.Empty(t, p.err.String())
}

// Whoever reads the records may stop reading, as head does: that is no mistake
// to speak of, and the copy of standard input goes all the same.
func TestNobodyReadsOn(t *testing.T) {
	t.Parallel()
	scratch := t.TempDir()
	in, err := os.Open("testdata/bench/capture.ndjson.gz")
	require.NoError(t, err)
	defer func() { _ = in.Close() }()
	from, to, err := os.Pipe()
	require.NoError(t, err)
	p := prepare(t, "replay", "--quiet", "--site", "testdata/bench/site.yaml", "--records", "-", "-")
	p.cmd.Env, p.cmd.Stdin, p.cmd.Stdout = append(os.Environ(), "TMPDIR="+scratch), in, to
	p.start()
	require.NoError(t, to.Close())
	_, err = from.Read(make([]byte, 10))
	require.NoError(t, err)
	require.NoError(t, from.Close())
	code, _ := p.wait()
	assert.Equal(t, exitFailed, code)
	assert.Empty(t, p.err.String())
	requireEmpty(t, scratch)
}
