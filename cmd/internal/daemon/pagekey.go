package daemon

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

const (
	pageKeyFile  = "page.key"
	pageKeyBytes = 32
)

// pageKey is the secret that signs links, made once and kept beside the
// journal. A new one makes the links of older messages worthless.
func pageKey(dir string) ([]byte, error) {
	path := filepath.Join(dir, pageKeyFile)
	key, err := readPageKey(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return key, err
	}
	key = make([]byte, pageKeyBytes)
	if _, err := rand.Read(key); err != nil {
		return nil, fmt.Errorf("make the key of the page's links: %w", err)
	}
	if err := writeOnce(path, key); err != nil {
		return nil, fmt.Errorf("keep the key of the page's links: %w", err)
	}
	return key, nil
}

// readPageKey refuses a key that others on the machine could have read.
func readPageKey(path string) ([]byte, error) {
	info, err := os.Lstat(path)
	if err != nil {
		return nil, fmt.Errorf("read the key of the page's links: %w", err)
	}
	if !info.Mode().IsRegular() || info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("read the key of the page's links: others may read %s: delete it, and a new one is made", path)
	}
	key, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("read the key of the page's links: %w", err)
	}
	if len(key) != pageKeyBytes {
		return nil, fmt.Errorf("read the key of the page's links: %s is damaged: delete it, and a new one is made", path)
	}
	return key, nil
}

// writeOnce writes a file that is whole as soon as it has its name.
func writeOnce(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*") // with mode 0600
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(f.Name())
		}
	}()
	if _, err = f.Write(data); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
