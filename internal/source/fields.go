package source

import (
	"slices"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
)

// Fields reads the keys of one map. A getter reports what is wrong at its key and gives the zero value, or the default, so
// that the caller goes on; Good says whether a key was there and right. A key with nothing after it counts as missing,
// save that a # behind it is explained. Done reports the keys that no getter asked for.
type Fields struct {
	Node  *Node // the map; of blank Fields the node that was none
	r     *Reader
	asked map[string]bool
	bad   map[string]bool
	blank bool              // no map: give zero values and stay silent
	other map[string]string // other spellings, and the key that they mean
}

// Instead names other spellings of key that people try: they are unknown keys, but the hint then names the right one.
func (f *Fields) Instead(key string, others ...string) {
	if f.other == nil {
		f.other = map[string]string{}
	}
	for _, o := range others {
		f.other[o] = key
	}
}

// OK says whether there is a map to read.
func (f *Fields) OK() bool { return !f.blank }

// Has says whether key is there with something after it. It counts as asking for the key.
func (f *Fields) Has(key string) bool {
	n := f.look(key)
	return n != nil && n.Kind != Null
}

// Good says whether key is there and none of the getters found a fault in it so far.
func (f *Fields) Good(key string) bool { return f.Has(key) && !f.bad[key] }

// Pos is where the value of key stands; the map's own place when it is missing.
func (f *Fields) Pos(key string) fault.Pos {
	if n := f.Node.Get(key); n != nil {
		return n.Pos
	}
	return f.Node.Pos
}

// Path is the path of key, for a fault about it.
func (f *Fields) Path(key string) string { return child(f.Node.Path, key) }

// Get is the value under key, or nil when it is missing or empty. It counts as asked for, and no fault is reported.
func (f *Fields) Get(key string) *Node {
	if n := f.look(key); n != nil && n.Kind != Null {
		return n
	}
	return nil
}

// Keys lists the keys in file order.
func (f *Fields) Keys() []string {
	var out []string
	for _, e := range f.Node.Entries {
		out = append(out, e.Key)
	}
	return out
}

// Fault reports something wrong with the value of key, whether it is there or not.
func (f *Fields) Fault(key, rule, text, hint string) {
	f.bad[key] = true
	f.r.FaultAt(f.Pos(key), f.Path(key), rule, text, hint)
}

// Exclusive reports a fault when more than one of the keys is given, or, with need, none. It gives the first that is
// there, "" when none is.
func (f *Fields) Exclusive(need bool, keys ...string) string {
	first := ""
	for _, k := range keys {
		switch {
		case !f.Has(k):
		case first == "":
			first = k
		default:
			f.Fault(k, "one-of", k+" beside "+first+"; accepted: one of "+strings.Join(keys, ", "), "keep one")
		}
	}
	if first == "" && need && !f.blank {
		f.r.Fault(f.Node, "missing-key", "none of "+strings.Join(keys, ", ")+" is given", "write one of them")
	}
	return first
}

// Done reports every key that nobody asked for, with the nearest known key. Call it last.
func (f *Fields) Done() {
	var known []string
	for k := range f.asked {
		known = append(known, k)
	}
	slices.Sort(known)
	for _, e := range f.Node.Entries {
		if f.asked[e.Key] {
			continue
		}
		hint := fault.Meant(e.Key, known) // all of them: they are ours and few
		if key, is := f.other[strings.ToLower(e.Key)]; is {
			hint = "did you mean " + Quote(key) + "?"
		}
		if e.Value.Kind == Null && e.Key != "" && e.Key[0] >= '0' && e.Key[0] <= '9' { // {width: 0,9 in}
			hint = "a comma within { } divides keys: write decimals with a point, or put quotes around the value"
		}
		f.r.FaultAt(e.KeyPos, child(f.Node.Path, e.Key), "unknown-key", "no key "+Quote(e.Key)+" is known here", hint)
	}
}

func (f *Fields) look(key string) *Node {
	f.asked[key] = true
	return f.Node.Get(key)
}

// optional finds key; nil when it is missing. A # after an empty value is a fault, for the value was meant to be there.
func (f *Fields) optional(key, want string) *Node {
	n := f.look(key)
	if n == nil || n.Kind != Null {
		return n
	}
	if n.Text == "*" || looksMeant(n.comment) { // an alias was reported already; a comment as value not
		f.bad[key] = true
		if n.Text != "*" {
			f.r.wrongKind(n, want)
		}
	}
	return nil
}

// required finds key and reports when it is missing.
func (f *Fields) required(key, want string) *Node {
	n := f.optional(key, want)
	if n != nil || f.blank || f.bad[key] {
		return n
	}
	f.bad[key] = true
	if empty := f.Node.Get(key); empty != nil {
		f.r.wrongKind(empty, want)
		return nil
	}
	f.r.FaultAt(f.Node.Pos, f.Path(key), "missing-key", key+" is missing; accepted: "+want, "")
	return nil
}

// get reads what stands at n with read, marks the key when that fails, and gives def when n is nil or wrong.
func get[T any](f *Fields, key string, n *Node, def T, read func(*Node) (T, bool)) T {
	if n == nil {
		return def
	}
	v, ok := read(n)
	if !ok {
		f.bad[key] = true
		return def
	}
	return v
}

// Str reads text.
func (f *Fields) Str(key string) string {
	return get(f, key, f.required(key, "text"), "", f.r.Str)
}

// OptStr reads text; def when it is missing.
func (f *Fields) OptStr(key, def string) string {
	return get(f, key, f.optional(key, "text"), def, f.r.Str)
}

// Quantity reads a quantity; false when it is missing or wrong.
func (f *Fields) Quantity(key string, dim measure.Dimension, p measure.Parser) (measure.Quantity, bool) {
	q := get(f, key, f.required(key, one(dim)), measure.Quantity{}, f.quantity(dim, p))
	return q, f.Good(key)
}

// OptQuantity reads a quantity; false when it is missing or wrong (Good and Has tell which).
func (f *Fields) OptQuantity(key string, dim measure.Dimension, p measure.Parser) (measure.Quantity, bool) {
	q := get(f, key, f.optional(key, one(dim)), measure.Quantity{}, f.quantity(dim, p))
	return q, f.Good(key)
}

func (f *Fields) quantity(dim measure.Dimension, p measure.Parser) func(*Node) (measure.Quantity, bool) {
	return func(n *Node) (measure.Quantity, bool) { return f.r.Quantity(n, dim, p) }
}

// Value reads a quantity that has no use for a spread: house units, 0 when missing or wrong. A spread is a fault.
func (f *Fields) Value(key string, dim measure.Dimension, p measure.Parser) float64 {
	return get(f, key, f.required(key, one(dim)), 0, f.value(dim, p))
}

// OptValue is Value with a default for a missing key.
func (f *Fields) OptValue(key string, dim measure.Dimension, p measure.Parser, def float64) float64 {
	return get(f, key, f.optional(key, one(dim)), def, f.value(dim, p))
}

func (f *Fields) value(dim measure.Dimension, p measure.Parser) func(*Node) (float64, bool) {
	return func(n *Node) (float64, bool) {
		q, ok := f.r.Quantity(n, dim, p)
		if ok && q.Spread != measure.Unstated {
			f.r.Fault(n, "no-spread", Quote(n.Text)+" with a spread; accepted: one value", "leave the spread out: this field does not use it")
			return 0, false
		}
		return q.Value, ok
	}
}

// Quantities reads a list of count quantities (any number when count < 0); nil when missing or wrong.
func (f *Fields) Quantities(key string, dim measure.Dimension, p measure.Parser, count int) []measure.Quantity {
	return get(f, key, f.required(key, "a list, each "+one(dim)), nil, func(n *Node) ([]measure.Quantity, bool) { return f.r.Quantities(n, dim, p, count) })
}

// OptQuantities is Quantities for a key that may be missing.
func (f *Fields) OptQuantities(key string, dim measure.Dimension, p measure.Parser, count int) []measure.Quantity {
	return get(f, key, f.optional(key, "a list, each "+one(dim)), nil, func(n *Node) ([]measure.Quantity, bool) { return f.r.Quantities(n, dim, p, count) })
}

// Int reads a whole number from least to most.
func (f *Fields) Int(key string, least, most int) int {
	return get(f, key, f.required(key, "a whole number"), 0, func(n *Node) (int, bool) { return f.r.Int(n, least, most) })
}

// OptInt is Int with a default for a missing key.
func (f *Fields) OptInt(key string, def, least, most int) int {
	return get(f, key, f.optional(key, "a whole number"), def, func(n *Node) (int, bool) { return f.r.Int(n, least, most) })
}

// Bool reads true or false.
func (f *Fields) Bool(key string) bool {
	return get(f, key, f.required(key, "true or false"), false, f.r.Bool)
}

// OptBool is Bool with a default for a missing key.
func (f *Fields) OptBool(key string, def bool) bool {
	return get(f, key, f.optional(key, "true or false"), def, f.r.Bool)
}

// Enum reads one of the words allowed; "" when missing or wrong.
func (f *Fields) Enum(key string, allowed ...string) string {
	return get(f, key, f.required(key, strings.Join(allowed, ", ")), "", func(n *Node) (string, bool) { return f.r.Enum(n, allowed...) })
}

// OptEnum is Enum with a default for a missing key; the default need not be among the words.
func (f *Fields) OptEnum(key, def string, allowed ...string) string {
	return get(f, key, f.optional(key, strings.Join(allowed, ", ")), def, func(n *Node) (string, bool) { return f.r.Enum(n, allowed...) })
}

// List gives the items under key; nil when missing or wrong.
func (f *Fields) List(key string) []*Node {
	return get(f, key, f.required(key, "a list"), nil, f.list)
}

// OptList is List for a key that may be missing.
func (f *Fields) OptList(key string) []*Node {
	return get(f, key, f.optional(key, "a list"), nil, f.list)
}

func (f *Fields) list(n *Node) ([]*Node, bool) { return f.r.List(n), n.Kind == List }

// Maps gives each item of the list under key, opened for reading; items that are no map are faults and left out.
func (f *Fields) Maps(key string) []*Fields { return f.maps(key, f.List(key)) }

// OptMaps is Maps for a key that may be missing.
func (f *Fields) OptMaps(key string) []*Fields { return f.maps(key, f.OptList(key)) }

func (f *Fields) maps(key string, items []*Node) []*Fields {
	var out []*Fields
	for _, n := range items {
		if m := f.r.Map(n); m.OK() {
			out = append(out, m)
		} else {
			f.bad[key] = true
		}
	}
	return out
}

// Strs reads a list of texts; a single text counts as a list of one.
func (f *Fields) Strs(key string) []string {
	return get(f, key, f.required(key, "a list of texts"), nil, f.strs)
}

// OptStrs is Strs for a key that may be missing.
func (f *Fields) OptStrs(key string) []string {
	return get(f, key, f.optional(key, "a list of texts"), nil, f.strs)
}

func (f *Fields) strs(n *Node) ([]string, bool) {
	items := []*Node{n}
	if n.Kind == List {
		items = n.Items
	}
	var out []string
	ok := true
	for _, i := range items {
		s, good := f.r.Str(i)
		if ok = ok && good; good {
			out = append(out, s)
		}
	}
	return out, ok
}

// Child opens the map under key; blank Fields when it is missing or wrong, so that its getters may be called anyway.
func (f *Fields) Child(key string) *Fields { return f.open(key, f.required(key, "a group of keys")) }

// OptChild opens the map under key; false when it is missing or wrong, with blank Fields that may be read anyway.
func (f *Fields) OptChild(key string) (*Fields, bool) {
	c := f.open(key, f.optional(key, "a group of keys"))
	return c, c.OK()
}

func (f *Fields) open(key string, n *Node) *Fields {
	c := f.r.Map(n)
	if n == nil {
		c.Node = &Node{Kind: Null, Pos: f.Pos(key), Path: f.Path(key)}
	} else if !c.OK() {
		f.bad[key] = true
	}
	return c
}
