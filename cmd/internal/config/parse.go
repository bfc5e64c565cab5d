package config

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

const (
	// maxSize bounds the file: 10 000 bags that are each written out in full
	// take about 3 MB.
	maxSize = 4 << 20
	// maxNesting bounds brackets within brackets; the deepest that the file
	// has use for is 5. The parser's time grows with the square of it.
	maxNesting = 50
)

// parseTree reads YAML into a tree, or nil when it cannot be read at all.
func parseTree(file string, data []byte) (*node, Problems) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if problems := inspect(file, data); len(problems) > 0 {
		return nil, problems
	}
	syntax, err := parser.ParseBytes(data, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return nil, Problems{syntaxProblem(file, data, err)}
	}
	var problems Problems
	p := &planter{anchors: map[string]*node{}, problems: &problems, file: file}
	body := p.document(syntax.Docs)
	if body == nil {
		return nil, append(problems, Problem{File: file, Line: 1, Column: 1, Message: "the file is empty", Hint: "start with site:, reservoirs:, channels: and bags:"})
	}
	root := p.plant(body)
	return root, problems
}

// document picks the one document of the file.
func (p *planter) document(docs []*ast.DocumentNode) ast.Node {
	var body ast.Node
	for _, d := range docs {
		if _, directive := d.Body.(*ast.DirectiveNode); d.Body == nil || directive {
			continue
		}
		if body != nil {
			line, column := position(d.Body)
			p.report(line, column, "a second document starts here", `remove the "---" above it`)
			break
		}
		body = d.Body
	}
	return body
}

// inspect refuses what the parser could not report well or read in good time.
func inspect(file string, data []byte) Problems {
	whole := func(message, hint string) Problems {
		return Problems{{File: file, Line: 1, Column: 1, Message: message, Hint: hint}}
	}
	if len(data) > maxSize {
		return whole(fmt.Sprintf("the file is larger than %d MiB", maxSize>>20), "")
	}
	if bytes.HasPrefix(data, []byte{0x1f, 0x8b}) { // RFC 1952 §2.3.1
		return whole("the file is compressed", "unpack it first, for example with gunzip")
	}
	var problems Problems
	depth, strange, first := 0, 0, 0
	for i, line := range bytes.Split(data, []byte("\n")) {
		add := func(column int, message, hint string) {
			problems = append(problems, Problem{File: file, Line: i + 1, Column: column, Message: message, Hint: hint})
		}
		if at, found := foreign(line); found {
			if strange++; strange == 1 {
				first = len(problems)
				add(at, "a character here is not text", "save the file as UTF-8")
			}
		}
		if at := tabIndent(line); at > 0 {
			add(at, "a tab indents this line", "use spaces")
		}
		if depth = nesting(line, depth); depth > maxNesting {
			add(1, "brackets are nested too deeply", fmt.Sprintf("at most %d deep", maxNesting))
			return problems
		}
	}
	if strange > 1 {
		problems[first].Message += fmt.Sprintf(", nor in %d other lines", strange-1)
	}
	return problems
}

// foreign finds the first byte that is not UTF-8 or a control character.
func foreign(line []byte) (column int, found bool) {
	for column = 1; len(line) > 0; column++ {
		r, size := utf8.DecodeRune(line)
		control := r < ' ' && r != '\t' && r != '\r' || r == 0x7f
		if r == utf8.RuneError && size == 1 || control {
			return column, true
		}
		line = line[size:]
	}
	return 0, false
}

// tabIndent finds a tab before the first character of a line that has one.
func tabIndent(line []byte) (column int) {
	rest := bytes.TrimLeft(line, " \t")
	tab := bytes.IndexByte(line[:len(line)-len(rest)], '\t')
	if tab < 0 || len(bytes.TrimSpace(rest)) == 0 || rest[0] == '#' {
		return 0
	}
	return tab + 1
}

// nesting follows the depth of brackets, and of dashes and question marks that
// open lists and keys at the start of one line.
func nesting(line []byte, depth int) int {
	leading := bytes.TrimLeft(line, "-? \t:")
	opened := bytes.Count(line[:len(line)-len(leading)], []byte("- ")) + bytes.Count(line[:len(line)-len(leading)], []byte("? "))
	deepest := max(depth, opened)
	for _, b := range leading {
		switch b {
		case '[', '{':
			depth++
		case ']', '}':
			depth = max(depth-1, 0)
		}
		deepest = max(deepest, depth)
	}
	if deepest > maxNesting {
		return deepest
	}
	return depth
}

// syntaxProblem carries the parser's own message over, and says how to mend it
// where it is a usual mistake.
func syntaxProblem(file string, data []byte, err error) Problem {
	p := Problem{File: file, Line: 1, Column: 1, Message: "this is not YAML", Hint: ""}
	var positioned yaml.Error
	if !errors.As(err, &positioned) {
		return p
	}
	if t := positioned.GetToken(); t != nil && t.Position != nil {
		p.Line, p.Column = max(t.Position.Line, 1), max(t.Position.Column, 1)
	}
	p.Message = "this is not YAML: " + strings.Join(strings.Fields(positioned.GetMessage()), " ")
	if lines := strings.Split(string(data), "\n"); p.Line <= len(lines) {
		p.Hint = unquoted(lines[p.Line-1])
	}
	return p
}

var (
	bareBraces = regexp.MustCompile(`([\w-]+): +([^\s"',]*\{id\}[^\s"',}\]]*)`)
	bareColon  = regexp.MustCompile(`^[\s-]*([\w -]+): +[^\s"'\[{|>#][^"'#]*:(\s|$)`)
)

// unquoted says which value of a line YAML reads as something else than text.
// What has a colon in it may be a secret, so that it is not repeated.
func unquoted(line string) (hint string) {
	if m := bareBraces.FindStringSubmatch(line); m != nil {
		return fmt.Sprintf("put what has braces in quotes: %s: %q", m[1], m[2])
	}
	if m := bareColon.FindStringSubmatch(line); m != nil {
		return fmt.Sprintf("put what has a colon in quotes: %s: \"…\"", m[1])
	}
	return ""
}
