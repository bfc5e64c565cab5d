package house

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
)

// module is the module's path, the first element of every import of its own.
const module = "wickd"

// File is one parsed Go file.
type File struct {
	Path string // relative to the top, with slashes: "model/site.go"
	Test bool   // a _test.go file
	AST  *ast.File

	set *token.FileSet
}

// Finding is one breach of a rule.
type Finding struct {
	Where string // file:line
	What  string
}

func (f Finding) String() string { return f.Where + ": " + f.What }

// Parse parses one file of the tree.
func Parse(name, content string) (File, error) {
	set := token.NewFileSet()
	tree, err := parser.ParseFile(set, name, content, parser.ParseComments)
	if err != nil {
		return File{}, fmt.Errorf("parse %s: %w", name, err)
	}
	return File{Path: name, Test: strings.HasSuffix(name, "_test.go"), AST: tree, set: set}, nil
}

// Load parses every Go file below top that the Go command would look at.
func Load(top string) ([]File, error) {
	var files []File
	err := filepath.WalkDir(top, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if p != top && (strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_") || name == "testdata") {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		content, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		relative, err := filepath.Rel(top, p)
		if err != nil {
			return err
		}
		file, err := Parse(filepath.ToSlash(relative), string(content))
		files = append(files, file)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("load the source: %w", err)
	}
	return files, nil
}

// dir is the directory of the file's package: "model/unit".
func (f File) dir() string { return path.Dir(f.Path) }

// within says whether the file lies in the tree of directory d.
func (f File) within(d string) bool { return below(f.dir(), d) }

// below says whether the path p is d or lies under it.
func below(p, d string) bool { return p == d || strings.HasPrefix(p, d+"/") }

func (f File) at(n ast.Node, format string, args ...any) Finding {
	where := fmt.Sprintf("%s:%d", f.Path, f.set.Position(n.Pos()).Line)
	return Finding{Where: where, What: fmt.Sprintf(format, args...)}
}
