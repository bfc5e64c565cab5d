package config

// place is where something stands in the file. The zero place is that of
// something that the file does not give.
type place struct {
	line, column int
	path         string
}

// given says that the file has the thing.
func (p place) given() bool { return p.line > 0 }

func (p *place) put(at place) { *p = at }

// under is the place of a key that is missing below p.
func (p place) under(key string) place {
	return place{line: p.line, column: p.column, path: join(p.path, key)}
}

func at(n *node, path string) place { return place{line: n.line, column: n.column, path: path} }

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
