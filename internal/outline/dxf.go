package outline

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"panelwright/internal/plane"
)

// ReadDXF reads the entities of a text DXF that can be an outline: LINE, ARC, CIRCLE, ELLIPSE, LWPOLYLINE, POLYLINE, SPLINE,
// and those of inserted blocks. Others, and what stands on hidden layers or on paper space, are left out with a note.
//
// The file's unit is that of $INSUNITS; where the header has none, the Options must state it. Errors are *Fault.
func ReadDXF(text []byte, o Options) (*Drawing, error) {
	groups, err := dxfGroups(text)
	if err != nil {
		return nil, err
	}
	f := &dxfFile{groups: groups, layers: map[string]dxfLayer{}, blocks: map[string]*dxfBlock{}}
	if err := f.sections(); err != nil {
		return nil, err
	}
	d := &Drawing{}
	if err := f.unit(d, o); err != nil {
		return nil, err
	}
	r := &dxfReader{file: f, out: d, left: map[string]*dxfLeft{}, open: map[string]bool{}}
	if err := r.entities(f.entities, dxfAt{m: scaling(d.Unit, d.Unit)}); err != nil {
		return nil, err
	}
	r.notes()
	return d, nil
}

// dxfGroup is a code with its value, and the line of the value.
type dxfGroup struct {
	code int
	text string
	line int
}

// dxfGroups reads pairs of lines.
func dxfGroups(text []byte) ([]dxfGroup, error) {
	if err := readable(text, "DXF", "a text DXF", "save it as DXF in text (ASCII) form"); err != nil {
		return nil, err
	}
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	var out []dxfGroup
	line, code, have := 0, 0, false
	for len(text) > 0 {
		var l []byte
		if i := bytes.IndexByte(text, '\n'); i >= 0 {
			l, text = text[:i], text[i+1:]
		} else {
			l, text = text, nil
		}
		line++
		value := strings.TrimSpace(string(l))
		if have {
			out = append(out, dxfGroup{code, value, line})
			have = false
			continue
		}
		n, err := strconv.Atoi(value)
		if err != nil {
			if value == "" && len(bytes.TrimSpace(text)) == 0 {
				break // empty lines at the end
			}
			return nil, &Fault{Line: line, What: "DXF", Text: fmt.Sprintf("%s where a group code belongs; accepted: a whole number on every other line", quote(value)), Hint: "a line may be missing or one too many before this one; save the drawing again as text DXF"}
		}
		code, have = n, true
	}
	if have {
		return nil, &Fault{Line: line, What: "DXF", Text: "the file ends after a group code", Hint: "it is cut short: copy or save it again"}
	}
	return out, nil
}

func tooLarge(n int) *Fault {
	return &Fault{What: "file", Text: fmt.Sprintf("%.1f MB; accepted: at most %d MB", float64(n)/(1<<20), MostBytes>>20), Hint: "save the outline alone"}
}

// printable is a message that may hold pieces of a file: in one line, of signs that print, not too long.
func printable(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '�'
	}, s)
	const most = 100
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "…"
	}
	return s
}

// quote shows a piece of a file: short, and in one line.
func quote(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "…"
	}
	return strconv.Quote(s)
}

// dxfEntity is one entity with its groups, and those of its VERTEX entities.
type dxfEntity struct {
	kind   string
	line   int
	groups []dxfGroup
	parts  []dxfEntity
}

type dxfLayer struct {
	colour string
	hidden bool
}

type dxfBlock struct {
	name     string
	base     plane.Point
	entities []dxfEntity
	line     int
}

type dxfFile struct {
	groups   []dxfGroup
	header   map[string]dxfGroup // variables of one value
	layers   map[string]dxfLayer
	blocks   map[string]*dxfBlock // by name in capitals: names do not tell case
	entities []dxfEntity
	ended    bool
}

// sections sorts the groups into the sections that are of use.
func (f *dxfFile) sections() error {
	f.header = map[string]dxfGroup{}
	g := f.groups
	seen := false
	for i := 0; i < len(g); i++ {
		if g[i].code == 0 && g[i].text == "EOF" {
			f.ended = true
			break
		}
		if g[i].code != 0 || g[i].text != "SECTION" {
			continue
		}
		if i+1 >= len(g) || g[i+1].code != 2 {
			return &Fault{Line: g[i].line, What: "DXF", Text: "a section without a name", Hint: "save the drawing again"}
		}
		name, start := g[i+1].text, i+2
		end := start
		for end < len(g) && !(g[end].code == 0 && g[end].text == "ENDSEC") {
			end++
		}
		if end == len(g) {
			return &Fault{Line: g[i].line, What: "DXF", Text: "section " + quote(name) + " has no end", Hint: "the file is cut short: copy or save it again"}
		}
		body := g[start:end]
		switch name {
		case "HEADER":
			for k := 0; k+1 < len(body); k++ {
				if body[k].code == 9 {
					f.header[body[k].text] = body[k+1]
				}
			}
		case "TABLES":
			f.readLayers(body)
		case "BLOCKS":
			f.readBlocks(body)
		case "ENTITIES":
			seen = true
			f.entities = append(f.entities, dxfEntities(body)...)
		}
		i = end
	}
	if !seen {
		return &Fault{What: "DXF", Text: "no section ENTITIES; accepted: a text DXF with a drawing in it", Hint: "is this a DXF? save the drawing as text DXF"}
	}
	return nil
}

// dxfEntities cuts groups at every code 0. A polyline takes its vertices, an insert its attributes.
func dxfEntities(g []dxfGroup) []dxfEntity {
	var out []dxfEntity
	owner := -1 // of following VERTEX or ATTRIB entities
	for i := 0; i < len(g); {
		if g[i].code != 0 {
			i++
			continue
		}
		j := i + 1
		for j < len(g) && g[j].code != 0 {
			j++
		}
		e := dxfEntity{kind: g[i].text, line: g[i].line, groups: g[i+1 : j]}
		switch {
		case e.kind == "SEQEND":
			owner = -1
		case owner >= 0 && (e.kind == "VERTEX" || e.kind == "ATTRIB"):
			out[owner].parts = append(out[owner].parts, e)
		default:
			owner = -1
			out = append(out, e)
			if e.kind == "POLYLINE" || e.kind == "INSERT" && e.whole(66) == 1 {
				owner = len(out) - 1
			}
		}
		i = j
	}
	return out
}

func (f *dxfFile) readLayers(g []dxfGroup) {
	for _, e := range dxfEntities(g) {
		if e.kind != "LAYER" {
			continue
		}
		c := e.whole(62)
		const frozen = 1
		l := dxfLayer{hidden: c < 0 || e.whole(70)&frozen != 0}
		if c != 0 {
			l.colour = strconv.Itoa(max(c, -c))
		}
		f.layers[strings.ToUpper(e.text(2))] = l
	}
}

func (f *dxfFile) readBlocks(g []dxfGroup) {
	var b *dxfBlock
	for _, e := range dxfEntities(g) {
		switch e.kind {
		case "BLOCK":
			x, _ := e.number(10)
			y, _ := e.number(20)
			b = &dxfBlock{name: e.text(2), base: plane.Point{X: x, Y: y}, line: e.line}
			f.blocks[strings.ToUpper(b.name)] = b
		case "ENDBLK":
			b = nil
		default:
			if b != nil {
				b.entities = append(b.entities, e)
			}
		}
	}
}

// dxfUnits are the values of $INSUNITS that a workshop meets, in mm.
var dxfUnits = map[int]float64{1: 25.4, 2: 304.8, 4: 1, 5: 10, 6: 1000, 8: 25.4e-6, 9: 0.0254, 10: 914.4, 13: 1e-3, 14: 100}

func (f *dxfFile) unit(d *Drawing, o Options) error {
	v, ok := f.header["$INSUNITS"]
	code, err := strconv.Atoi(v.text)
	size := dxfUnits[code]
	if ok && err != nil {
		return &Fault{Line: v.line, What: "$INSUNITS", Text: quote(v.text) + "; accepted: a whole number", Hint: "save the drawing again, or state its unit"}
	}
	switch {
	case o.Unit > 0:
		d.Unit, d.From = o.Unit, "stated"
		if size > 0 && math.Abs(size-o.Unit) > 1e-9*o.Unit {
			d.Notes = append(d.Notes, Note{v.line, "unit", fmt.Sprintf("the file's header says that 1 unit is %g mm; %g mm is stated with the outline and wins", size, o.Unit)})
		}
	case size > 0:
		d.Unit, d.From = size, "the file's header"
	case ok && code != 0:
		return &Fault{Line: v.line, What: "$INSUNITS", Text: fmt.Sprintf("unit no. %d; accepted: mm, cm, dm, m, µm, inch, mil, foot, yard", code), Hint: "state the unit with the outline, as units: mm"}
	default:
		return &Fault{Line: v.line, What: "unit", Text: "the file does not say what its unit is; accepted: mm, cm, m, in, ft", Hint: "state it with the outline, as units: mm"}
	}
	return nil
}

// text is the first value of a code, "" when there is none.
func (e *dxfEntity) text(code int) string {
	for _, g := range e.groups {
		if g.code == code {
			return g.text
		}
	}
	return ""
}

// whole is the first value of a code as a whole number, 0 when there is none.
func (e *dxfEntity) whole(code int) int {
	n, err := strconv.Atoi(e.text(code))
	if err != nil {
		return 0
	}
	return n
}

// number is the first value of a code as a number; 0 and no fault when there is none.
func (e *dxfEntity) number(code int) (float64, error) {
	for _, g := range e.groups {
		if g.code == code {
			return dxfNumber(e.kind, g)
		}
	}
	return 0, nil
}

func dxfNumber(kind string, g dxfGroup) (float64, error) {
	v, err := strconv.ParseFloat(g.text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 1e12 {
		return 0, &Fault{Line: g.line, What: kind, Text: fmt.Sprintf("%s for group %d; accepted: a number", quote(g.text), g.code), Hint: "save the drawing again"}
	}
	return v, nil
}

// numbers reads several codes at once.
func (e *dxfEntity) numbers(codes ...int) ([]float64, error) {
	out := make([]float64, len(codes))
	for i, c := range codes {
		v, err := e.number(c)
		if err != nil {
			return nil, err
		}
		out[i] = v
	}
	return out, nil
}
