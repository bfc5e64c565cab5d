package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
)

// OpenReadOnly opens the journal in a directory for reading, beside a daemon
// that may be running. Methods that write return ErrReadOnly.
func OpenReadOnly(dir string) (*Journal, error) {
	j, err := openReadOnly(context.Background(), dir)
	if err != nil {
		if !errors.Is(err, errNoJournal) {
			err = explain(err)
		}
		return nil, fmt.Errorf("journal: opening %s for reading: %w", dir, err)
	}
	return j, nil
}

var errNoJournal = errors.New("give the --data directory of a daemon that has run")

func openReadOnly(ctx context.Context, dir string) (*Journal, error) {
	path := filepath.Join(dir, "journal.db")
	if _, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("%w; %w", err, errNoJournal)
	}
	var errs []error
	// Without a daemon, the first reader has to make the index of the
	// write-ahead log; only if it may not do that, open the file as it is.
	for _, mode := range []string{"rw", "ro"} {
		read, err := sql.Open("sqlite", dsn(dir, "query_only(1)")+"&mode="+mode)
		if err != nil {
			return nil, err
		}
		read.SetMaxOpenConns(readers)
		if err = checkReadable(ctx, read); err == nil {
			return &Journal{dir: dir, log: slog.New(slog.DiscardHandler), read: read}, nil
		}
		_ = read.Close()
		if errs = append(errs, err); errors.Is(err, ErrNewer) || errors.Is(err, ErrForeign) {
			break
		}
	}
	return nil, errors.Join(errs...)
}

func checkReadable(ctx context.Context, db *sql.DB) error {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	version, err := checkVersion(ctx, conn, len(migrations))
	if err == nil && version < len(migrations) {
		err = fmt.Errorf("it has schema %d, this wickd reads %d: let the daemon open it once, which brings it up to date", version, len(migrations))
	}
	return err
}
