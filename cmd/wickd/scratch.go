package main

import (
	"os"
	"sync"
)

// scratch are directories that must not outlive the process, however it ends.
// A nil one keeps no account.
type scratch struct {
	mu   sync.Mutex
	dirs []string
}

// make makes a directory; remove takes it away.
func (s *scratch) make(pattern string) (dir string, remove func(), err error) {
	if dir, err = os.MkdirTemp("", pattern); err != nil {
		return "", nil, err
	}
	if s != nil {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.dirs = append(s.dirs, dir)
	}
	return dir, func() { _ = os.RemoveAll(dir) }, nil
}

// clear takes all of them away while others may still write to them: what is
// made in one between its emptying and its removal keeps it, so that it is
// tried again.
func (s *scratch) clear() {
	const tries = 10
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, dir := range s.dirs {
		for range tries {
			if os.RemoveAll(dir) == nil {
				break
			}
		}
	}
}
