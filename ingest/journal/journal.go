package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"time"

	_ "modernc.org/sqlite" // registers the "sqlite" driver
)

// Options of a Journal. Dir is required.
type Options struct {
	Dir   string       // made if it is not there
	Log   *slog.Logger // default: discard
	Hooks Hooks
}

// Hooks inject faults; the zero value injects none.
type Hooks struct {
	// Commit is called before each commit with the name of the operation; an
	// error takes the place of the commit.
	Commit func(op string) error
	// MaxPages limits the database to so many pages of 4096 bytes: a full disk.
	MaxPages int
}

// Journal is an open journal.
type Journal struct {
	dir   string
	log   *slog.Logger
	hooks Hooks
	lock  *lock
	read  *sql.DB
	lost  Loss

	mu      sync.Mutex // guards what follows, and a transaction as a whole
	reserve reserve
	tail    *tail   // nil: open for reading only
	write   *sql.DB // nil: open for reading only
	conn    *sql.Conn
	stmts   statements
	failed  error // set once; every write returns it from then on
	busy    bool  // another process held the database at the last write
	next    int64 // the next Seq
	open    int64 // the unsettled backlog; 0: none
}

// readers is how many readings of the journal may go on at once: export,
// forwarder, alert page and start-up.
const readers = 4

// Open opens or makes the journal in a directory, for writing.
func Open(opts Options) (*Journal, error) {
	if opts.Dir == "" {
		return nil, errors.New("journal: no directory given")
	}
	if opts.Log == nil {
		opts.Log = slog.New(slog.DiscardHandler)
	}
	j, err := open(context.Background(), opts, migrations)
	if err != nil {
		return nil, fmt.Errorf("journal: opening %s: %w", opts.Dir, explain(err))
	}
	return j, nil
}

func open(ctx context.Context, opts Options, steps []string) (_ *Journal, err error) {
	if err := os.MkdirAll(opts.Dir, 0o750); err != nil {
		return nil, err
	}
	j := &Journal{dir: opts.Dir, log: opts.Log, hooks: opts.Hooks, reserve: newReserve(opts.Dir)}
	if j.lock, err = acquire(opts.Dir); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = j.close()
		}
	}()
	if err := j.openWriter(ctx, steps); err != nil {
		return nil, err
	}
	if err := syncDir(opts.Dir); err != nil {
		return nil, err
	}
	j.read, err = sql.Open("sqlite", dsn(opts.Dir, "query_only(1)"))
	if err != nil {
		return nil, err
	}
	j.read.SetMaxOpenConns(readers)
	if err := j.continueSeq(ctx); err != nil {
		return nil, err
	}
	return j, j.compare(ctx)
}

// openWriter gives the reserve up if there is no room to open the database, and
// takes it back if there is.
func (j *Journal) openWriter(ctx context.Context, steps []string) error {
	err := j.connectWriter(ctx, steps)
	if isFull(err) && j.reserve.release() {
		_ = j.closeWriter()
		err = j.connectWriter(ctx, steps)
	}
	switch {
	case isFull(err):
		return fmt.Errorf("%w: %w", ErrFull, err)
	case err == nil:
		_ = j.reserve.take() // without it, the first write says that the disk is full
	}
	return err
}

func (j *Journal) connectWriter(ctx context.Context, steps []string) (err error) {
	j.write, err = sql.Open("sqlite", dsn(j.dir, "journal_mode(WAL)", "synchronous(FULL)", walLimit))
	if err != nil {
		return err
	}
	j.write.SetMaxOpenConns(1)
	if j.conn, err = j.write.Conn(ctx); err != nil {
		return err
	}
	if err := migrate(ctx, j.conn, steps); err != nil {
		return err
	}
	if j.hooks.MaxPages > 0 {
		if _, err := j.conn.ExecContext(ctx, fmt.Sprintf("PRAGMA max_page_count = %d", j.hooks.MaxPages)); err != nil {
			return err
		}
	}
	if _, err := j.conn.ExecContext(ctx, fmt.Sprintf("PRAGMA busy_timeout = %d", writerPatience.Milliseconds())); err != nil {
		return err
	}
	return j.stmts.prepare(ctx, j.conn)
}

// writerPatience is how long one try of a write waits for another process that
// holds the database: long enough for a few writes of its own, and short enough
// for a daemon that is told to stop.
const writerPatience = 400 * time.Millisecond

// walLimit lets a write-ahead log that a large backlog made long shrink again:
// boards have small disks.
const walLimit = "journal_size_limit(16777216)"

// dsn opens the database in a directory. A reader beside a writer that is
// checkpointing may find it busy for a moment.
func dsn(dir string, pragmas ...string) string {
	query := url.Values{"_pragma": append([]string{"busy_timeout(10000)"}, pragmas...)}
	return "file:" + (&url.URL{Path: filepath.Join(dir, "journal.db")}).EscapedPath() + "?" + query.Encode()
}

// syncDir makes the names of the files in dir durable.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// continueSeq finds the Seq after the newest that was ever given.
func (j *Journal) continueSeq(ctx context.Context) error {
	err := j.conn.QueryRowContext(ctx, `
		SELECT 1 + max(
			ifnull((SELECT max(seq) FROM messages), 0),
			ifnull((SELECT max(seq) FROM checkpoints), 0))`).Scan(&j.next)
	if err != nil {
		return err
	}
	return j.conn.QueryRowContext(ctx,
		`SELECT ifnull(max(first), 0) FROM backlogs WHERE settled = 0`).Scan(&j.open)
}

// Close writes what is in the write-ahead log back into the database and
// closes it. Nothing that was reported as done depends on it.
func (j *Journal) Close(context.Context) error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.close(); err != nil {
		return fmt.Errorf("journal: closing %s: %w", j.dir, err)
	}
	return nil
}

func (j *Journal) close() error {
	var errs []error
	if j.read != nil {
		errs = append(errs, j.read.Close())
	}
	return errors.Join(append(errs, j.closeWriter(), j.tail.close(), j.lock.release())...)
}

func (j *Journal) closeWriter() error {
	var errs []error
	if j.conn != nil {
		j.stmts.close()
		errs = append(errs, j.conn.Close())
	}
	if j.write != nil {
		errs = append(errs, j.write.Close())
	}
	j.write, j.conn, j.stmts = nil, nil, statements{}
	return errors.Join(errs...)
}
