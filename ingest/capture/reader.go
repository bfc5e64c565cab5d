package capture

import (
	"bufio"
	"bytes"
	"compress/flate"
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"wickd/ingest"
)

// MaxLine is the longest line that is read, in bytes: far longer than any
// sensor's message.
const MaxLine = 1 << 20

// ErrTruncated says that a capture ends in the middle: it was cut off while it
// was being written or copied. What came before is good.
var ErrTruncated = errors.New("the capture ends in the middle of a line or of its compressed data")

// LineError is an error in one line.
type LineError struct {
	File string
	Line int64
	Err  error
	Hint string
	// Final says that nothing after it can be read: Next goes on returning it.
	Final bool
}

// Error is file:line: what is wrong.
func (e *LineError) Error() string {
	text := fmt.Sprintf("%s:%d: %v", e.File, e.Line, e.Err)
	if e.Hint != "" {
		text += "; " + e.Hint
	}
	return text
}

// Unwrap gives the cause.
func (e *LineError) Unwrap() error { return e.Err }

// Reader reads a capture.
type Reader struct {
	name  string
	in    *bufio.Reader
	line  int64
	close []io.Closer
	long  []byte // a line that is longer than the buffer
	err   error  // that ended the capture
}

// OpenAs opens a capture in a file that the user knows by another name.
func OpenAs(path, name string) (*Reader, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("capture: %w", err)
	}
	if info, err := file.Stat(); err == nil && info.IsDir() {
		_ = file.Close()
		return nil, fmt.Errorf("capture: %s is a directory; give the recording in it", name)
	}
	r, err := NewReader(name, file)
	if err != nil {
		_ = file.Close()
		return nil, err
	}
	r.close = append(r.close, file)
	return r, nil
}

// NewReader reads a capture, compressed or not; name goes into errors.
func NewReader(name string, in io.Reader) (*Reader, error) {
	r := &Reader{name: name, in: bufio.NewReaderSize(in, 64<<10)}
	if mark, _ := r.in.Peek(3); bytes.Equal(mark, []byte("\ufeff")) { // some editors write it
		_, _ = r.in.Discard(len(mark))
	}
	if magic, _ := r.in.Peek(2); !bytes.Equal(magic, []byte{0x1f, 0x8b}) { // RFC 1952 §2.3.1
		return r, nil
	}
	unzip, err := gzip.NewReader(r.in)
	if err != nil {
		return nil, fmt.Errorf("capture: %s: %w", name, err)
	}
	r.in = bufio.NewReaderSize(unzip, 64<<10)
	r.close = append(r.close, unzip)
	return r, nil
}

// Close closes what Open opened.
func (r *Reader) Close() error {
	var errs []error
	for _, c := range r.close {
		errs = append(errs, c.Close())
	}
	return errors.Join(errs...)
}

// Next gives the next message; Seq is its line number. It returns io.EOF at
// the end, and a *LineError for a line that cannot be read; unless that is
// Final, the next call goes on with the line after it.
func (r *Reader) Next() (ingest.Record, error) {
	for {
		text, err := r.readLine()
		if err != nil {
			return ingest.Record{}, err
		}
		if len(bytes.TrimSpace(text)) == 0 {
			continue
		}
		record, err := Decode(bytes.TrimRight(text, "\r\n"))
		if err != nil {
			return ingest.Record{}, r.lineError(err, text)
		}
		record.Seq = r.line
		return record, nil
	}
}

func (r *Reader) lineError(err error, text []byte) error {
	if text[len(text)-1] != '\n' && r.err == io.EOF && r.line > 1 { // one line alone is something else
		return r.truncated()
	}
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) && syntax.Offset >= int64(len(bytes.TrimRight(text, "\r\n"))) {
		err = errors.New("the line breaks off")
	}
	return &LineError{File: r.name, Line: r.line, Err: err,
		Hint: `a line looks like {"tst":"2026-06-01T00:00:00Z","topic":"yard/a1/moisture","payload":"52.0"}`}
}

func (r *Reader) truncated() error { return r.breaksOff(ErrTruncated) }

// breaksOff ends the capture; what came before is good.
func (r *Reader) breaksOff(err error) error {
	r.err = &LineError{File: r.name, Line: r.line, Err: err, Final: true,
		Hint: fmt.Sprintf("%d lines before it were read", r.line-1)}
	return r.err
}

// readLine gives a line with its end; the slice is good until the next call.
func (r *Reader) readLine() ([]byte, error) {
	if r.err != nil {
		return nil, r.err
	}
	r.long = r.long[:0]
	for {
		part, err := r.in.ReadSlice('\n')
		switch {
		case err == nil && len(r.long) == 0:
			r.line++
			return part, nil
		case errors.Is(err, bufio.ErrBufferFull) || err == nil:
			if r.long = append(r.long, part...); len(r.long) > MaxLine {
				return nil, r.tooLong(err != nil)
			}
			if err == nil {
				r.line++
				return r.long, nil
			}
		default:
			return r.end(part, err)
		}
	}
}

// end deals with the end of the input: err is io.EOF or what went wrong.
func (r *Reader) end(part []byte, err error) ([]byte, error) {
	r.long = append(r.long, part...)
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF):
		r.line++
		return nil, r.truncated()
	case spoiled(err):
		r.line++
		return nil, r.breaksOff(fmt.Errorf("%w: %w", ErrTruncated, err))
	case err != io.EOF:
		r.line++
		r.err = &LineError{File: r.name, Line: r.line, Err: err, Final: true, Hint: "the file is damaged from here on"}
		return nil, r.err
	}
	r.err = io.EOF
	if len(r.long) == 0 {
		return nil, io.EOF
	}
	r.line++
	return r.long, nil
}

// spoiled says that compressed data were changed after they had been written.
func spoiled(err error) bool {
	var corrupt flate.CorruptInputError
	return errors.As(err, &corrupt) || errors.Is(err, gzip.ErrChecksum) || errors.Is(err, gzip.ErrHeader)
}

// tooLong skips the rest of a line that is longer than MaxLine.
func (r *Reader) tooLong(more bool) error {
	r.line++
	for more {
		_, err := r.in.ReadSlice('\n')
		more = errors.Is(err, bufio.ErrBufferFull)
	}
	return &LineError{File: r.name, Line: r.line, Err: fmt.Errorf("the line is longer than %d bytes", MaxLine),
		Hint: "no message of a sensor is that long: is this a capture?"}
}
