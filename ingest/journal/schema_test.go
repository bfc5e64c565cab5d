package journal

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tamper changes the database behind the journal's back.
func tamper(t *testing.T, j *Journal, query string, args ...any) {
	t.Helper()
	db, err := sql.Open("sqlite", dsn(j.dir))
	require.NoError(t, err)
	defer db.Close()
	_, err = db.ExecContext(t.Context(), query, args...)
	require.NoError(t, err)
}

func TestASchemaThatIsNotOurs(t *testing.T) {
	t.Run("newer", func(t *testing.T) {
		j := openTest(t, Options{})
		tamper(t, j, fmt.Sprintf("PRAGMA user_version = %d", len(migrations)+1))
		require.NoError(t, j.Close(t.Context()))
		_, err := Open(Options{Dir: j.dir})
		assert.ErrorIs(t, err, ErrNewer)
		assert.ErrorContains(t, err, "it has schema 2, this wickd knows up to 1")
		_, err = OpenReadOnly(j.dir)
		assert.ErrorIs(t, err, ErrNewer)
	})
	t.Run("another program's", func(t *testing.T) {
		dir := t.TempDir()
		db, err := sql.Open("sqlite", dsn(dir))
		require.NoError(t, err)
		_, err = db.Exec("CREATE TABLE photos (id INTEGER)")
		require.NoError(t, err)
		require.NoError(t, db.Close())
		_, err = Open(Options{Dir: dir})
		assert.ErrorIs(t, err, ErrForeign)
	})
	t.Run("no database", func(t *testing.T) {
		dir := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(dir, "journal.db"), []byte("a letter, long enough to be looked at by a database"), 0o600))
		_, err := Open(Options{Dir: dir})
		assert.ErrorContains(t, err, "not a database")
	})
}

func TestMigrationsAreAppliedOnceAndWhole(t *testing.T) {
	dir := t.TempDir()
	open1 := func(steps ...string) error {
		j, err := open(t.Context(), Options{Dir: dir, Log: openTest(t, Options{}).log}, append([]string{schema1}, steps...))
		if err != nil {
			return err
		}
		if len(readAll(t, j)) == 0 {
			appendAll(t, j, entries(0, 3))
		}
		return j.Close(t.Context())
	}
	require.NoError(t, open1())
	err := open1("CREATE TABLE extra (id INTEGER); INSERT INTO nowhere VALUES (1)")
	require.ErrorContains(t, err, "migrating schema 1 to 2")
	add := "CREATE TABLE extra (id INTEGER)"
	require.NoError(t, open1(add), "the failed step left nothing behind")
	require.NoError(t, open1(add), "and is not applied twice")
	j, err := open(t.Context(), Options{Dir: dir, Log: openTest(t, Options{}).log}, []string{schema1, add})
	require.NoError(t, err)
	assert.Len(t, readAll(t, j), 3)
	require.NoError(t, j.Close(t.Context()))
}
