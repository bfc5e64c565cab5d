package house

import (
	"go/ast"
	"slices"
	"strconv"
)

// trees are the parts that only meet in the daemon.
var trees = []string{"ingest", "model", "alerts"}

// shared are the packages that every tree may import, and rig is the one that
// every test may: it starts the real servers.
var shared = []string{"wickd/model", "wickd/model/unit"}

const rig = "wickd/ingest/rig"

// outside is what nothing under model may import: it would be I/O, or a way to
// it. Everything below each path is meant too.
var outside = []string{
	"os", "net", "io/fs", "io/ioutil", "database", "log", "syscall", "plugin", "embed",
	"golang.org/x/net", "golang.org/x/sys",
	"github.com/eclipse", "github.com/mochi-mqtt", "github.com/influxdata", "github.com/prometheus",
	"github.com/nicholas-fedor", "github.com/goccy", "github.com/coreos", "modernc.org",
}

// owners says which part of the tree alone may import a library.
var owners = []struct {
	library string
	owner   string
	tests   bool // whether tests elsewhere are bound too
}{
	{"github.com/eclipse/paho.mqtt.golang", "ingest/mqtt", false},
	{"github.com/mochi-mqtt", "ingest/mqtt", false},
	{"github.com/goccy/go-yaml", "cmd/internal/config", true},
	{"go.yaml.in", "cmd/internal/config", false},
	{"gopkg.in/yaml.v3", "cmd/internal/config", true},
	{"github.com/influxdata/influxdb-client-go", "ingest/forward", true},
	{"modernc.org/sqlite", "ingest/journal", false},
	{"github.com/nicholas-fedor/shoutrrr", "alerts/notify", false},
}

// importing calls check for each import of a file. An import for its side
// effects alone uses nothing of a library and is passed over.
func importing(files []File, check func(f File, spec *ast.ImportSpec, imported string)) {
	for _, f := range files {
		for _, spec := range f.AST.Imports {
			if spec.Name != nil && spec.Name.Name == "_" {
				continue
			}
			if imported, err := strconv.Unquote(spec.Path.Value); err == nil {
				check(f, spec, imported)
			}
		}
	}
}

// Sideways finds imports from one tree into another, or up into cmd or deploy.
func Sideways(files []File) []Finding {
	var found []Finding
	importing(files, func(f File, spec *ast.ImportSpec, imported string) {
		if !below(imported, module) || slices.Contains(shared, imported) || f.Test && imported == rig {
			return
		}
		for _, tree := range trees {
			if f.within(tree) && !below(imported, module+"/"+tree) {
				found = append(found, f.at(spec, "%s may not import %s: they meet in the daemon", tree, imported))
			}
		}
		if f.within("deploy") && !below(imported, module+"/deploy") {
			found = append(found, f.at(spec, "deploy may not import %s", imported))
		}
	})
	return found
}

// InputOutput finds imports under model that reach the outside. Tests may: they
// read their examples from files.
func InputOutput(files []File) []Finding {
	var found []Finding
	importing(files, func(f File, spec *ast.ImportSpec, imported string) {
		if f.Test || !f.within("model") {
			return
		}
		for _, o := range outside {
			if below(imported, o) {
				found = append(found, f.at(spec, "nothing under model does I/O, and %s can", imported))
			}
		}
	})
	return found
}

// Owned finds imports of a library by others than its owner.
func Owned(files []File) []Finding {
	var found []Finding
	importing(files, func(f File, spec *ast.ImportSpec, imported string) {
		for _, o := range owners {
			if below(imported, o.library) && !f.within(o.owner) && (o.tests || !f.Test) {
				found = append(found, f.at(spec, "only %s imports %s", o.owner, imported))
			}
		}
	})
	return found
}
