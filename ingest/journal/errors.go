package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"syscall"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Errors that a caller may want to tell apart.
var (
	// ErrFailed wraps every error of writing to the journal.
	ErrFailed = errors.New("the journal cannot be written")
	// ErrFull is ErrFailed for want of space; a later write may succeed.
	ErrFull = errors.New("the disk is full; free some space where the data directory lies")
	// ErrBusy is ErrFailed because another process is writing to the database:
	// nothing is in doubt, and a later write may succeed.
	ErrBusy = errors.New("another process holds the journal's database; end what it does there")
	// ErrLocked says that another process has the journal open for writing.
	ErrLocked = errors.New("the data directory is in use by another wickd; stop that one, or give this one its own --data directory")
	// ErrNewer says that the journal was written by a newer release.
	ErrNewer = errors.New("the journal was written by a newer wickd; install that release again, or move the data directory aside to start anew")
	// ErrForeign says that the file is not a journal.
	ErrForeign = errors.New("the file is an SQLite database, but not a wickd journal; give --data another directory")
	// ErrDamaged says that the file does not hold what was written to it.
	ErrDamaged = errors.New("the journal's file is damaged; keep a copy of the data directory, then put a sound copy in its place, or move its files journal.* out of it to start anew")
	// ErrUnusable says that the directory cannot hold a journal.
	ErrUnusable = errors.New("give --data a directory that the user who runs wickd may write to")
	// ErrReadOnly is returned by what writes when the journal is open for reading.
	ErrReadOnly = errors.New("the journal is open for reading only")
)

// failed wraps an error of a write.
func failed(op string, err error) error {
	if isFull(err) {
		return full(op, err)
	}
	return fmt.Errorf("journal: %s: %w: %w", op, ErrFailed, explain(err))
}

func busy(op string, err error) error {
	return fmt.Errorf("journal: %s: %w: %w: %w", op, ErrFailed, ErrBusy, err)
}

func full(op string, err error) error {
	return fmt.Errorf("journal: %s: %w: %w: %w", op, ErrFailed, ErrFull, err)
}

// isFull says that an error came of a full disk, and that nothing is in doubt
// after it. The index of the write-ahead log is grown before anything is
// written to it, and its failure has a code of its own.
func isFull(err error) bool {
	var e *sqlite.Error
	return errors.Is(err, ErrFull) ||
		errors.As(err, &e) && (e.Code() == sqlite3.SQLITE_IOERR_SHMSIZE || e.Code()&0xff == sqlite3.SQLITE_FULL)
}

// explain adds to an error what an operator can do about it.
func explain(err error) error {
	var e *sqlite.Error
	switch {
	case err == nil, errors.Is(err, ErrDamaged):
	case code(err) == sqlite3.SQLITE_BUSY, code(err) == sqlite3.SQLITE_LOCKED:
		return fmt.Errorf("%w: %w", err, ErrBusy)
	case errors.As(err, &e) && slices.Contains([]int{sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}, e.Code()&0xff),
		errors.As(err, &e) && e.Code() == sqlite3.SQLITE_IOERR_SHORT_READ:
		return fmt.Errorf("%w: %w", err, ErrDamaged)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS), errors.Is(err, syscall.ENOTDIR),
		code(err) == sqlite3.SQLITE_READONLY, code(err) == sqlite3.SQLITE_PERM, code(err) == sqlite3.SQLITE_CANTOPEN:
		return fmt.Errorf("%w: %w", err, ErrUnusable)
	}
	return err
}

// code is the primary result code of an SQLite error; 0 for any other.
func code(err error) int {
	var e *sqlite.Error
	if errors.As(err, &e) {
		return e.Code() & 0xff
	}
	return 0
}
