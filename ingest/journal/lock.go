//go:build unix

package journal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// lock holds a data directory for one writer. The kernel lets go of it when
// the process ends, however it ends.
type lock struct{ file *os.File }

func acquire(dir string) (*lock, error) {
	path := filepath.Join(dir, "journal.lock")
	file, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o640)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		holder := make([]byte, 20)
		n, _ := file.ReadAt(holder, 0) // the process id is a courtesy
		_ = file.Close()
		return nil, fmt.Errorf("%s is held by process %s: %w", path, strings.TrimSpace(string(holder[:n])), ErrLocked)
	}
	if err != nil {
		_ = file.Close()
		return nil, fmt.Errorf("locking %s: %w", path, err)
	}
	if err := file.Truncate(0); err == nil {
		_, _ = file.WriteAt([]byte(strconv.Itoa(os.Getpid())+"\n"), 0)
	}
	return &lock{file}, nil
}

func (l *lock) release() error {
	if l == nil {
		return nil
	}
	return l.file.Close()
}
