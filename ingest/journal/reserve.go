package journal

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"syscall"
)

// reserveSize is room on the disk that is held back for what must still be
// written when it is full, in bytes: that it is full, who has to be told and
// what was sent. One alert with its checkpoint takes some ten pages of 4 KiB.
const reserveSize = 1 << 20

// reserve is a file that is given up when the disk is full. While it is gone,
// only what is urgent is written: messages would use its room up in minutes,
// and then nobody could be told.
type reserve struct {
	path string
	held bool
}

func newReserve(dir string) reserve { return reserve{path: filepath.Join(dir, "journal.reserve")} }

// take holds the room back, if the disk has it.
func (r *reserve) take() error {
	if r.held {
		return nil
	}
	if info, err := os.Stat(r.path); err == nil && info.Size() == reserveSize {
		r.held = true
		return nil
	}
	// Written and not only made longer: a file with holes holds nothing back.
	if err := writeSynced(r.path, make([]byte, reserveSize)); err != nil {
		_ = os.Remove(r.path)
		return err
	}
	r.held = true
	return nil
}

// release gives the room up, and says whether there was any.
func (r *reserve) release() bool {
	r.held = false
	return os.Remove(r.path) == nil
}

func writeSynced(path string, content []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o640)
	if err != nil {
		return err
	}
	_, err = f.Write(content)
	return errors.Join(err, f.Sync(), f.Close())
}

// Room says whether messages can be written: ErrFull, there is no room for them;
// ErrBusy, another process held the database at the last write and still does.
// It takes the reserve back where it can.
func (j *Journal) Room(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	const op = "looking for room"
	if err := j.room(op); err != nil {
		return err
	}
	return j.free(context.WithoutCancel(ctx), op)
}

// room must be called under the lock. What else is wrong with the disk is for
// the write itself to find.
func (j *Journal) room(op string) error {
	err := j.reserve.take()
	if errors.Is(err, syscall.ENOSPC) {
		return full(op, err)
	}
	return nil
}
