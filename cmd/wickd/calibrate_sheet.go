package main

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"wickd/model/unit"
)

// column is one of the figures that a calibration asks for.
type column struct {
	name     string
	question string   // asked of a person
	words    []string // what it may hold instead of a number; empty: numbers only
	optional bool     // may be empty, or missing altogether
}

// sheet is what was read: rows of figures by column.
type sheet struct {
	rows []row
}

// row is one reading. A number that was not given is missing from numbers.
type row struct {
	where   string
	numbers map[string]float64
	words   map[string]string
}

// Bounds of what is read: a grower does not weigh a bag ten thousand times, and whoever
// gave the wrong file need not be told of every line.
const (
	maxSheet    = 1 << 20
	maxRows     = 10_000
	maxMistakes = 20
)

// readSheet reads comma-separated values whose first line names the columns, in
// any order. Every mistake names its line. Semicolons or tabs may part them too,
// as spreadsheets write them where the comma is a decimal point; then a comma in
// a number is one.
func readSheet(name string, from io.Reader, columns []column) (sheet, error) {
	text, err := io.ReadAll(io.LimitReader(from, maxSheet))
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		err = path.Err // its name is told already
	}
	if err != nil {
		return sheet{}, fmt.Errorf("read %s: %w", name, err)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(text))
	r.Comma = parting(text)
	r.Comment, r.TrimLeadingSpace, r.FieldsPerRecord = '#', r.Comma != '\t', -1
	header, err := r.Read()
	if err != nil {
		if errors.Is(err, io.EOF) {
			return sheet{}, fmt.Errorf("%s is empty; its first line has to be: %s", name, names(columns))
		}
		return sheet{}, fmt.Errorf("read %s: %w", name, err)
	}
	order, err := arrange(header, columns)
	if err != nil {
		return sheet{}, fmt.Errorf("%s:1: %w", name, err)
	}
	var s sheet
	var mistakes []error
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil { // where the next line begins is not known after that
			mistakes = append(mistakes, fmt.Errorf("read %s: %w", name, err))
			break
		}
		line, _ := r.FieldPos(0)
		where := fmt.Sprintf("%s:%d", name, line)
		if len(s.rows) == maxRows {
			mistakes = append(mistakes, fmt.Errorf("%s: more than %d readings", where, maxRows))
			break
		}
		if r.Comma != ',' {
			pointed(record)
		}
		given, err := newRow(where, record, order)
		if err != nil {
			mistakes = append(mistakes, err)
			continue
		}
		s.rows = append(s.rows, given)
	}
	if len(mistakes) > maxMistakes {
		more := len(mistakes) - maxMistakes
		mistakes = append(mistakes[:maxMistakes], fmt.Errorf("%s: and %s", name, plural(more, "mistake more", "mistakes more")))
	}
	if len(mistakes) > 0 {
		return sheet{}, errors.Join(mistakes...)
	}
	return s, nil
}

// parting is what parts the columns, by the line that names them.
func parting(text []byte) rune {
	for line := range bytes.Lines(text) {
		switch {
		case len(bytes.TrimSpace(line)) == 0 || line[0] == '#':
			continue
		case bytes.ContainsRune(line, ','):
			return ','
		case bytes.ContainsRune(line, ';'):
			return ';'
		case bytes.ContainsRune(line, '\t'):
			return '\t'
		}
		break
	}
	return ','
}

// pointed writes decimal commas as points, where a comma parts nothing.
func pointed(record []string) {
	for i, field := range record {
		if strings.Count(field, ",") == 1 && !strings.Contains(field, ".") {
			record[i] = strings.Replace(field, ",", ".", 1)
		}
	}
}

func names(columns []column) string {
	var all []string
	for _, c := range columns {
		if !c.optional {
			all = append(all, c.name)
		}
	}
	return strings.Join(all, ",")
}

// arrange finds the columns that a header names.
func arrange(header []string, columns []column) ([]column, error) {
	var order []column
	seen := map[string]bool{}
	for _, h := range header {
		h = strings.ToLower(strings.TrimSpace(h))
		at := slices.IndexFunc(columns, func(c column) bool { return c.name == h })
		if at < 0 {
			return nil, fmt.Errorf("%q is not a column; the first line has to be: %s", h, names(columns))
		}
		if seen[h] {
			return nil, fmt.Errorf("column %q stands there twice", h)
		}
		seen[h] = true
		order = append(order, columns[at])
	}
	for _, c := range columns {
		if !c.optional && !seen[c.name] {
			return nil, fmt.Errorf("column %q is missing; the first line has to be: %s", c.name, names(columns))
		}
	}
	return order, nil
}

// newRow reads the figures of one line.
func newRow(where string, record []string, order []column) (row, error) {
	if len(record) > len(order) {
		return row{}, fmt.Errorf("%s: %d figures for %d columns; decimals are written with a point", where, len(record), len(order))
	}
	r := row{where: where, numbers: map[string]float64{}, words: map[string]string{}}
	for i, c := range order {
		text := ""
		if i < len(record) {
			text = strings.TrimSpace(record[i])
		}
		switch {
		case text == "" && c.optional:
		case text == "":
			return row{}, fmt.Errorf("%s: %s is missing", where, c.name)
		case len(c.words) > 0:
			word := strings.ToLower(text)
			if !slices.Contains(c.words, word) {
				return row{}, fmt.Errorf("%s: %s %q is none of %s", where, c.name, text, strings.Join(c.words, ", "))
			}
			r.words[c.name] = word
		default:
			x, err := unit.Number(text)
			if err != nil {
				return row{}, fmt.Errorf("%s: %s: %w", where, c.name, err)
			}
			r.numbers[c.name] = x
		}
	}
	return r, nil
}

// askSheet asks a person for one reading after the other, until an empty answer
// to the first question of one. A mistake is asked again.
func askSheet(from io.Reader, to io.Writer, columns []column) (sheet, error) {
	in := bufio.NewScanner(io.LimitReader(from, maxSheet))
	fmt.Fprintln(to, "One reading after the other; press Enter at the first question when you are done.")
	var s sheet
	for len(s.rows) < maxRows {
		fmt.Fprintf(to, "\nReading %d\n", len(s.rows)+1)
		var record []string
		for i := 0; i < len(columns); {
			c := columns[i]
			fmt.Fprintf(to, "  %s: ", c.question)
			if !in.Scan() {
				return s, in.Err()
			}
			text := strings.TrimSpace(in.Text())
			if i == 0 && text == "" {
				return s, nil
			}
			if _, err := newRow("that", []string{text}, columns[i:i+1]); err != nil {
				fmt.Fprintf(to, "  %v\n", err)
				continue
			}
			record = append(record, text)
			i++
		}
		given, err := newRow(fmt.Sprintf("reading %d", len(s.rows)+1), record, columns)
		if err != nil {
			return sheet{}, err
		}
		s.rows = append(s.rows, given)
	}
	return s, nil
}
