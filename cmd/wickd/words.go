package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// list names things: "a1, a2 and a3", or how many there are.
func list(ids []string) string {
	const most = 6
	switch n := len(ids); {
	case n == 0:
		return ""
	case n == 1:
		return ids[0]
	case n <= most:
		return strings.Join(ids[:n-1], ", ") + " and " + ids[n-1]
	default:
		return fmt.Sprintf("%s and %d more", strings.Join(ids[:most], ", "), n-most)
	}
}

// span names bags in short: "p1–p4" where their ids count up by one, and a list
// otherwise.
func span(ids []string) string {
	if len(ids) < 3 {
		return strings.Join(ids, ", ")
	}
	stem, first, ok := numbered(ids[0])
	for i, id := range ids {
		s, n, isNumbered := numbered(id)
		ok = ok && isNumbered && s == stem && n == first+i
	}
	if !ok {
		return list(ids)
	}
	return ids[0] + "–" + ids[len(ids)-1]
}

// numbered parts the number at the end of an id; not one with a leading zero
// beside one without, which would count up by look only.
func numbered(id string) (stem string, n int, ok bool) {
	stem = strings.TrimRightFunc(id, func(r rune) bool { return r >= '0' && r <= '9' })
	n, err := strconv.Atoi(id[len(stem):])
	return stem, n, err == nil
}

// capital makes the first letter of a sentence a capital.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return ""
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// latitude writes degrees as maps do.
func latitude(degrees float64) string {
	side := "N"
	if degrees < 0 {
		side = "S"
	}
	return fmt.Sprintf("%.1f° %s", math.Abs(degrees), side)
}

// fileName makes of a name one that every file system takes.
func fileName(name string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsLetter(r) && r < utf8.RuneSelf, unicode.IsDigit(r) && r < utf8.RuneSelf, strings.ContainsRune("-_.", r):
			return r
		case r == '–':
			return '-'
		}
		return '_'
	}, name)
}

// plural counts things in words.
func plural(n int, one, many string) string {
	return fmt.Sprintf("%d %s", n, pluralOf(n, one, many))
}

// pluralOf is the word for so many things, without their number.
func pluralOf(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
