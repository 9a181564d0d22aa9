package sheet

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"panelwright/internal/plane"
)

// DXFLayer is how a layer stands in a DXF: its name there and its colour number (1 red, 2 yellow, 3 green, 4 cyan, 5 blue, 6 magenta,
// 7 black or white).
type DXFLayer struct {
	Layer  string // of the sheet's marks
	Name   string // in the file: capitals, figures, hyphens, underscores
	Colour int
}

// WriteDXF writes the sheet as a text DXF of release 2000 [dxf2000] in mm, y upwards, with (0, 0) at the place on the page named origin. Strokes become
// closed or open polylines with true arcs, lines, and true circles; text becomes the outlines of its letters, as closed polylines.
// Widths, dashes, fills and tones are the reader's affair: what a line is for is told by its layer. Marks are written in the order of
// layers, then of the sheet; marks of layers that are not listed are left out.
//
// It fails with *MissingGlyph, *BadMark (clips cannot be had in a DXF), or the error of w. Numbers are rounded to 1e-6 mm.
func WriteDXF(w io.Writer, s Sheet, origin plane.Point, layers []DXFLayer) error {
	marks, err := flatten(s)
	if err != nil {
		return err
	}
	for i, m := range marks {
		if m.clipped {
			return &BadMark{s.Title, i, "a clip, which a DXF cannot hold"}
		}
	}
	d := &dxfWriter{origin: origin, handle: 0x100}
	for _, l := range layers {
		for _, m := range marks {
			if m.layer == l.Layer {
				if err := d.mark(m.item, l.Name); err != nil {
					return err
				}
			}
		}
	}
	out := bufio.NewWriter(w)
	d.file(out, layers)
	return out.Flush()
}

// dxfWriter gathers entities; they are written behind tables that need to know the last handle.
type dxfWriter struct {
	origin plane.Point
	body   strings.Builder
	handle int
}

// The handles of what every file of this release must hold.
const (
	dxfModelRecord = "1F"
	dxfPaperRecord = "1B"
)

func dxfPut(b io.Writer, code int, v any) {
	if x, ok := v.(float64); ok {
		v = dxfFloat(x)
	}
	fmt.Fprintf(b, "%3d\n%v\n", code, v)
}

// dxfFloat writes a number with a point, as strict readers want it.
func dxfFloat(x float64) string {
	s := strings.TrimRight(strconv.FormatFloat(x, 'f', 6, 64), "0")
	if strings.HasSuffix(s, ".") {
		s += "0"
	}
	if s == "-0.0" {
		return "0.0"
	}
	return s
}

// bulgeFloat keeps more figures: a bulge is a ratio, and a long chord makes much of it.
func bulgeFloat(x float64) string { return strconv.FormatFloat(x, 'f', 12, 64) }

func (d *dxfWriter) entity(kind, layer, class string) {
	d.handle++
	for _, g := range []struct {
		code int
		v    any
	}{{0, kind}, {5, fmt.Sprintf("%X", d.handle)}, {330, dxfModelRecord}, {100, "AcDbEntity"}, {8, layer}, {100, class}} {
		dxfPut(&d.body, g.code, g.v)
	}
}

func (d *dxfWriter) point(p plane.Point, codes ...int) {
	v := []float64{p.X - d.origin.X, d.origin.Y - p.Y, 0}
	for i, c := range codes {
		dxfPut(&d.body, c, v[i])
	}
}

func (d *dxfWriter) mark(it Item, layer string) error {
	switch it := it.(type) {
	case Circle:
		if it.R > 0 && it.Pen != nil {
			d.circle(it.At, it.R, layer)
		}
	case Stroke:
		if it.Pen != nil {
			d.stroke(it.Path, layer)
		}
	case Text:
		paths, err := TextPaths(it)
		if err != nil {
			return err
		}
		for _, p := range paths {
			d.stroke(p, layer)
		}
	}
	return nil
}

func (d *dxfWriter) circle(c plane.Point, r float64, layer string) {
	d.entity("CIRCLE", layer, "AcDbCircle")
	d.point(c, 10, 20, 30)
	dxfPut(&d.body, 40, r)
}

// stroke writes a path: two arcs of one circle as a circle, a single straight piece as a line, the rest as a polyline.
func (d *dxfWriter) stroke(p plane.Path, layer string) {
	if len(p.V) < 2 {
		return
	}
	if c, r, ok := circleOf(p); ok {
		d.circle(c, r, layer)
		return
	}
	if !p.Closed && len(p.V) == 2 && p.V[0].Bulge == 0 {
		d.entity("LINE", layer, "AcDbLine")
		d.point(p.V[0].Point, 10, 20, 30)
		d.point(p.V[1].Point, 11, 21, 31)
		return
	}
	d.entity("LWPOLYLINE", layer, "AcDbPolyline")
	dxfPut(&d.body, 90, len(p.V))
	closed := 0
	if p.Closed {
		closed = 1
	}
	dxfPut(&d.body, 70, closed)
	dxfPut(&d.body, 43, 0.0)
	for i, v := range p.V {
		d.point(v.Point, 10, 20)
		if v.Bulge != 0 && (p.Closed || i+1 < len(p.V)) {
			dxfPut(&d.body, 42, bulgeFloat(-v.Bulge)) // y turned over
		}
	}
}

// circleOf says whether a closed path is one full circle.
func circleOf(p plane.Path) (c plane.Point, r float64, ok bool) {
	const same = 1e-9 // mm, of rounding
	if !p.Closed {
		return c, 0, false
	}
	turn := 0.0
	for i, g := range p.Segs() {
		at, arc := g.Centre()
		if !arc {
			return c, 0, false
		}
		if i == 0 {
			c, r = at, g.Radius()
		} else if at.Dist(c) > same*(1+r) || math.Abs(g.Radius()-r) > same*(1+r) {
			return c, 0, false
		}
		turn += g.Sweep()
	}
	return c, r, math.Abs(math.Abs(turn)-2*math.Pi) < 1e-9
}

// file writes the whole: header, tables, blocks, entities, objects.
func (d *dxfWriter) file(b *bufio.Writer, layers []DXFLayer) {
	put := func(code int, v any) { dxfPut(b, code, v) }
	section := func(name string) { put(0, "SECTION"); put(2, name) }
	section("HEADER")
	for _, v := range []struct {
		name string
		code int
		v    any
	}{{"$ACADVER", 1, "AC1015"}, {"$INSUNITS", 70, 4}, {"$MEASUREMENT", 70, 1}, {"$HANDSEED", 5, fmt.Sprintf("%X", d.handle+1)}, {"$DWGCODEPAGE", 3, "ANSI_1252"}} {
		put(9, v.name)
		put(v.code, v.v)
	}
	put(0, "ENDSEC")
	section("TABLES")
	d.tables(b, layers)
	put(0, "ENDSEC")
	section("BLOCKS")
	for i, name := range []string{"*Model_Space", "*Paper_Space"} {
		owner := []string{dxfModelRecord, dxfPaperRecord}[i]
		for k, class := range []string{"AcDbBlockBegin", "AcDbBlockEnd"} {
			put(0, []string{"BLOCK", "ENDBLK"}[k])
			put(5, []string{"20", "21", "1C", "1D"}[2*i+k])
			put(330, owner)
			put(100, "AcDbEntity")
			put(8, "0")
			put(100, class)
			if k == 0 {
				put(2, name)
				put(70, 0)
				for _, c := range []int{10, 20, 30} {
					put(c, 0.0)
				}
				put(3, name)
				put(1, "")
			}
		}
	}
	put(0, "ENDSEC")
	section("ENTITIES")
	b.WriteString(d.body.String())
	put(0, "ENDSEC")
	section("OBJECTS")
	put(0, "DICTIONARY")
	put(5, "C")
	put(330, "0")
	put(100, "AcDbDictionary")
	put(281, 1)
	put(0, "ENDSEC")
	put(0, "EOF")
}

// tables writes the symbol tables of the release, empty but for one line type, one text style, the layers and the two spaces.
func (d *dxfWriter) tables(b *bufio.Writer, layers []DXFLayer) {
	put := func(code int, v any) { dxfPut(b, code, v) }
	table := func(name, handle string, n int) {
		put(0, "TABLE")
		put(2, name)
		put(5, handle)
		put(330, "0")
		put(100, "AcDbSymbolTable")
		put(70, n)
	}
	record := func(kind, class, handle, owner, name string) {
		put(0, kind)
		put(5, handle)
		put(330, owner)
		put(100, "AcDbSymbolTableRecord")
		put(100, class)
		put(2, name)
	}
	end := func() { put(0, "ENDTAB") }
	table("VPORT", "8", 0)
	end()
	table("LTYPE", "5", 3)
	for i, name := range []string{"ByBlock", "ByLayer", "Continuous"} {
		record("LTYPE", "AcDbLinetypeTableRecord", []string{"14", "15", "16"}[i], "5", name)
		put(70, 0)
		put(3, "")
		put(72, 65)
		put(73, 0)
		put(40, 0.0)
	}
	end()
	names := []DXFLayer{{Name: "0", Colour: 7}}
	for _, l := range layers {
		if !slices.ContainsFunc(names, func(o DXFLayer) bool { return o.Name == l.Name }) {
			names = append(names, l)
		}
	}
	table("LAYER", "2", len(names))
	for i, l := range names {
		record("LAYER", "AcDbLayerTableRecord", fmt.Sprintf("%X", 0x10000000+i), "2", l.Name)
		put(70, 0)
		put(62, l.Colour)
		put(6, "Continuous")
		put(370, -3)
		put(390, "F")
	}
	end()
	table("STYLE", "3", 1)
	record("STYLE", "AcDbTextStyleTableRecord", "11", "3", "Standard")
	for _, g := range []struct {
		code int
		v    any
	}{{70, 0}, {40, 0.0}, {41, 1.0}, {50, 0.0}, {71, 0}, {42, 2.5}, {3, "txt"}, {4, ""}} {
		put(g.code, g.v)
	}
	end()
	table("VIEW", "6", 0)
	end()
	table("UCS", "7", 0)
	end()
	table("APPID", "9", 1)
	record("APPID", "AcDbRegAppTableRecord", "12", "9", "ACAD")
	put(70, 0)
	end()
	table("DIMSTYLE", "A", 0)
	put(100, "AcDbDimStyleTable")
	end()
	table("BLOCK_RECORD", "1", 2)
	record("BLOCK_RECORD", "AcDbBlockTableRecord", dxfModelRecord, "1", "*Model_Space")
	record("BLOCK_RECORD", "AcDbBlockTableRecord", dxfPaperRecord, "1", "*Paper_Space")
	end()
}
