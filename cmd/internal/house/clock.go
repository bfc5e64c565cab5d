package house

import (
	"go/ast"
	"slices"
	"strconv"
)

// clocked are the trees where time, waiting and chance are arguments.
var clocked = []string{"model", "alerts"}

// banned are the functions that take time or chance from elsewhere than their
// arguments, by the package they come from.
var banned = map[string][]string{
	"time":    {"Now", "Since", "Until", "After", "AfterFunc", "NewTimer", "NewTicker", "Tick", "Sleep"},
	"context": {"WithTimeout", "WithTimeoutCause", "WithDeadline", "WithDeadlineCause"},
	"math/rand": {
		"ExpFloat64", "Float32", "Float64", "Int", "Int31", "Int31n", "Int63", "Int63n", "Intn",
		"NormFloat64", "Perm", "Read", "Seed", "Shuffle", "Uint32", "Uint64",
	},
	"math/rand/v2": {
		"ExpFloat64", "Float32", "Float64", "Int", "Int32", "Int32N", "Int64", "Int64N", "IntN", "N",
		"NormFloat64", "Perm", "Shuffle", "Uint", "Uint32", "Uint32N", "Uint64", "Uint64N", "UintN",
	},
	"crypto/rand": {"Int", "Prime", "Read", "Text"},
}

// waits are the places that may wait by the real clock, and why.
var waits = []struct{ file, function, reason string }{
	{"alerts/notify/dispatcher.go", "time.NewTimer", "the sender sleeps until the next message is due; when that is, it is told"},
	{"alerts/notify/sender.go", "context.WithTimeout", "a server that does not answer must not hold the others up"},
	{"alerts/notify/desk.go", "context.WithTimeout", "marking what was sent must not hold up the end"},
}

// Clock finds functions under model and alerts that read the clock, wait, or
// draw from a shared random source. Tests may measure.
func Clock(files []File) []Finding {
	var found []Finding
	for _, f := range files {
		if f.Test || !slices.ContainsFunc(clocked, f.within) {
			continue
		}
		uses(f, func(n ast.Node, function string) {
			if !excused(f.Path, function) {
				found = append(found, f.at(n, "%s: time and chance are arguments here", function))
			}
		})
		found = append(found, dotImports(f)...)
	}
	return found
}

// Excuses finds excuses that no file makes use of any longer.
func Excuses(files []File) []Finding {
	used := map[string]bool{}
	for _, f := range files {
		uses(f, func(_ ast.Node, function string) { used[f.Path+" "+function] = true })
	}
	var found []Finding
	for _, w := range waits {
		if !used[w.file+" "+w.function] {
			found = append(found, Finding{Where: w.file, What: w.function + " is excused but not used"})
		}
	}
	return found
}

// uses calls see for every use of a banned function, as "package.Function" with
// the package's full path.
func uses(f File, see func(n ast.Node, function string)) {
	names := importNames(f)
	ast.Inspect(f.AST, func(n ast.Node) bool {
		selector, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		pkg, ok := selector.X.(*ast.Ident)
		if !ok || pkg.Obj != nil { // Obj: a variable that has the package's name
			return true
		}
		if imported := names[pkg.Name]; slices.Contains(banned[imported], selector.Sel.Name) {
			see(n, imported+"."+selector.Sel.Name)
		}
		return true
	})
}

func excused(file, function string) bool {
	for _, w := range waits {
		if w.file == file && w.function == function {
			return true
		}
	}
	return false
}

// importNames maps the names in a file to the banned packages behind them.
func importNames(f File) map[string]string {
	names := map[string]string{}
	for _, spec := range f.AST.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil || banned[imported] == nil {
			continue
		}
		name := map[string]string{"time": "time", "context": "context"}[imported]
		if name == "" {
			name = "rand"
		}
		if spec.Name != nil {
			name = spec.Name.Name
		}
		names[name] = imported
	}
	return names
}

// dotImports would hide the package's name from the check.
func dotImports(f File) []Finding {
	var found []Finding
	for name, imported := range importNames(f) {
		if name == "." {
			found = append(found, f.at(f.AST.Name, "a dot import of %s hides the clock", imported))
		}
	}
	return found
}
