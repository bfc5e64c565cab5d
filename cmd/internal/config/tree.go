package config

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"wickd/model/unit"
)

// kind is what a node of the file is.
type kind string

const (
	mapping  kind = "a map"
	sequence kind = "a list"
	textual  kind = "text"
	numeric  kind = "a number"
	boolean  kind = "true or false"
	nothing  kind = "nothing"
)

// node is one value of the file with its place. Aliases share the node that
// they point to, and merge keys are already merged, so a tree takes no more
// memory than the file does; it is read-only once built.
type node struct {
	kind         kind
	line, column int
	text         string // a scalar as written, unquoted
	entries      []entry
	items        []*node
}

// entry is one key of a mapping.
type entry struct {
	key   *node
	value *node
}

// planter builds the tree from the parser's syntax tree.
type planter struct {
	anchors  map[string]*node
	merged   int
	path     []string // of the value that is being read: keys, and indices in brackets
	problems *Problems
	file     string
}

func (p *planter) report(line, column int, message, hint string) {
	*p.problems = append(*p.problems, Problem{File: p.file, Line: line, Column: column, Path: p.where(), Message: message, Hint: hint})
}

// within does something one step further down the file.
func (p *planter) within(step string, do func()) {
	p.path = append(p.path, step)
	do()
	p.path = p.path[:len(p.path)-1]
}

// where is the path so far: "bags[2].tube".
func (p *planter) where() string {
	return strings.ReplaceAll(strings.Join(p.path, "."), ".[", "[")
}

// plant turns a syntax node into a node of the tree.
func (p *planter) plant(n ast.Node) *node {
	line, column := position(n)
	leaf := func(k kind, text string) *node { return &node{kind: k, line: line, column: column, text: text} }
	switch n := n.(type) {
	case *ast.MappingNode:
		return p.mapping(leaf(mapping, ""), n.Values)
	case *ast.MappingValueNode:
		return p.mapping(leaf(mapping, ""), []*ast.MappingValueNode{n})
	case *ast.SequenceNode:
		list := leaf(sequence, "")
		for i, v := range n.Values {
			p.within("["+strconv.Itoa(i)+"]", func() { list.items = append(list.items, p.plant(v)) })
		}
		return list
	case *ast.AnchorNode:
		value := p.plant(n.Value)
		p.anchors[n.Name.GetToken().Value] = value
		return value
	case *ast.AliasNode:
		return p.alias(n, line, column)
	case *ast.TagNode:
		p.report(line, column, fmt.Sprintf("the tag %q has no meaning here", n.Start.Value), "remove it")
		return p.plant(n.Value)
	case *ast.StringNode:
		if _, err := unit.Number(n.Value); err == nil && n.GetToken().Type == token.StringType {
			return leaf(numeric, n.Value) // one that is too large for the parser's numbers
		}
		return leaf(textual, n.Value)
	case *ast.LiteralNode:
		return leaf(textual, n.Value.Value)
	case *ast.IntegerNode, *ast.FloatNode, *ast.InfinityNode, *ast.NanNode:
		return leaf(numeric, n.GetToken().Value)
	case *ast.BoolNode:
		return leaf(boolean, n.Token.Value)
	case nil, *ast.NullNode:
		return leaf(nothing, "")
	default:
		p.report(line, column, fmt.Sprintf("a %s has no meaning here", n.Type().YAMLName()), "")
		return leaf(nothing, "")
	}
}

// position is where a node starts; the parser counts from 1.
func position(n ast.Node) (line, column int) {
	if n == nil {
		return 1, 1
	}
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		return position(m.Values[0].Key)
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		return position(m.Key)
	}
	t := n.GetToken()
	if t == nil || t.Position == nil {
		return 1, 1
	}
	return max(t.Position.Line, 1), max(t.Position.Column, 1)
}

func (p *planter) alias(n *ast.AliasNode, line, column int) *node {
	name := n.Value.GetToken().Value
	if target, ok := p.anchors[name]; ok {
		return target
	}
	p.report(line, column, fmt.Sprintf("the alias *%s points to nothing", name), fmt.Sprintf("mark a value further up with &%s", name))
	return &node{kind: nothing, line: line, column: column, text: unusable}
}

// unusable marks a value that has been reported already.
const unusable = "unusable"
