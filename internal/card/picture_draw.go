package card

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Sizes of a picture on A4, mm. Two with one state each stand beside each other on a page.
const (
	pictureNames = 23.0 // column of the layers' names
	pictureAlone = 32.5 // room for a state by itself
	picturePair  = 45.0 // for each of several
	pictureStep  = 8.0  // from one state to the next
	pictureDims  = 27.0 // room on the right for sizes
	pictureHead  = 9.0  // scale and states' titles
	pictureHigh  = 34.0 // of the bodies, at most
	pictureFoot  = 5.0
	pictureMost  = 5.0 // greatest scale
)

// workState is one state of the work: before, after.
type workState struct {
	title string
	cutStack
}

// workSize is a size that stands beside the last state, at a depth.
type workSize struct {
	y     float64
	words string
}

// extent is what a stack takes from the top down, its rivet included.
func (s cutStack) extent() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, b := range s.bodies {
		lo, hi = math.Min(lo, b.y0), math.Max(hi, b.y1)
	}
	for _, v := range s.rivets {
		a, b := v.extent()
		lo, hi = math.Min(lo, a), math.Max(hi, b)
	}
	return lo, hi
}

// drawStates draws states side by side at one scale, names of the bodies on the left, sizes on the right of the last. Every
// state holds the same bodies.
func drawStates(states []workState, sizes []workSize) sheet.Sheet {
	top, deep, half := math.Inf(1), math.Inf(-1), 0.0
	for _, s := range states {
		lo, hi := s.extent()
		top, deep, half = math.Min(top, lo), math.Max(deep, hi), math.Max(half, s.half)
	}
	room := pictureAlone
	if len(states) > 1 {
		room = picturePair
	}
	scale := drawing.FitScale(2*half, deep-top, room, pictureHigh, pictureMost)
	var c drawing.Canvas
	c.Write(0, 3.5, sheet.Letters25, sheet.Left, drawing.ScaleName(scale))
	low := 0.0
	for i, s := range states {
		x := pictureNames + (room+pictureStep)*float64(i) + room/2
		p := statePlot{c: &c, scale: scale, origin: drawing.At(x, pictureHead-scale*top), half: half}
		c.Bold(x, 3.5, sheet.Letters25, sheet.Centre, s.title)
		p.draw(s.cutStack)
		if i == 0 {
			low = math.Max(low, p.names(s.cutStack))
		} else {
			y := pictureHead + scale*(deep-top)/2
			mid := x - (room+pictureStep)/2
			c.Add(sheet.Arrow(drawing.At(mid-3.5, y), drawing.At(mid+3.5, y))...)
		}
		if i == len(states)-1 {
			low = math.Max(low, p.sizes(sizes, x+scale*half+1.5))
		}
	}
	w := pictureNames + room*float64(len(states)) + pictureStep*float64(len(states)-1) + pictureDims
	return sheet.Sheet{Title: "Step", W: w, H: math.Max(pictureHead+scale*(deep-top)+pictureFoot, low+3), Items: c.Items}
}

// pictureLine is the distance of names and sizes that stand over each other, mm.
const pictureLine = 4.2

type statePlot struct {
	c      *drawing.Canvas
	scale  float64
	origin plane.Point
	half   float64
}

func (p statePlot) at(x, y float64) plane.Point {
	return p.origin.Add(drawing.At(p.scale*x, p.scale*y))
}

func (p statePlot) polygon(pen *sheet.Pen, fill *sheet.Tone, layer string, pts ...plane.Point) {
	page := make([]plane.Point, len(pts))
	for i, q := range pts {
		page[i] = p.at(q.X, q.Y)
	}
	p.c.Add(sheet.Stroke{Path: plane.Polygon(page...), Pen: pen, Fill: fill, Layer: layer})
}

// pens of a picture.
var (
	pictureEdge  = sheet.Pen{Width: 0.4}
	pictureGhost = sheet.Pen{Width: 0.25, Dash: []float64{1.6, 0.8}}
)

// draw draws the bodies, the rivet and the axis.
func (p statePlot) draw(s cutStack) {
	for i, b := range s.bodies {
		p.body(b, i)
	}
	for _, v := range s.rivets {
		p.rivet(v)
	}
	lo, hi := s.extent()
	axis := sheet.Pen{Width: 0.18, Dash: []float64{4, 1, 0.7, 1}}
	p.c.Line(p.at(0, lo).Add(drawing.At(0, -2.5)), p.at(0, hi).Add(drawing.At(0, 2.5)), axis, sheet.LayerCentre)
}

// body draws what is left of a body on both sides of its hole, its outer ends open; one without a hole in one piece.
func (p statePlot) body(b cutBody, i int) {
	if b.gap || b.hole/2 >= p.half {
		return
	}
	if b.hole == 0 {
		p.solid(b, i, []plane.Point{drawing.At(-p.half, b.y0), drawing.At(p.half, b.y0)}, []plane.Point{drawing.At(p.half, b.y1), drawing.At(-p.half, b.y1)})
		return
	}
	for _, side := range []float64{-1, 1} {
		wall := []plane.Point{drawing.At(side*p.half, b.y0)}
		for _, w := range b.profile() {
			wall = append(wall, drawing.At(side*math.Min(w.X, p.half), w.Y))
		}
		p.solid(b, i, append(wall, drawing.At(side*p.half, b.y1)))
	}
	for _, w := range b.profile() { // the edges of the hole behind the plane
		if w.X < p.half {
			p.c.Line(p.at(-w.X, w.Y), p.at(w.X, w.Y), sheet.Fine, sheet.LayerOutline)
		}
	}
}

// solid hatches what the edges enclose and draws them; between one's end and the next one's beginning the layer goes on: a wave.
func (p statePlot) solid(b cutBody, i int, edges ...[]plane.Point) {
	h := sheet.Hatch{Angle: -math.Pi / 4, Pitch: 0.9, Pen: sheet.Fine}
	if !b.part {
		h = drawing.LayerHatch(b.family, i)
	}
	var all []plane.Point
	for k, e := range edges {
		edges[k] = make([]plane.Point, len(e))
		for n, q := range e {
			edges[k][n] = p.at(q.X, q.Y)
		}
		all = append(all, edges[k]...)
	}
	h.Region, h.Layer = plane.Region{Outer: plane.Polygon(all...)}, sheet.LayerHatch
	p.c.Add(sheet.Stroke{Path: h.Region.Outer, Fill: &sheet.White, Layer: sheet.LayerOutline}, h)
	for k, e := range edges {
		p.c.Add(sheet.Stroke{Path: plane.Open(e...), Pen: &pictureEdge, Layer: sheet.LayerOutline})
		a, z := e[len(e)-1], edges[(k+1)%len(edges)][0]
		wave := plane.Path{V: []plane.Vertex{{Point: a, Bulge: 0.35}, {Point: a.Lerp(z, 0.5), Bulge: -0.35}, {Point: z}}}
		p.c.Add(sheet.Stroke{Path: wave, Pen: &sheet.Fine, Layer: sheet.LayerOutline})
	}
}

// profile is the wall of a body's hole from the front to the back: X is the distance from the axis, Y the depth. A body
// without a hole begins at the axis.
func (b cutBody) profile() []plane.Point {
	r := b.hole / 2
	pts := []plane.Point{drawing.At(r, b.y0)}
	knee := func(s sinkCut) float64 { return math.Min(s.deep, b.y1-b.y0) }
	if f := b.front; f.deep > 0 {
		k := knee(f)
		pts[0].X = f.wide / 2
		pts = append(pts, drawing.At(f.wide/2-(f.wide/2-r)*k/f.deep, b.y0+k))
	}
	if f := b.back; f.deep > 0 {
		k := knee(f)
		return append(pts, drawing.At(f.wide/2-(f.wide/2-r)*k/f.deep, b.y1-k), drawing.At(f.wide/2, b.y1))
	}
	return append(pts, drawing.At(r, b.y1))
}

// names writes the bodies' names and thicknesses on the left, each with a line to its body, and says how far down they go.
func (p statePlot) names(s cutStack) (low float64) {
	var texts []workSize
	for _, b := range s.bodies {
		texts = append(texts, workSize{(b.y0 + b.y1) / 2, strings.TrimPrefix(b.name, "receptacle ") + " " + measure.Fixed(b.y1-b.y0, 2)})
	}
	for i, y := range p.spread(texts) {
		words, size := sheet.FitText(texts[i].words, pictureNames-3, sheet.Letters25, sheet.Letters18, sheet.Regular)
		p.c.Write(pictureNames-3, y+sheet.Letters25*sheet.CapHeight/2, size, sheet.Right, words)
		p.c.Line(drawing.At(pictureNames-2.4, y), p.at(-p.half, texts[i].y).Add(drawing.At(1.5, 0)), sheet.Pen{Width: 0.18}, sheet.LayerDimension)
		low = y
	}
	return low
}

// sizes writes sizes from x on, each with a line from its depth, and says how far down they go.
func (p statePlot) sizes(sizes []workSize, x float64) (low float64) {
	slices.SortStableFunc(sizes, func(a, b workSize) int { return cmp.Compare(a.y, b.y) })
	for i, y := range p.spread(sizes) {
		p.c.Line(p.at(p.half, sizes[i].y).Add(drawing.At(-1, 0)), drawing.At(x+0.4, y), sheet.Pen{Width: 0.18}, sheet.LayerDimension)
		p.c.Write(x+0.8, y+sheet.Letters25*sheet.CapHeight/2, sheet.Letters25, sheet.Left, sizes[i].words)
		low = y
	}
	return low
}

// spread gives each size a height near its own, at least a line apart; the sizes come from the top down. Where they crowd,
// the first go up by half of what the last would be pushed down, as far as the titles let them.
func (p statePlot) spread(sizes []workSize) []float64 {
	place := func(up float64) []float64 {
		ys := make([]float64, len(sizes))
		for i, s := range sizes {
			ys[i] = math.Max(p.at(0, s.y).Y-up, pictureHead-1)
			if i > 0 {
				ys[i] = math.Max(p.at(0, s.y).Y-up, ys[i-1]+pictureLine)
			}
		}
		return ys
	}
	ys := place(0)
	if n := len(ys); n > 1 {
		ys = place((ys[n-1] - p.at(0, sizes[n-1].y).Y) / 2)
	}
	return ys
}

// extent is the highest and the deepest point of a set rivet.
func (v *setRivet) extent() (lo, hi float64) {
	r := v.joint.Rivet
	head := v.head
	if r.CountersinkDeg == 0 {
		head += v.out * r.HeadHeight
	}
	tail := v.tail
	if v.joint.TailSink == nil {
		tail -= v.out * (v.joint.WasherThickness + r.TailLength)
	}
	return math.Min(head, tail), math.Max(head, tail)
}

// below is how far a head or a set tail of diameter wide lies below its face in a countersink.
func below(s sinkCut, wide float64) float64 {
	if s.deep <= 0 || wide >= s.wide {
		return 0
	}
	return (s.wide - wide) / 2 / math.Tan(s.angleDeg/2*math.Pi/180)
}

// rivet draws a set rivet: shank, head, washer, tail. A ghost is its outline alone.
func (p statePlot) rivet(v *setRivet) {
	j, r := v.joint, v.joint.Rivet
	pen, fill := &pictureEdge, &sheet.White
	layer := sheet.LayerOutline
	if v.ghost {
		pen, fill, layer = &pictureGhost, nil, sheet.LayerHidden
	}
	rad, hr, tr, out := r.Diameter/2, r.HeadDiameter/2, r.TailDiameter/2, v.out
	bearing := v.tail - out*j.WasherThickness
	if j.WasherThickness > 0 && j.WasherDiameter > 0 {
		w := j.WasherDiameter / 2
		p.polygon(pen, fill, layer, drawing.At(-w, v.tail), drawing.At(w, v.tail), drawing.At(w, bearing), drawing.At(-w, bearing))
	}
	if !v.ghost {
		p.polygon(pen, fill, layer, drawing.At(-rad, v.head), drawing.At(rad, v.head), drawing.At(rad, bearing), drawing.At(-rad, bearing))
	}
	switch {
	case r.Head == "countersunk" && r.CountersinkDeg > 0:
		in := 0.0
		if j.HeadSink != nil {
			in = below(sinkOf(j.HeadSink), r.HeadDiameter)
		}
		deep := (hr - rad) / math.Tan(r.CountersinkDeg/2*math.Pi/180)
		y := v.head - out*in
		p.polygon(pen, fill, layer, drawing.At(-hr, y), drawing.At(hr, y), drawing.At(rad, y-out*deep), drawing.At(-rad, y-out*deep))
	case r.HeadHeight > 0 && !v.ghost:
		b := r.HeadHeight / hr
		if out > 0 {
			b = -b
		}
		path := plane.Path{Closed: true, V: []plane.Vertex{{Point: p.at(-hr, v.head), Bulge: b}, {Point: p.at(hr, v.head)}}}
		p.c.Add(sheet.Stroke{Path: path, Pen: pen, Fill: fill, Layer: layer})
	}
	if k := j.TailSink; k != nil {
		y := v.tail + out*below(sinkOf(k), r.TailDiameter)
		p.polygon(pen, fill, layer, drawing.At(-rad, v.tail+out*k.Depth), drawing.At(rad, v.tail+out*k.Depth), drawing.At(tr, y), drawing.At(-tr, y))
		return
	}
	end := bearing - out*r.TailLength
	q := 0.35 * out
	path := plane.Path{Closed: true, V: []plane.Vertex{{Point: p.at(-tr*0.95, bearing)}, {Point: p.at(tr*0.95, bearing), Bulge: -q},
		{Point: p.at(rad*0.8, end)}, {Point: p.at(-rad*0.8, end), Bulge: -q}}}
	p.c.Add(sheet.Stroke{Path: path, Pen: pen, Fill: fill, Layer: layer})
}

// setIn places a joint's rivet in bodies: head on the first body that it joins, tail on the last.
func setIn(bodies []cutBody, j *setout.RivetJoint) (*setRivet, bool) {
	find := func(name string) *cutBody {
		for i := range bodies {
			if bodies[i].name == name {
				return &bodies[i]
			}
		}
		if name == "outer" || name == "inner" { // the layer has a name of its own: the outermost, or the innermost
			layers := slices.DeleteFunc(slices.Clone(bodies), func(b cutBody) bool { return b.part })
			want := layers[0].name
			if name == "inner" {
				want = layers[len(layers)-1].name
			}
			for i := range bodies {
				if bodies[i].name == want {
					return &bodies[i]
				}
			}
		}
		return nil
	}
	if j.Rivet == nil || len(j.Joins) == 0 {
		return nil, false
	}
	first, last := find(j.Joins[0]), find(j.Joins[len(j.Joins)-1])
	if first == nil || last == nil {
		return nil, false
	}
	if first.y0 <= last.y0 && !(first == last && strings.HasSuffix(j.HeadOn, " back")) {
		return &setRivet{joint: j, head: first.y0, tail: last.y1, out: -1}, true
	}
	return &setRivet{joint: j, head: first.y1, tail: last.y0, out: 1}, true
}
