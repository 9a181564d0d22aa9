package outline

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"panelwright/internal/plane"
)

// ReadSVG reads the shapes of an SVG file: path, rect, circle, ellipse, line, polyline, polygon, and those that use brings in,
// through every transform and viewBox, y turned upwards. Text, pictures, masks and what is not shown are left out with a note.
//
// The size of a user unit comes from width, height and viewBox of the outermost svg where they are physical (mm, cm, in, pt, pc,
// px at 96 to the inch); where they are missing or per cent, the Options must state what one user unit is. Errors are *Fault.
func ReadSVG(text []byte, o Options) (*Drawing, error) {
	if err := readable(text, "SVG", "a plain SVG", "save the drawing again as plain SVG"); err != nil {
		return nil, err
	}
	root, err := svgTree(text)
	if err != nil {
		return nil, err
	}
	r := &svgReader{ids: map[string]*svgNode{}, out: &Drawing{}, left: map[string]*dxfLeft{}, open: map[*svgNode]bool{}}
	if err := r.index(root); err != nil {
		return nil, err
	}
	at, err := r.viewport(root, o)
	if err != nil {
		return nil, err
	}
	if err := r.children(root, at); err != nil {
		return nil, err
	}
	dxf := dxfReader{out: r.out, left: r.left, file: &dxfFile{ended: true}}
	dxf.notes()
	return r.out, nil
}

// svgNode is an element.
type svgNode struct {
	name     string
	attr     map[string]string // by local name; of two, the first
	children []*svgNode
	text     []byte // of a style element
	line     int
}

// svgTree reads the elements. Entities that a file declares itself are not expanded: the reader refuses them.
func svgTree(text []byte) (*svgNode, error) {
	dec := xml.NewDecoder(bytes.NewReader(text))
	dec.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		switch strings.ToLower(charset) {
		case "us-ascii", "ascii", "iso-8859-1", "latin1", "windows-1252": // names of layers aside, all that is read is ASCII
			return in, nil
		}
		return nil, fmt.Errorf("encoding %q; accepted: UTF-8", charset)
	}
	line, seen := 1, int64(0)
	now := func() int {
		at := dec.InputOffset()
		line += bytes.Count(text[seen:at], []byte("\n"))
		seen = at
		return line
	}
	var root *svgNode
	var stack []*svgNode
	count := 0
	for {
		start := now()
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, svgBroken(err, now())
		}
		switch t := tok.(type) {
		case xml.StartElement:
			if count++; count > MostEntities {
				return nil, &Fault{Line: start, What: "SVG", Text: fmt.Sprintf("more than %d elements", MostEntities), Hint: "save the outline alone"}
			}
			n := &svgNode{name: t.Name.Local, line: start, attr: map[string]string{}}
			for _, a := range t.Attr {
				if _, ok := n.attr[a.Name.Local]; !ok || a.Name.Space == "" {
					n.attr[a.Name.Local] = a.Value
				}
			}
			if len(stack) > 0 {
				top := stack[len(stack)-1]
				top.children = append(top.children, n)
			} else if root == nil {
				root = n
			}
			if stack = append(stack, n); len(stack) > 8*MostDepth {
				return nil, &Fault{Line: start, What: "SVG", Text: fmt.Sprintf("elements more than %d deep", 8*MostDepth), Hint: "ungroup the drawing"}
			}
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		case xml.CharData:
			if len(stack) > 0 && stack[len(stack)-1].name == "style" {
				top := stack[len(stack)-1]
				top.text = append(top.text, t...)
			}
		}
	}
	if root == nil || root.name != "svg" {
		found, line := "no element", 0
		if root != nil {
			found, line = "<"+root.name+">", root.line
		}
		return nil, &Fault{Line: line, What: "SVG", Text: found + " at the top; accepted: <svg>", Hint: "is this an SVG file?"}
	}
	return root, nil
}

func svgBroken(err error, line int) *Fault {
	var syntax *xml.SyntaxError
	text := err.Error()
	if errors.As(err, &syntax) {
		text, line = syntax.Msg, syntax.Line
	}
	return &Fault{Line: line, What: "SVG", Text: "not well-formed XML: " + printable(text), Hint: "save the drawing again as plain SVG"}
}

// svgAt is how an element stands: through what map, in what viewport (user units, for per cent), on what layer, with what style.
type svgAt struct {
	m      affine
	w, h   float64
	layer  string
	style  map[string]string // inherited
	depth  int
	hidden string // why what stands here is not shown
}

type svgReader struct {
	ids      map[string]*svgNode
	rules    []svgRule
	out      *Drawing
	left     map[string]*dxfLeft
	open     map[*svgNode]bool // being used
	n        int
	vertices int
}

func (r *svgReader) leave(n *svgNode, why string) {
	d := dxfReader{left: r.left}
	d.leave(&dxfEntity{kind: "<" + n.name + ">", line: n.line}, why)
}

// index notes ids and rules of style.
func (r *svgReader) index(n *svgNode) error {
	if id := n.attr["id"]; id != "" && r.ids[id] == nil {
		r.ids[id] = n
	}
	if n.name == "style" {
		rules, err := svgRules(n)
		if err != nil {
			return err
		}
		if r.rules = append(r.rules, rules...); len(r.rules) > svgMostRules {
			return &Fault{Line: n.line, What: "<style>", Text: fmt.Sprintf("more than %d rules in all; accepted: at most that many", svgMostRules), Hint: "save the outline alone, as plain SVG"}
		}
	}
	for _, c := range n.children {
		if err := r.index(c); err != nil {
			return err
		}
	}
	return nil
}

// viewport finds the size of the outermost svg's user unit.
func (r *svgReader) viewport(root *svgNode, o Options) (svgAt, error) {
	box, hasBox, err := svgBox(root)
	if err != nil {
		return svgAt{}, err
	}
	w, hasW := svgPhysical(root.attr["width"])
	h, hasH := svgPhysical(root.attr["height"])
	at := svgAt{m: scaling(1, -1), w: w, h: h}
	var own affine
	switch {
	case !hasW && !hasH:
		if o.Unit <= 0 {
			size := "no width and height"
			if root.attr["width"] != "" || root.attr["height"] != "" {
				size = fmt.Sprintf("a width of %s and a height of %s", quote(root.attr["width"]), quote(root.attr["height"]))
			}
			return at, &Fault{Line: root.line, What: "<svg>", Text: size + ": it does not say how large it is; accepted: width and height in mm, cm, in, pt, pc, px",
				Hint: "set the page size in the drawing, or state what one user unit is, as units: mm"}
		}
		own = identity
		if hasBox {
			at.w, at.h = box[2], box[3]
		}
	case hasBox:
		sx, sy := w/box[2], h/box[3]
		if !hasW {
			sx = sy
		} else if !hasH {
			sy = sx
		}
		own = svgFit(root.attr["preserveAspectRatio"], box, sx, sy, box[2]*sx, box[3]*sy)
		at.w, at.h = box[2], box[3]
		if math.Abs(sx-sy) > 1e-6*sx {
			r.out.Notes = append(r.out.Notes, Note{root.line, "<svg>", fmt.Sprintf("width and height scale the drawing by %.6g and %.6g mm per unit: %s", sx, sy, svgUneven(root))})
		}
	default:
		own = scaling(25.4/96, 25.4/96) // user units are px
		at.w, at.h = w/(25.4/96), h/(25.4/96)
	}
	unit := math.Sqrt(math.Abs(own.det()))
	r.out.Unit, r.out.From = unit, "the file's width and height"
	if o.Unit > 0 {
		if (hasW || hasH) && math.Abs(unit-o.Unit) > 1e-6*o.Unit {
			r.out.Notes = append(r.out.Notes, Note{root.line, "unit", fmt.Sprintf("by its width and height 1 user unit is %.6g mm; %g mm is stated with the outline and wins", unit, o.Unit)})
		}
		own = scaling(o.Unit, o.Unit)
		r.out.Unit, r.out.From = o.Unit, "stated"
	}
	at.m = own.then(at.m)
	at.style = map[string]string{}
	return r.styled(root, at)
}

func svgUneven(n *svgNode) string {
	if strings.HasPrefix(strings.TrimSpace(n.attr["preserveAspectRatio"]), "none") {
		return "preserveAspectRatio says none, so it is stretched"
	}
	return "the smaller is taken both ways"
}

// svgBox reads viewBox.
func svgBox(n *svgNode) (box [4]float64, ok bool, err error) {
	text := n.attr["viewBox"]
	if text == "" {
		return box, false, nil
	}
	v, err := svgNumbers(n, "viewBox", text)
	if err != nil {
		return box, false, err
	}
	if len(v) != 4 || !(v[2] > 0) || !(v[3] > 0) {
		return box, false, &Fault{Line: n.line, What: "viewBox", Text: quote(text) + "; accepted: left, top, width and height, the last two more than 0", Hint: "save the drawing again"}
	}
	return [4]float64(v), true, nil
}

// svgFit maps a viewBox into a viewport w × h at (0, 0), by preserveAspectRatio.
func svgFit(aspect string, box [4]float64, sx, sy, w, h float64) affine {
	words := strings.Fields(aspect)
	align := "xMidYMid"
	if len(words) > 0 {
		align = words[0]
	}
	if align != "none" {
		s := min(sx, sy)
		if len(words) > 1 && words[1] == "slice" {
			s = max(sx, sy)
		}
		sx, sy = s, s
	}
	place := func(word string, room float64) float64 {
		switch {
		case strings.Contains(align, word+"Min"):
			return 0
		case strings.Contains(align, word+"Max"):
			return room
		}
		return room / 2
	}
	dx, dy := 0.0, 0.0
	if align != "none" {
		dx, dy = place("x", w-box[2]*sx), place("Y", h-box[3]*sy)
	}
	return moving(-box[0], -box[1]).then(scaling(sx, sy)).then(moving(dx, dy))
}

// svgMute are the elements whose content is not drawn where it stands.
var svgMute = map[string]string{"defs": "", "symbol": "", "style": "", "title": "", "desc": "", "metadata": "", "script": "", "namedview": "",
	"clipPath": "a clip: what it hides is read all the same", "mask": "a mask: what it hides is read all the same", "pattern": "a pattern",
	"marker": "", "linearGradient": "", "radialGradient": "", "filter": "", "view": ""}

func (r *svgReader) children(n *svgNode, at svgAt) error {
	for _, c := range n.children {
		if err := r.element(c, at); err != nil {
			return err
		}
	}
	return nil
}

func (r *svgReader) element(n *svgNode, at svgAt) error {
	if r.n++; r.n > MostEntities {
		return &Fault{Line: n.line, What: "SVG", Text: fmt.Sprintf("more than %d elements, uses counted", MostEntities), Hint: "save the outline alone"}
	}
	if why, ok := svgMute[n.name]; ok {
		if why != "" {
			r.leave(n, why)
		}
		return nil
	}
	at, err := r.styled(n, at)
	if err != nil {
		return err
	}
	if at.depth++; at.depth > MostDepth*4 {
		return &Fault{Line: n.line, What: "<" + n.name + ">", Text: fmt.Sprintf("groups and uses more than %d deep", MostDepth*4), Hint: "ungroup the drawing"}
	}
	switch n.name {
	case "g", "a", "switch":
		return r.children(n, at)
	case "svg":
		at, err = r.inner(n, at)
		if err != nil {
			return err
		}
		return r.children(n, at)
	case "use":
		return r.use(n, at)
	}
	draw := svgShapes[n.name]
	if draw == nil {
		r.leave(n, "no line of an outline")
		return nil
	}
	if at.hidden != "" {
		r.leave(n, at.hidden)
		return nil
	}
	if svgUnseen(at.style["stroke"]) && at.style["fill"] != "" && svgUnseen(at.style["fill"]) {
		r.leave(n, "it is neither stroked nor filled, so that nobody sees it")
		return nil
	}
	return draw(r, n, at)
}

// inner is a viewport within the drawing: an svg in an svg, or a symbol that is used.
func (r *svgReader) inner(n *svgNode, at svgAt) (svgAt, error) {
	v, err := r.lengths(n, at, "x", "y", "width", "height")
	if err != nil {
		return at, err
	}
	box, ok, err := svgBox(n)
	if err != nil {
		return at, err
	}
	w, h := v[2], v[3]
	if n.attr["width"] == "" {
		w = at.w
	}
	if n.attr["height"] == "" {
		h = at.h
	}
	m := moving(v[0], v[1])
	if ok && w > 0 && h > 0 {
		m = svgFit(n.attr["preserveAspectRatio"], box, w/box[2], h/box[3], w, h).then(m)
		w, h = box[2], box[3]
	}
	at.m, at.w, at.h = m.then(at.m), w, h
	return at, nil
}

func (r *svgReader) use(n *svgNode, at svgAt) error {
	ref := n.attr["href"]
	t := r.ids[strings.TrimPrefix(ref, "#")]
	if !strings.HasPrefix(ref, "#") || t == nil {
		return &Fault{Line: n.line, What: "<use>", Text: "it refers to " + quote(ref) + ", which is not in the file", Hint: "unlink the copies in the drawing and save it again"}
	}
	if r.open[t] {
		return &Fault{Line: n.line, What: "<use>", Text: quote(ref) + " holds itself", Hint: "unlink the copies in the drawing"}
	}
	v, err := r.lengths(n, at, "x", "y")
	if err != nil {
		return err
	}
	r.open[t] = true
	defer delete(r.open, t)
	at.m = moving(v[0], v[1]).then(at.m)
	if t.name == "symbol" {
		s := *t
		s.attr = map[string]string{}
		for k, x := range t.attr {
			s.attr[k] = x
		}
		for _, k := range []string{"width", "height"} {
			if n.attr[k] != "" {
				s.attr[k] = n.attr[k]
			}
		}
		if at, err = r.styled(&s, at); err != nil {
			return err
		}
		if at, err = r.inner(&s, at); err != nil {
			return err
		}
		return r.children(t, at)
	}
	return r.element(t, at)
}

// add takes a drawn run as a loop.
func (r *svgReader) add(n *svgNode, at svgAt, k *pen, closed bool) error {
	p := k.path
	if last := len(p.V) - 1; closed && last > 0 {
		p.V = p.V[:last]
	}
	if len(p.V) < 2 {
		return nil // a place without a line
	}
	p.Closed = closed
	if r.vertices += len(p.V); r.vertices > MostVertices {
		return &Fault{Line: n.line, What: "<" + n.name + ">", Text: fmt.Sprintf("more than %d lines and arcs in all", MostVertices), Hint: "save the outline alone"}
	}
	for _, v := range p.V {
		if !(math.Abs(v.X) <= MostSize && math.Abs(v.Y) <= MostSize) || math.IsNaN(v.Bulge) {
			return &Fault{Line: n.line, What: "<" + n.name + ">", Text: fmt.Sprintf("a place at (%.6g, %.6g) mm; accepted: within %g m of the drawing's origin", v.X, v.Y, MostSize/1000), Hint: "check the page size and the transforms"}
		}
	}
	r.out.Loops = append(r.out.Loops, Loop{Path: p, Layer: at.layer, Colour: svgColour(at.style), Source: n.name, Line: n.line})
	return nil
}

func (r *svgReader) pen(at svgAt, p plane.Point) *pen {
	k := &pen{m: at.m, n: r.vertices}
	k.start(p)
	return k
}
