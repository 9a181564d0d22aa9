package source

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"panelwright/internal/fault"
)

// guarded walks the tree; nil nodes in it, which the library is known to leave, end as a fault.
func (w *walker) guarded(doc *ast.DocumentNode) (root *Node) {
	defer func() {
		if p := recover(); p != nil {
			w.fault(0, 0, "", "yaml", "text that the YAML reader cannot follow", "look for odd brackets, quotes or indentation")
			root = nil
		}
	}()
	return w.node(doc.Body, "", fault.Pos{File: w.file, Line: 1, Col: 1}, 0)
}

func (w *walker) pos(t *token.Token) fault.Pos {
	return fault.Pos{File: w.file, Line: t.Position.Line, Col: max(1, t.Position.Column)}
}

// node turns n into ours; at is where it would stand if the library does not say.
func (w *walker) node(n ast.Node, path string, at fault.Pos, depth int) *Node {
	if n == nil || depth > 4*MaxDepth {
		return &Node{Kind: Null, Pos: at, Path: path}
	}
	t := n.GetToken()
	if t == nil || t.Position == nil {
		return &Node{Kind: Null, Pos: at, Path: path}
	}
	switch v := n.(type) {
	case *ast.MappingNode:
		return w.mapping(v.Values, v.IsFlowStyle, t, path, depth)
	case *ast.MappingValueNode:
		return w.mapping([]*ast.MappingValueNode{v}, false, t, path, depth)
	case *ast.SequenceNode:
		out := &Node{Kind: List, Pos: w.pos(t), Path: path}
		for i, e := range v.Values {
			out.Items = append(out.Items, w.node(e, item(path, i), out.Pos, depth+1))
		}
		return out
	case *ast.AnchorNode:
		w.refuse(t, path, "anchor", "an anchor (&)", "delete it, and write the value out where it is needed")
		return w.node(v.Value, path, w.pos(t), depth+1)
	case *ast.AliasNode:
		w.refuse(t, path, "anchor", "an alias (*)", "write the value out; put quotes around text that begins with *")
		return &Node{Kind: Null, Pos: w.pos(t), Path: path, Text: "*"}
	case *ast.TagNode:
		w.refuse(t, path, "tag", "a tag ("+Cut(t.Value)+")", "delete it; put quotes around text that begins with !")
		return w.node(v.Value, path, w.pos(t), depth+1)
	case *ast.NullNode:
		return w.null(t, path, at)
	case *ast.LiteralNode:
		text := ""
		if v.Value != nil {
			text = v.Value.Value
		}
		return &Node{Kind: Scalar, Pos: w.pos(t), Path: path, Text: text, Quoted: true}
	}
	quoted := t.Type == token.SingleQuoteType || t.Type == token.DoubleQuoteType
	out := &Node{Kind: Scalar, Pos: w.pos(t), Path: path, Text: t.Value, Quoted: quoted}
	if !quoted {
		out.onLine, out.comment = w.onLine(out.Pos, t.Value)
	}
	return out
}

// onLine says whether text stands at pos in the file just so, and what comment follows it on the line.
func (w *walker) onLine(pos fault.Pos, text string) (found bool, comment string) {
	line := w.line(pos.Line)
	i := pos.Col - 1
	if i < 0 {
		return false, ""
	}
	for _, c := range text {
		if i >= len(line) || line[i] != c {
			return false, ""
		}
		i++
	}
	return true, commentAfter(line[min(i, len(line)):])
}

func (w *walker) refuse(t *token.Token, path, rule, what, hint string) {
	p := w.pos(t)
	w.fault(p.Line, p.Col, path, rule, what+", which this file may not use", hint)
}

func (w *walker) mapping(values []*ast.MappingValueNode, flow bool, t *token.Token, path string, depth int) *Node {
	out := &Node{Kind: Map, Pos: w.pos(t), Path: path}
	first := map[string]fault.Pos{}
	for i, v := range values {
		if v == nil || v.Key == nil {
			continue
		}
		key, kt, ok := w.key(v.Key, path)
		if i == 0 && !flow && kt != nil {
			out.Pos = w.pos(kt)
		}
		if !ok {
			continue
		}
		at := w.pos(kt)
		if before, twice := first[key]; twice {
			w.fault(at.Line, at.Col, child(path, key), "duplicate-key", fmt.Sprintf("%s stands twice, first on line %d", Cut(key), before.Line), "keep one")
			continue
		}
		first[key] = at
		out.Entries = append(out.Entries, Entry{Key: key, KeyPos: at, Value: w.node(v.Value, child(path, key), at, depth+1)})
	}
	return out
}

// key reads a key, which must be plain text.
func (w *walker) key(k ast.MapKeyNode, path string) (string, *token.Token, bool) {
	t := k.GetToken()
	if t == nil || t.Position == nil {
		w.fault(0, 0, path, "yaml", "a key that is not a word", "write a word before the colon")
		return "", nil, false
	}
	switch k.(type) {
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NullNode:
		return t.Value, t, true
	case *ast.MergeKeyNode:
		w.refuse(t, path, "anchor", "a merge key (<<)", "write the keys out")
		return "", t, false
	}
	w.refuse(t, path, "yaml", "a key that is not a word", "write a word before the colon")
	return "", t, false
}

// null is an empty value, at its key, or a written null or ~, where it stands.
func (w *walker) null(t *token.Token, path string, at fault.Pos) *Node {
	pos := w.pos(t)
	if found, comment := w.onLine(pos, t.Value); found {
		return &Node{Kind: Null, Pos: pos, Path: path, Text: t.Value, comment: comment}
	}
	_, comment := w.onLine(pos, "") // after the colon
	return &Node{Kind: Null, Pos: at, Path: path, comment: comment}
}

// commentAfter is the comment that the rest of a line begins with, "" when something else comes first.
func commentAfter(rest []rune) string {
	for i, c := range rest {
		switch c {
		case ' ', '\t', ':', '-':
		case '#':
			return strings.TrimSpace(string(rest[i:]))
		default:
			return ""
		}
	}
	return ""
}
