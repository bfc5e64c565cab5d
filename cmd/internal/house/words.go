package house

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// Explained finds packages without a doc comment that begins as godoc asks:
// "Package name" or, for a program, "Command name" or its own name.
func Explained(files []File) []Finding {
	type pkg struct {
		first File
		doc   string
	}
	packages := map[string]pkg{}
	var order []string
	for _, f := range files {
		if f.Test {
			continue
		}
		p, seen := packages[f.dir()]
		if !seen {
			p.first = f
			order = append(order, f.dir())
		}
		p.doc += f.AST.Doc.Text()
		packages[f.dir()] = p
	}
	var found []Finding
	for _, dir := range order {
		p := packages[dir]
		name := p.first.AST.Name.Name
		begin := "Package " + name + " "
		if name == "main" {
			begin = "Command "
		}
		if !strings.HasPrefix(p.doc, begin) {
			found = append(found, Finding{Where: dir, What: fmt.Sprintf("no doc comment that begins with %q", begin)})
		}
	}
	return found
}

// top is what the top of the tree may hold, besides names with a dot in front.
var top = []string{
	"cmd", "ingest", "model", "alerts", "deploy", "testdata",
	"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "go.mod", "go.sum",
}

// Top finds what does not belong at the top of the tree.
func Top(names []string) []Finding {
	var found []Finding
	for _, name := range names {
		if !strings.HasPrefix(name, ".") && !slices.Contains(top, name) {
			found = append(found, Finding{Where: name, What: "does not belong at the top of the tree"})
		}
	}
	return found
}

// The words are put together here so that this file does not find itself.
var later = regexp.MustCompile(`\b(` + strings.Join([]string{"TO" + "DO", "FIX" + "ME", "X" + "XX", "HA" + "CK"}, "|") + `)\b`)

// Later finds notes of work that was left, in any kind of text.
func Later(name, content string) []Finding {
	var found []Finding
	for i, line := range strings.Split(content, "\n") {
		if word := later.FindString(line); word != "" {
			found = append(found, Finding{Where: fmt.Sprintf("%s:%d", name, i+1), What: word + ": do it, or write it down outside the source"})
		}
	}
	return found
}
