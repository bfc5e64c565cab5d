//go:build unix

package daemon

import (
	"fmt"
	"syscall"
)

// freeAt gives the bytes that an ordinary user may still write to the disk that
// holds a directory.
func freeAt(dir string) (int64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return 0, fmt.Errorf("look at the disk of %s: %w", dir, err)
	}
	return int64(s.Bavail) * int64(s.Bsize), nil
}
