package capture

import (
	"bufio"
	"io"

	"wickd/ingest"
)

// Writer writes a capture.
type Writer struct {
	out *bufio.Writer
	buf []byte
}

// NewWriter writes to out, which stays the caller's to close.
func NewWriter(out io.Writer) *Writer {
	return &Writer{out: bufio.NewWriterSize(out, 64<<10)}
}

// Write writes one message.
func (w *Writer) Write(r ingest.Record) (err error) {
	if w.buf, err = Encode(w.buf[:0], r); err != nil {
		return err
	}
	_, err = w.out.Write(w.buf)
	return err
}

// Flush must be called at the end.
func (w *Writer) Flush() error { return w.out.Flush() }
