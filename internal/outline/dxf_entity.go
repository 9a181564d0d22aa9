package outline

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"panelwright/internal/plane"
)

// dxfAt is how a run of entities stands in the drawing: through what map, and on what layer and in what colour those are that
// say "as the block".
type dxfAt struct {
	m             affine
	layer, colour string
	depth         int
}

// dxfLeft counts what was left out for one reason.
type dxfLeft struct {
	line, n int
	what    string
	text    string
}

type dxfReader struct {
	file     *dxfFile
	out      *Drawing
	n        int // entities
	vertices int
	left     map[string]*dxfLeft
	open     map[string]bool // blocks being inserted
}

// leave counts an entity that is left out.
func (r *dxfReader) leave(e *dxfEntity, why string) {
	k := e.kind + "\x00" + why
	if l := r.left[k]; l != nil {
		l.n++
		return
	}
	r.left[k] = &dxfLeft{e.line, 1, e.kind, why}
}

// notes tells of what was left out, in the order of the file.
func (r *dxfReader) notes() {
	var all []*dxfLeft
	for _, l := range r.left {
		all = append(all, l)
	}
	slices.SortFunc(all, func(a, b *dxfLeft) int {
		if a.line != b.line {
			return a.line - b.line
		}
		return strings.Compare(a.what+a.text, b.what+b.text)
	})
	for _, l := range all {
		count := "1 left out"
		if l.n > 1 {
			count = fmt.Sprintf("%d left out, this is the first", l.n)
		}
		r.out.Notes = append(r.out.Notes, Note{l.line, l.what, count + ": " + l.text})
	}
	if !r.file.ended {
		r.out.Notes = append(r.out.Notes, Note{What: "DXF", Text: "the file has no EOF at its end: it may be cut short"})
	}
}

// dxfDrawn are the entities that can be an outline.
var dxfDrawn = map[string]func(*dxfReader, *dxfEntity, dxfAt) error{
	"LINE": (*dxfReader).line, "ARC": (*dxfReader).arc, "CIRCLE": (*dxfReader).circle, "ELLIPSE": (*dxfReader).ellipse,
	"LWPOLYLINE": (*dxfReader).polyline, "POLYLINE": (*dxfReader).oldPolyline, "SPLINE": (*dxfReader).spline,
}

func (r *dxfReader) entities(all []dxfEntity, at dxfAt) error {
	for i := range all {
		e := &all[i]
		if r.n++; r.n > MostEntities {
			return &Fault{Line: e.line, What: "DXF", Text: fmt.Sprintf("more than %d entities, blocks inserted", MostEntities), Hint: "save the outline alone"}
		}
		const paper, unseen = 67, 60
		layer := r.layer(e, at)
		switch {
		case e.whole(paper) == 1:
			r.leave(e, "it stands on the paper layout, not in the drawing")
			continue
		case e.whole(unseen) == 1:
			r.leave(e, "it is marked as not visible")
			continue
		case r.file.layers[strings.ToUpper(layer)].hidden:
			r.leave(e, fmt.Sprintf("its layer %s is off or frozen", quote(layer)))
			continue
		}
		if e.kind == "INSERT" {
			if err := r.insert(e, at); err != nil {
				return err
			}
			continue
		}
		draw := dxfDrawn[e.kind]
		if draw == nil {
			r.leave(e, "no line of an outline")
			continue
		}
		if err := draw(r, e, at); err != nil {
			return err
		}
		if r.vertices > MostVertices {
			return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("more than %d lines and arcs in all", MostVertices), Hint: "save the outline alone"}
		}
	}
	return nil
}

// layer is an entity's layer: within a block, layer 0 stands for that of the insert.
func (r *dxfReader) layer(e *dxfEntity, at dxfAt) string {
	l := e.text(8)
	if (l == "0" || l == "") && at.layer != "" {
		return at.layer
	}
	if l == "" {
		return "0"
	}
	return l
}

// colour is an entity's colour number; 256 or none is the layer's, 0 the insert's.
func (r *dxfReader) colour(e *dxfEntity, at dxfAt) string {
	const byBlock, byLayer = 0, 256
	switch c := e.text(62); c {
	case "", strconv.Itoa(byLayer):
		return r.file.layers[strings.ToUpper(r.layer(e, at))].colour
	case strconv.Itoa(byBlock):
		return at.colour
	default:
		return c
	}
}

// plane returns the map from an entity's own plane to the drawing's: an extrusion of (0, 0, −1) mirrors it about y, as mirrored
// parts have it. ok is false, and the entity left out, when it stands otherwise in space.
func (r *dxfReader) plane(e *dxfEntity) (m affine, ok bool, err error) {
	n := [3]float64{0, 0, 1}
	for i, code := range []int{210, 220, 230} {
		if e.text(code) != "" {
			if n[i], err = e.number(code); err != nil {
				return m, false, err
			}
		}
	}
	size := math.Sqrt(n[0]*n[0] + n[1]*n[1] + n[2]*n[2])
	const upright = 1e-9
	if !(size > 0) || math.Hypot(n[0], n[1]) > upright*size {
		r.leave(e, "it does not lie in the drawing's plane")
		return m, false, nil
	}
	if n[2] < 0 {
		return scaling(-1, 1), true, nil
	}
	return identity, true, nil
}

// add takes a drawn run as a loop.
func (r *dxfReader) add(e *dxfEntity, at dxfAt, k *pen, closed bool) error {
	p := k.path
	if n := len(p.V) - 1; closed && n > 0 { // the last vertex repeats the first
		p.V = p.V[:n]
	}
	p.Closed = closed
	r.vertices += len(p.V)
	for _, v := range p.V {
		if !(math.Abs(v.X) <= MostSize && math.Abs(v.Y) <= MostSize) || math.IsNaN(v.Bulge) {
			return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("a place at (%.6g, %.6g) mm; accepted: within %g m of the drawing's origin", v.X, v.Y, MostSize/1000), Hint: "check the unit, and move the outline near the origin"}
		}
	}
	r.out.Loops = append(r.out.Loops, Loop{Path: p, Layer: r.layer(e, at), Colour: r.colour(e, at), Source: e.kind, Line: e.line})
	return nil
}

func (r *dxfReader) line(e *dxfEntity, at dxfAt) error {
	v, err := e.numbers(10, 20, 11, 21)
	if err != nil {
		return err
	}
	k := r.pen(at.m)
	k.start(plane.Point{X: v[0], Y: v[1]})
	k.line(plane.Point{X: v[2], Y: v[3]})
	return r.add(e, at, k, false)
}

func (r *dxfReader) pen(m affine) *pen { return &pen{m: m, n: r.vertices} }

// round reads what circles and arcs share: the pen on their plane, centre and radius. ok is false for one that does not lie flat.
func (r *dxfReader) round(e *dxfEntity, at dxfAt) (k *pen, centre plane.Point, radius float64, ok bool, err error) {
	own, ok, err := r.plane(e)
	if !ok || err != nil {
		return nil, centre, 0, false, err
	}
	v, err := e.numbers(10, 20, 40)
	if err != nil {
		return nil, centre, 0, false, err
	}
	if !(v[2] > 0) {
		return nil, centre, 0, false, &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("a radius of %g; accepted: more than 0", v[2]), Hint: "delete it, or draw it again"}
	}
	return r.pen(own.then(at.m)), plane.Point{X: v[0], Y: v[1]}, v[2], true, nil
}

func (r *dxfReader) circle(e *dxfEntity, at dxfAt) error {
	k, c, radius, ok, err := r.round(e, at)
	if !ok || err != nil {
		return err
	}
	k.start(c.Add(plane.Point{X: radius}))
	k.ellipse(c, plane.Point{X: radius}, plane.Point{Y: radius}, 0, 2*math.Pi)
	return r.add(e, at, k, true)
}

func (r *dxfReader) arc(e *dxfEntity, at dxfAt) error {
	k, c, radius, ok, err := r.round(e, at)
	if !ok || err != nil {
		return err
	}
	ends, err := e.numbers(50, 51)
	if err != nil {
		return err
	}
	from := ends[0] * math.Pi / 180
	sweep := math.Mod(ends[1]-ends[0], 360)
	if sweep <= 0 {
		sweep += 360
	}
	k.start(c.Add(plane.Point{X: radius}.Rotate(from)))
	k.ellipse(c, plane.Point{X: radius}, plane.Point{Y: radius}, from, from+sweep*math.Pi/180)
	return r.add(e, at, k, false)
}

// ellipse stands in the drawing's coordinates, whatever its extrusion, which only tells its sense.
func (r *dxfReader) ellipse(e *dxfEntity, at dxfAt) error {
	own, ok, err := r.plane(e)
	if !ok || err != nil {
		return err
	}
	v, err := e.numbers(10, 20, 11, 21, 40, 41, 42)
	if err != nil {
		return err
	}
	x := plane.Point{X: v[2], Y: v[3]}
	if !(x.Len() > 0) || !(v[4] > 0) {
		return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("half axes of %g and %g; accepted: more than 0", x.Len(), x.Len()*v[4]), Hint: "delete it, or draw it again"}
	}
	y := x.Perp().Scale(v[4] * own.det())
	from, to := v[5], v[6]
	if e.text(42) == "" {
		to = 2 * math.Pi
	}
	sweep := math.Mod(to-from, 2*math.Pi)
	const whole = 1e-9 // rad: ends are written to twelve figures or so
	if sweep <= whole {
		sweep += 2 * math.Pi
	}
	closed := 2*math.Pi-sweep <= whole
	c := plane.Point{X: v[0], Y: v[1]}
	k := r.pen(at.m)
	k.start(c.Add(x.Scale(math.Cos(from))).Add(y.Scale(math.Sin(from))))
	k.ellipse(c, x, y, from, from+sweep)
	return r.add(e, at, k, closed)
}

// polyline reads LWPOLYLINE: a vertex begins at every group 10, a bulge (42) belongs to the vertex before it.
func (r *dxfReader) polyline(e *dxfEntity, at dxfAt) error {
	own, ok, err := r.plane(e)
	if !ok || err != nil {
		return err
	}
	var vs []plane.Vertex
	for _, g := range e.groups {
		if g.code != 10 && g.code != 20 && g.code != 42 {
			continue
		}
		v, err := dxfNumber(e.kind, g)
		if err != nil {
			return err
		}
		switch n := len(vs) - 1; {
		case g.code == 10:
			vs = append(vs, plane.Vertex{Point: plane.Point{X: v}})
		case n < 0:
			return &Fault{Line: g.line, What: e.kind, Text: fmt.Sprintf("group %d before the first vertex", g.code), Hint: "save the drawing again"}
		case g.code == 20:
			vs[n].Y = v
		default:
			vs[n].Bulge = v
		}
	}
	return r.vertexRun(e, at, own, vs, e.whole(70)&1 != 0)
}

// vertexRun draws vertices with bulges.
func (r *dxfReader) vertexRun(e *dxfEntity, at dxfAt, own affine, vs []plane.Vertex, closed bool) error {
	if len(vs) < 2 {
		r.leave(e, "fewer than two vertices")
		return nil
	}
	k := r.pen(own.then(at.m))
	k.start(vs[0].Point)
	for i := range vs {
		if i == len(vs)-1 && !closed {
			break
		}
		to := vs[(i+1)%len(vs)].Point
		if math.Abs(vs[i].Bulge) > 1e6 {
			return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("a bulge of %g at vertex %d; accepted: at most 1e6", vs[i].Bulge, i+1), Hint: "draw that arc again"}
		}
		k.arc(plane.Seg{A: vs[i].Point, B: to, Bulge: vs[i].Bulge})
	}
	return r.add(e, at, k, closed)
}

// oldPolyline reads POLYLINE with its VERTEX entities: flat ones with bulges, and ones in space that stay level.
func (r *dxfReader) oldPolyline(e *dxfEntity, at dxfAt) error {
	const closed, curveFit, splineFit, space, meshes = 1, 2, 4, 8, 16 | 64
	flags := e.whole(70)
	if flags&meshes != 0 {
		r.leave(e, "a mesh in space")
		return nil
	}
	own, ok, err := r.plane(e)
	if !ok || err != nil {
		return err
	}
	if flags&space != 0 {
		own = identity // its places are the drawing's
	}
	var vs []plane.Vertex
	level, first := true, 0.0
	for i := range e.parts {
		p := &e.parts[i]
		const control = 16
		if p.whole(70)&control != 0 {
			continue // the frame of a fitted spline, which its other vertices draw
		}
		v, err := p.numbers(10, 20, 42, 30)
		if err != nil {
			return err
		}
		if len(vs) == 0 {
			first = v[3]
		}
		level = level && math.Abs(v[3]-first) <= CurveTol
		if flags&space != 0 {
			v[2] = 0
		}
		vs = append(vs, plane.Vertex{Point: plane.Point{X: v[0], Y: v[1]}, Bulge: v[2]})
	}
	if flags&space != 0 && !level {
		r.leave(e, "its points do not lie at one height: digitise it as x, y, z in a CSV, which is developed flat")
		return nil
	}
	if flags&splineFit != 0 && flags&curveFit == 0 {
		r.out.Notes = append(r.out.Notes, Note{e.line, e.kind, "a spline kept as straight pieces: it is only as round as they are"})
	}
	return r.vertexRun(e, at, own, vs, flags&closed != 0)
}

// insert draws a block, or a grid of it.
func (r *dxfReader) insert(e *dxfEntity, at dxfAt) error {
	name := e.text(2)
	b := r.file.blocks[strings.ToUpper(name)]
	if b == nil {
		return &Fault{Line: e.line, What: e.kind, Text: "block " + quote(name) + " is not in the file", Hint: "save the drawing again with its blocks, or with blocks broken up"}
	}
	key := strings.ToUpper(name)
	if r.open[key] {
		return &Fault{Line: e.line, What: e.kind, Text: "block " + quote(name) + " holds itself", Hint: "break the block up"}
	}
	if at.depth >= MostDepth {
		return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("blocks within blocks, more than %d deep", MostDepth), Hint: "break the blocks up"}
	}
	own, ok, err := r.plane(e)
	if !ok || err != nil {
		return err
	}
	v, err := e.numbers(10, 20, 41, 42, 50, 44, 45)
	if err != nil {
		return err
	}
	for i, code := range []int{41, 42} {
		if e.text(code) == "" {
			v[2+i] = 1
		}
	}
	if v[2] == 0 || v[3] == 0 {
		return &Fault{Line: e.line, What: e.kind, Text: "block " + quote(name) + " inserted at a scale of 0", Hint: "insert it again"}
	}
	cols, rows := max(1, e.whole(70)), max(1, e.whole(71))
	if cols > MostEntities || rows > MostEntities || cols*rows > MostEntities {
		return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("%d × %d copies of block %s; accepted: at most %d", cols, rows, quote(name), MostEntities), Hint: "insert fewer"}
	}
	r.open[key] = true
	defer delete(r.open, key)
	turn := turning(v[4] * math.Pi / 180)
	inner := dxfAt{layer: r.layer(e, at), colour: r.colour(e, at), depth: at.depth + 1}
	for row := range rows {
		for col := range cols {
			m := moving(-b.base.X, -b.base.Y).then(scaling(v[2], v[3])).then(moving(float64(col)*v[5], float64(row)*v[6]))
			inner.m = m.then(turn).then(moving(v[0], v[1])).then(own).then(at.m)
			if r.n++; r.n > MostEntities {
				return &Fault{Line: e.line, What: e.kind, Text: fmt.Sprintf("more than %d entities, blocks inserted", MostEntities), Hint: "save the outline alone"}
			}
			if err := r.entities(b.entities, inner); err != nil {
				return err
			}
		}
	}
	return nil
}
