package config

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Problem is one thing wrong in the site file, with where and how to write it.
type Problem struct {
	File    string `json:"file"`
	Line    int    `json:"line"`   // from 1
	Column  int    `json:"column"` // from 1, in characters
	Path    string `json:"path"`   // "bags[2].tube.diameter"; empty: the file as a whole
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`
}

// String is the problem in one line, as compilers print it:
//
//	site.yaml:31:12: bags[2].tube.diameter: "108" needs a unit, for example "108 mm"
func (p Problem) String() string {
	text := fmt.Sprintf("%s:%d:%d: ", p.File, p.Line, p.Column)
	if p.Path != "" {
		text += p.Path + ": "
	}
	text += p.Message
	if p.Hint != "" {
		text += ", " + p.Hint
	}
	return text
}

// Problems is everything wrong in a site file, in the order of the file. It is
// never empty when it is returned as an error.
type Problems []Problem

// Error prints one problem a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// sorted puts problems in the order of the file and drops repeats: an alias
// would otherwise report one mistake once for each of its uses.
func (ps Problems) sorted() Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column),
			cmp.Compare(a.Message, b.Message), cmp.Compare(a.Hint, b.Hint))
	})
	return slices.CompactFunc(ps, func(a, b Problem) bool {
		return a.Line == b.Line && a.Column == b.Column && a.Message == b.Message && a.Hint == b.Hint
	})
}
