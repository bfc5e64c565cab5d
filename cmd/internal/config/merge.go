package config

import (
	"fmt"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// maxMerged bounds the keys that merge keys copy, so that a small file cannot
// unfold into a large one.
const maxMerged = 500_000

// mapping adds the keys of a mapping and what its merge keys bring.
func (p *planter) mapping(m *node, values []*ast.MappingValueNode) *node {
	seen := map[string]*node{}
	var merges []*node
	for _, v := range values {
		if v.Key.IsMergeKey() {
			merges = append(merges, p.plant(v.Value))
			continue
		}
		e := entry{key: p.key(v.Key)}
		p.within(e.key.text, func() { e.value = p.value(v) })
		if first, twice := seen[e.key.text]; twice {
			p.within(e.key.text, func() {
				p.report(e.key.line, e.key.column, "the key is there twice", fmt.Sprintf("the first is on line %d", first.line))
			})
			continue
		}
		seen[e.key.text] = e.key
		m.entries = append(m.entries, e)
	}
	for _, source := range merges {
		p.merge(m, source, seen)
	}
	return m
}

// key reads a mapping's key as text, whatever YAML takes it for.
func (p *planter) key(k ast.MapKeyNode) *node {
	line, column := position(k)
	text := k.GetToken().Value
	switch k := k.(type) {
	case *ast.MappingKeyNode:
		return p.plant(k.Value)
	case *ast.StringNode:
		text = k.Value
	}
	return &node{kind: textual, line: line, column: column, text: text}
}

// value reads a mapping's value; one that is left out stands where its key does.
func (p *planter) value(v *ast.MappingValueNode) *node {
	n := p.plant(v.Value)
	if t := v.Value.GetToken(); n.kind == nothing && (t == nil || t.Type == token.ImplicitNullType) {
		n.line, n.column = position(v.Key)
	}
	return n
}

// merge adds the keys that m does not have itself. Of several sources the
// first wins (YAML 1.1 merge key).
func (p *planter) merge(m, source *node, seen map[string]*node) {
	switch source.kind {
	case sequence:
		for _, s := range source.items {
			if s.kind != mapping {
				p.report(s.line, s.column, "<< takes maps only", "")
				continue
			}
			p.merge(m, s, seen)
		}
	case mapping:
		for _, e := range source.entries {
			if _, own := seen[e.key.text]; own {
				continue
			}
			if p.merged++; p.merged > maxMerged {
				if p.merged == maxMerged+1 {
					p.report(m.line, m.column, "merge keys unfold into too much", fmt.Sprintf("at most %d keys", maxMerged))
				}
				return
			}
			seen[e.key.text] = e.key
			m.entries = append(m.entries, e)
		}
	default:
		if source.text != unusable {
			p.report(source.line, source.column, "<< takes a map", "for example <<: *name")
		}
	}
}
