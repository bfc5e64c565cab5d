package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// records is an output that appears under its name only when it is complete.
type records struct {
	*bufio.Writer
	file *os.File // nil: standard output
	name string
}

func createRecords(name string, stdout io.Writer) (*records, error) {
	if name == "-" {
		return &records{Writer: bufio.NewWriter(stdout)}, nil
	}
	f, err := os.CreateTemp(filepath.Dir(name), filepath.Base(name)+".*.part")
	if err != nil {
		return nil, fmt.Errorf("records: %w", err)
	}
	return &records{Writer: bufio.NewWriterSize(f, 1<<16), file: f, name: name}, nil
}

func (r *records) keep() error {
	if err := r.Flush(); err != nil {
		return fmt.Errorf("records: %w", err)
	}
	if r.file == nil {
		return nil
	}
	const readable = 0o644
	f := r.file
	r.file = nil
	if err := errors.Join(f.Chmod(readable), f.Close(), os.Rename(f.Name(), r.name)); err != nil {
		_ = os.Remove(f.Name())
		return fmt.Errorf("records: %w", err)
	}
	return nil
}

// discard removes what was not kept.
func (r *records) discard() {
	if r.file != nil {
		_ = r.file.Close()
		_ = os.Remove(r.file.Name())
	}
}
