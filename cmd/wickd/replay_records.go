package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// records is an output that appears under its name only when it is complete. A
// device or a pipe takes what comes as it comes.
type records struct {
	*bufio.Writer
	file *os.File // nil: standard output
	name string   // under which file is kept; empty: it is written in its place
}

func createRecords(name string, stdout io.Writer) (*records, error) {
	if name == "-" {
		return &records{Writer: bufio.NewWriter(stdout)}, nil
	}
	info, err := os.Stat(name)
	if err == nil && !info.Mode().IsRegular() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return nil, recordsError(name, err)
		}
		return &records{Writer: bufio.NewWriter(f), file: f}, nil
	}
	if err == nil {
		if name, err = filepath.EvalSymlinks(name); err != nil {
			return nil, recordsError(name, err)
		}
	}
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".*.part")
	if err != nil {
		return nil, recordsError(name, err)
	}
	return &records{Writer: bufio.NewWriterSize(f, 1<<16), file: f, name: name}, nil
}

// foreignRecords says that a file that is there holds something else.
func foreignRecords(name string) bool {
	const start = `{"record":`
	if info, err := os.Stat(name); err != nil || !info.Mode().IsRegular() || info.Size() == 0 {
		return false
	}
	f, err := os.Open(name)
	if err != nil {
		return false // whether it can be written is seen when it is
	}
	defer func() { _ = f.Close() }()
	head := make([]byte, len(start))
	_, err = io.ReadFull(f, head)
	return err != nil || string(head) != start
}

// recordsError says where the records cannot go, without the name of the file
// that they are collected in.
func recordsError(name string, err error) error {
	var path *os.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return fmt.Errorf("--records %s: %w; name a file in a directory that you may write to", name, err)
}

func (r *records) keep() error {
	if err := r.Flush(); err != nil {
		return fmt.Errorf("records: %w", err)
	}
	if r.file == nil {
		return nil
	}
	f := r.file
	r.file = nil
	if r.name == "" {
		if err := f.Close(); err != nil {
			return fmt.Errorf("records: %w", err)
		}
		return nil
	}
	const readable = 0o644
	if err := errors.Join(f.Chmod(readable), f.Close(), os.Rename(f.Name(), r.name)); err != nil {
		_ = os.Remove(f.Name())
		return fmt.Errorf("records: %w", err)
	}
	return nil
}

// discard removes what was not kept.
func (r *records) discard() {
	if r.file == nil {
		return
	}
	_ = r.file.Close()
	if r.name != "" {
		_ = os.Remove(r.file.Name())
	}
}
