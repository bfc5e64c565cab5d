package journal

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever happens to the file, it is never taken for a sound one that holds
// less, and the error says what to do.
func TestADamagedFileIsSaidToBeOne(t *testing.T) {
	tests := map[string]func(content []byte) []byte{
		"cut short":           func(c []byte) []byte { return c[:len(c)/2] },
		"its first page lost": func(c []byte) []byte { return append(make([]byte, 4096), c[4096:]...) },
		"pages overwritten": func(c []byte) []byte {
			for i := 4096; i < len(c); i++ {
				c[i] ^= 0x5a
			}
			return c
		},
	}
	for name, damage := range tests {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			j, err := Open(Options{Dir: dir})
			require.NoError(t, err)
			appendAll(t, j, entries(0, 300))
			require.NoError(t, j.Close(context.Background()))
			path := filepath.Join(dir, "journal.db")
			content, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(path, damage(content), 0o600))

			err = use(dir)
			require.ErrorIs(t, err, ErrDamaged)
			assert.ErrorContains(t, err, "to start anew")
		})
	}
}

// use does with a journal what a start does.
func use(dir string) error {
	j, err := Open(Options{Dir: dir})
	if err != nil {
		return err
	}
	defer j.Close(context.Background())
	if _, _, err := j.Checkpoint(context.Background(), "core"); err != nil {
		return err
	}
	_, err = j.Read(context.Background(), 0, 1000)
	return err
}

func TestADirectoryThatCannotBeUsed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := Open(Options{Dir: file})
	require.ErrorIs(t, err, ErrUnusable)
	assert.ErrorContains(t, err, file)
	if os.Getuid() == 0 {
		t.Skip("root may write everywhere")
	}
	dir := t.TempDir()
	require.NoError(t, os.Chmod(dir, 0o500))
	_, err = Open(Options{Dir: dir})
	require.ErrorIs(t, err, ErrUnusable)
	assert.ErrorContains(t, err, "may write to")
}
