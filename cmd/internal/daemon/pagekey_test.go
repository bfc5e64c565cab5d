package daemon

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestThePagesKeyIsMadeOnceAndKept(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first, err := pageKey(dir)
	require.NoError(t, err)
	assert.Len(t, first, 32)
	again, err := pageKey(dir)
	require.NoError(t, err)
	assert.Equal(t, first, again)
	other, err := pageKey(t.TempDir())
	require.NoError(t, err)
	assert.NotEqual(t, first, other)
	names, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, names, 1, "nothing is left beside it")
	info, err := names[0].Info()
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

func TestAKeyThatCannotBeTrustedIsRefused(t *testing.T) {
	t.Parallel()
	tests := map[string]struct {
		content string
		mode    os.FileMode
		want    string
	}{
		"others may read it": {string(make([]byte, 32)), 0o644, "others may read"},
		"cut short":          {"x", 0o600, "is damaged"},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, pageKeyFile), []byte(tt.content), tt.mode))
			_, err := pageKey(dir)
			assert.ErrorContains(t, err, tt.want)
		})
	}
}
