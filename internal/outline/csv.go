package outline

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"panelwright/internal/plane"
)

// ReadCSV reads digitised points round an outline: x, y or x, y, z in each row, parted by commas, semicolons, tabs or spaces,
// with a decimal comma where semicolons or tabs part the columns. A first row may name the columns, with their unit ("x mm",
// "y [in]"); rows beginning with # are left out. An empty row ends a loop: what follows is the next, a cut-out. Every loop is
// closed: a last point that repeats the first is left out.
//
// Points in space are developed flat (develop.go); a note says how far the edge is from lying flat and from developing. Where
// neither the first row nor the Options state a unit there is none, and that is an error. Errors are *Fault.
func ReadCSV(text []byte, o Options) (*Drawing, error) {
	if err := readable(text, "CSV", "rows of x, y or x, y, z as text", "save the points as CSV"); err != nil {
		return nil, err
	}
	c := &csvReader{columns: [3]int{0, 1, 2}, unit: 1}
	d := &Drawing{Unit: 1, From: "assumed"}
	s := strings.TrimPrefix(string(text), "\ufeff")
	for i, row := range strings.Split(strings.ReplaceAll(s, "\r\n", "\n"), "\n") {
		if err := c.row(i+1, strings.TrimRight(row, "\r")); err != nil {
			return nil, err
		}
	}
	c.end()
	if len(c.loops) == 0 {
		return nil, &Fault{What: "CSV", Text: "no points; accepted: rows of x, y or x, y, z", Hint: "one point in each row, in order round the outline"}
	}
	switch {
	case o.Unit > 0:
		d.Unit, d.From = o.Unit, "stated"
		if c.stated && math.Abs(c.unit-o.Unit) > 1e-9*o.Unit {
			d.Notes = append(d.Notes, Note{c.headLine, "unit", fmt.Sprintf("the head says that 1 is %g mm; %g mm is stated with the outline and wins", c.unit, o.Unit)})
		}
	case c.stated:
		d.Unit, d.From = c.unit, "the file's head"
	case o.Bare > 0:
		c.unit = o.Bare
		d.Unit, d.From = o.Bare, "the job's own unit of length"
	default:
		return nil, &Fault{What: "unit", Text: "the table does not say what its unit is; accepted: mm, cm, m, in, ft behind x and y in the first row, as \"x mm\"", Hint: "name it there, or state it with the outline, as units: mm"}
	}
	for _, l := range c.loops {
		if err := c.take(d, l); err != nil {
			return nil, err
		}
	}
	return d, nil
}

// csvLoop is one loop's points.
type csvLoop struct {
	line int
	p    [][3]float64
	z    bool
}

type csvReader struct {
	columns  [3]int // of x, y, z; z < 0: none
	named    bool
	unit     float64
	stated   bool
	headLine int
	rows     int
	width    int // columns of the first row of figures
	first    int // its line
	loops    []csvLoop
	now      csvLoop
}

// fields parts a row; comma says that a decimal comma may stand in a figure.
func csvFields(row string) (f []string, comma bool) {
	var sep string
	switch {
	case strings.Contains(row, ";"):
		sep, comma = ";", true
	case strings.Contains(row, "\t"):
		sep, comma = "\t", true
	case strings.Contains(row, ","):
		sep = ","
	default:
		return strings.Fields(row), false
	}
	for _, v := range strings.Split(row, sep) {
		f = append(f, strings.Trim(strings.TrimSpace(v), `"`))
	}
	for len(f) > 0 && f[len(f)-1] == "" { // a separator at the end
		f = f[:len(f)-1]
	}
	return f, comma
}

func (c *csvReader) row(line int, row string) error {
	trimmed := strings.TrimSpace(row)
	if strings.HasPrefix(trimmed, "#") {
		return nil
	}
	f, comma := csvFields(trimmed)
	if len(f) == 0 {
		c.end()
		return nil
	}
	if c.rows == 0 && !c.named && strings.IndexFunc(f[0], unicode.IsLetter) >= 0 {
		return c.head(line, f)
	}
	if c.rows++; c.rows > MostVertices {
		return &Fault{Line: line, What: "CSV", Text: fmt.Sprintf("more than %d points", MostVertices), Hint: "thin them out"}
	}
	if c.width == 0 {
		c.width, c.first = len(f), line
		if !c.named && len(f) < 3 {
			c.columns[2] = -1
		}
	}
	if len(f) != c.width {
		return &Fault{Line: line, What: "CSV", Text: fmt.Sprintf("%d columns, where line %d has %d", len(f), c.first, c.width), Hint: "a figure is missing or one too many; decimal commas need semicolons or tabs between columns"}
	}
	var p [3]float64
	for i, col := range c.columns {
		if col < 0 {
			continue
		}
		if col >= len(f) {
			return &Fault{Line: line, What: "CSV", Text: fmt.Sprintf("%d columns; accepted: x, y or x, y, z", len(f)), Hint: "write one point in each row"}
		}
		v := f[col]
		if comma {
			v = strings.Replace(v, ",", ".", 1)
		}
		x, err := strconv.ParseFloat(v, 64)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			return &Fault{Line: line, Col: col + 1, What: "xyz"[i : i+1], Text: quote(f[col]) + "; accepted: a number", Hint: "columns are counted from 1; write figures without their unit, and name it in the first row"}
		}
		p[i] = x
	}
	if len(c.now.p) == 0 {
		c.now = csvLoop{line: line, z: c.columns[2] >= 0}
	}
	c.now.p = append(c.now.p, p)
	return nil
}

// csvUnits are what a head may name.
var csvUnits = map[string]float64{"mm": 1, "cm": 10, "m": 1000, "in": 25.4, "inch": 25.4, "inches": 25.4, "ft": 304.8}

// head reads the names of columns: x, y, z, each with a unit or none.
func (c *csvReader) head(line int, f []string) error {
	c.named, c.headLine, c.columns = true, line, [3]int{-1, -1, -1}
	units := map[float64]bool{}
	var named []string
	for col, name := range f {
		words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return !unicode.IsLetter(r) })
		if len(words) == 0 {
			continue
		}
		i := strings.Index("xyz", words[0])
		if i < 0 || len(words[0]) != 1 {
			continue // a number, a name: a column of no use here
		}
		if c.columns[i] >= 0 {
			return &Fault{Line: line, Col: col + 1, What: "CSV", Text: "a second column " + quote(words[0]), Hint: "name each once"}
		}
		c.columns[i] = col
		for _, w := range words[1:] {
			u, ok := csvUnits[w]
			if !ok {
				return &Fault{Line: line, Col: col + 1, What: "CSV", Text: quote(w) + "; accepted: mm, cm, m, in, ft", Hint: "name the unit behind x, as \"x mm\""}
			}
			units[u], c.unit, c.stated = true, u, true
			named = append(named, w)
		}
	}
	if c.columns[0] < 0 || c.columns[1] < 0 {
		return &Fault{Line: line, What: "CSV", Text: "a first row without columns x and y", Hint: "name them x, y and, for an edge in space, z"}
	}
	if len(units) > 1 {
		return &Fault{Line: line, What: "CSV", Text: "columns in " + strings.Join(named, " and ") + "; accepted: one unit for all", Hint: "convert the columns to one"}
	}
	return nil
}

func (c *csvReader) end() {
	if len(c.now.p) > 0 {
		c.loops = append(c.loops, c.now)
	}
	c.now = csvLoop{}
}

// take makes a loop of points, flat or developed.
func (c *csvReader) take(d *Drawing, l csvLoop) error {
	for i := range l.p {
		for k := range l.p[i] {
			if l.p[i][k] *= d.Unit; math.Abs(l.p[i][k]) > MostSize {
				return &Fault{Line: l.line, What: "CSV", Text: fmt.Sprintf("a coordinate of %.6g mm; accepted: up to %g m", l.p[i][k], MostSize/1000), Hint: "check the unit"}
			}
		}
	}
	const same = 1e-6 // mm
	if n := len(l.p) - 1; n > 0 && distance3(l.p[0], l.p[n]) <= same {
		l.p = l.p[:n]
	}
	if len(l.p) < 3 {
		return &Fault{Line: l.line, What: "CSV", Text: fmt.Sprintf("%s in a loop; accepted: at least 3", map[int]string{0: "no points", 1: "1 point", 2: "2 points"}[len(l.p)]), Hint: "an empty row ends a loop: is there one too many?"}
	}
	loop := Loop{Source: "points", Line: l.line}
	if !l.z {
		for _, p := range l.p {
			loop.Path.V = append(loop.Path.V, plane.Vertex{Point: plane.Point{X: p[0], Y: p[1]}})
		}
	} else {
		if len(c.loops) > 1 {
			return &Fault{Line: l.line, What: "CSV", Text: fmt.Sprintf("%d loops in space; accepted: one, since loops that are developed one by one lose their places", len(c.loops)), Hint: "give cut-outs flat, in the job"}
		}
		if len(l.p) > MostSpace {
			return &Fault{Line: l.line, What: "CSV", Text: fmt.Sprintf("%d points of an edge in space; accepted: at most %d", len(l.p), MostSpace), Hint: "thin them out: one for every few millimetres of edge is enough"}
		}
		flat, note, err := develop(l.p)
		if err != nil {
			return &Fault{Line: l.line, What: "CSV", Text: err.Error(), Hint: "measure more points, in order round the edge"}
		}
		for _, p := range flat {
			if !(math.Abs(p.X) <= MostSize && math.Abs(p.Y) <= MostSize) {
				return &Fault{Line: l.line, What: "CSV", Text: fmt.Sprintf("laid flat, a point comes to (%.6g, %.6g) mm; accepted: up to %g m", p.X, p.Y, MostSize/1000), Hint: "check the unit, and measure from a place near the panel"}
			}
		}
		for _, p := range flat {
			loop.Path.V = append(loop.Path.V, plane.Vertex{Point: p})
		}
		loop.Developed = &note
		d.Notes = append(d.Notes, Note{l.line, "developed", note.String()})
	}
	loop.Path.Closed = true
	d.Loops = append(d.Loops, loop)
	return nil
}

func distance3(a, b [3]float64) float64 {
	return math.Hypot(math.Hypot(a[0]-b[0], a[1]-b[1]), a[2]-b[2])
}
