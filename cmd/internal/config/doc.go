// Package config reads the site file: YAML in, a model.Site and plain options
// for the daemon out, or every problem of the file at once, each with line,
// column, path and a way to write it.
//
// A file passes through four steps, each of which goes on after a problem:
//
//	parse    YAML with the aliases and merge keys of its syntax tree → a tree of nodes
//	decode   nodes → raw structs: known keys, kinds, units, bounds of single values
//	build    raw structs → model.Site and options: references, topics, ids, figures that must fit each other
//	sort     problems in the order of the file, each once
//
// Only a file that is not YAML stops at the first step. The raw structs are
// the one description of the format: their tags give keys, bounds and examples
// to the decoder and the JSON Schema to editors.
//
// What the package does not do: it opens no file but the one that it is told
// to, and those of secrets when Secret.Read is called; it starts nothing, and
// translates nothing into the options of components, which is the daemon's
// part. It is the only one that imports a YAML library.
//
// Invariants: a Config comes with no problems, its references hold, its ids
// and the sources of its sensors are unique, its slices are in the order of
// the file (bags) or sorted by id; the same bytes give the same Config. No
// secret is in a Config, a Problem or an error. Size, nesting and what aliases
// unfold into are bounded.
//
// Parse and Load are safe for concurrent use; a Config is read-only.
package config
