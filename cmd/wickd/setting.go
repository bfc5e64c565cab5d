package main

import (
	"slices"
	"strings"
	"text/tabwriter"
	"unicode"
	"unicode/utf8"
)

// table sets rows of figures flush right.
func table(b *strings.Builder) *tabwriter.Writer {
	return tabwriter.NewWriter(b, 0, 0, 2, ' ', tabwriter.AlignRight)
}

// padded sets the names of rows flush left, in a table whose figures are flush
// right.
func padded(names []string) []string {
	width := 0
	for _, n := range names {
		width = max(width, utf8.RuneCountInString(n))
	}
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = "  " + n + strings.Repeat(" ", width-utf8.RuneCountInString(n))
	}
	return out
}

// pageColumns is how wide text is set.
const pageColumns = 96

// paragraph sets text, its first line and the others indented.
func paragraph(text string, first, others int) string {
	return filled(text, first, others, pageColumns)
}

// filled is paragraph for lines of another length.
func filled(text string, first, others, columns int) string {
	var b strings.Builder
	column := 0
	for i, w := range together(strings.Fields(text)) {
		n := utf8.RuneCountInString(w)
		switch {
		case i == 0:
			column = first
			b.WriteString(strings.Repeat(" ", first))
		case column+1+n > columns:
			b.WriteString("\n" + strings.Repeat(" ", others))
			column = others
		default:
			b.WriteString(" ")
			column++
		}
		b.WriteString(w)
		column += n
	}
	return b.String() + "\n"
}

// together joins a number to the unit after it, which must not begin a line.
func together(words []string) []string {
	var out []string
	for _, w := range words {
		unit := strings.TrimRight(w, ".,;:)")
		last := len(out) - 1
		if last >= 0 && unicode.IsDigit(rune(out[last][len(out[last])-1])) && slices.Contains([]string{"%", "L", "mm", "cm", "cm²", "m²", "h", "days"}, unit) {
			out[last] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}
