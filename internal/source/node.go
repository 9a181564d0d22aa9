// Package source turns YAML text into nodes that know their line and column, and collects faults while they are read.
//
// It wraps the one YAML library. A node of the wrong kind is a fault, never a crash; a key that nobody asked for is a
// fault with the nearest known key. The YAML that is read is the plain part of it: maps, lists, and text. No type is
// guessed: 4.30 stays "4.30", no stays "no", and who reads a field says what it is. Anchors, aliases, tags, merge keys and
// second documents are faults, for each value must stand at one place that a message can point to.
//
// Reading goes on after a fault, so that one run reports them all:
//
//	root, faults := source.Parse(name, text)
//	r := source.Reader{Faults: faults}
//	f := r.Map(root)
//	panel := Panel{Name: f.Str("name"), Thickness: f.Value("thickness", measure.Length, parser)}
//	f.Done()
//	return panel, r.Sorted()
//
// A getter whose name begins with Opt takes a key that may be missing. See the package example.
package source

import (
	"strconv"
	"unicode/utf8"

	"panelwright/internal/fault"
)

// Kind is what a node is.
type Kind int

// The kinds of node.
const (
	Null   Kind = iota // nothing after the colon, ~ or null
	Scalar             // text, number, true, …: all are text until somebody asks
	List
	Map
)

// String names the kind in a message.
func (k Kind) String() string {
	switch k {
	case Null:
		return "nothing"
	case Scalar:
		return "a single value"
	case List:
		return "a list"
	case Map:
		return "a group of keys"
	}
	panic("source: no such kind")
}

// Node is one value of the file with its place in it. Nodes are not changed after Parse.
type Node struct {
	Kind    Kind
	Pos     fault.Pos // of a list or map: its bracket or first dash or first key; of a missing value: its key
	Path    string    // panels[1].outer.thickness, lists counted from 1; "" for the root
	Text    string    // of a scalar: its source text without quotes; numbers exactly as written
	Quoted  bool      // the scalar stood in quotes or in a block
	Items   []*Node   // of a list
	Entries []Entry   // of a map, in file order, each key once
	onLine  bool      // Text stands in the file exactly so from Pos on, so that offsets in it are columns
	comment string    // what follows on the line behind #, for the hint on an unquoted #30
}

// Entry is one key of a map with its value.
type Entry struct {
	Key    string
	KeyPos fault.Pos
	Value  *Node
}

// Get is the value under key, nil when there is none or n is no map. It does not count as asked for; Fields does that.
func (n *Node) Get(key string) *Node {
	if n == nil {
		return nil
	}
	for i := range n.Entries {
		if n.Entries[i].Key == key {
			return n.Entries[i].Value
		}
	}
	return nil
}

// child is the path of key below path. A key that nobody would write is cut.
func child(path, key string) string {
	key = Cut(key)
	if path == "" {
		return key
	}
	return path + "." + key
}

// item is the path of the i-th item (from 0) below path; a message counts from 1.
func item(path string, i int) string { return path + "[" + strconv.Itoa(i+1) + "]" }

// colonPair is the text that was meant where the library, within brackets, took b:c for a key and its value.
func (n *Node) colonPair() (string, bool) {
	if n.Kind != Map || len(n.Entries) != 1 || n.Pos != n.Entries[0].KeyPos {
		return "", false
	}
	e := n.Entries[0]
	if e.Value.Kind != Scalar || e.Value.Pos.Line != e.KeyPos.Line || e.Value.Pos.Col != e.KeyPos.Col+utf8.RuneCountInString(e.Key)+1 {
		return "", false
	}
	return e.Key + ":" + e.Value.Text, true
}
