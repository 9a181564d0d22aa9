package bearing

import (
	"math"

	"panelwright/internal/job"
	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/setout"
)

// The mesh of a panel. Lines of support get a node every stepShare of the panel's lesser side, within bounds; the rest is
// coarser. Measured on the examples: twice as fine changes the hardest pulled wire by less than 0.2 %, what a station holds by less
// than 3 % of that, the greatest gap by less than 4 %, the greatest stress by less than 8 % (TestBearRefined).
const (
	stepShare   = 1.0 / 22
	stepMin     = 5.0  // mm
	stepMax     = 22.0 // mm
	pointsMost  = 500  // along all lines together: a slender panel gets longer steps, since the work grows with the cube
	coarseShare = 2.0  // longest edge away from supports, in steps
	nearShare   = 0.4  // longest edge about stations, in steps
)

// model is a panel as the computation sees it, and how its numbers go back.
type model struct {
	model  *plate.Model
	system *plate.System
	face   *plate.Interface
	at     [][2]float64
	step   float64
	angle  float64

	station []int       // interface point of each station
	mass    []massShare // of each lumped mass
	support []bool      // interface points that stand on a support
	seams   []seamPoints
	push    []float64 // N, steady push of seals on each interface point
	key     string    // of what it was built from
}

// seamPoints is a line of support with its interface points.
type seamPoints struct {
	seam  setout.Seam
	point []int
	gap   []bool // the line leaves the panel after this point
	front bool
}

// supportLine is a line of support before it is meshed.
type supportLine struct {
	path  plane.Path
	seam  setout.Seam
	seal  float64 // N/mm
	front bool
	shows bool // its gap is the seam's: the seat line, and a flange's outer edge. The other edges only carry
}

// supportLines lists what the panel lies on: each seat line, and both edges of the support's width along it.
func supportLines(pan *setout.Panel) []supportLine {
	var out []supportLine
	for _, s := range pan.SeatLines {
		if s.Support == nil || s.Path.EdgeCount() == 0 {
			continue
		}
		name := s.Edge
		if name == "" {
			name = s.Support.Name
		}
		front := s.Edge != "" && s.Edge == pan.Job.Front
		add := func(p plane.Path, along string, seal float64) {
			shows := along == "seat line" || along == "outer edge" && s.Support.Kind == "flange"
			out = append(out, supportLine{path: p, seal: seal, front: front, shows: shows, seam: setout.Seam{Support: s.Support.Name, Name: name, Along: along}})
		}
		seal := 0.0
		if s.Support.Seal != nil {
			seal = s.Support.Seal.PushPerLength
		}
		add(s.Path, "seat line", seal)
		half := s.Support.Width / 2
		if half <= 2*mesh.Same {
			continue
		}
		if e, ok := outlineEdge(pan.Job, s); ok {
			add(e, "outer edge", 0)
		} else if p, err := beside(s.Path, -half); err == nil {
			add(p, "outer edge", 0)
		}
		// Where a support is wider than its line is curved, it has no inner edge: its middle and outer edge carry the panel.
		if p, err := beside(s.Path, half); err == nil {
			add(p, "inner edge", 0)
		}
	}
	return out
}

// beside is a line moved to its left by d: inwards, of a closed one.
func beside(p plane.Path, d float64) (plane.Path, error) {
	if p.Closed {
		return p.Inset(d)
	}
	return p.OffsetOpen(d)
}

// outlineEdge is the outline's own edge, where a flange reaches it.
func outlineEdge(pan *job.Panel, s setout.SeatLine) (plane.Path, bool) {
	const same = 0.1 // mm: what no flange is cut to
	if s.Support.Kind != "flange" || math.Abs(s.Support.SeatInset()-s.Support.Width/2) > same {
		return plane.Path{}, false
	}
	for _, e := range pan.Edges {
		if e.Name == s.Edge {
			return pan.Outline.Outer.SubPath(e.From, e.To), true
		}
	}
	return plane.Path{}, false
}

// build meshes a panel and condenses it to the points on which stations, supports and seals act.
func build(pan *setout.Panel, refine float64) (*model, error) {
	return buildWith(pan, refine, len(pan.Stations))
}

// buildWith is build with a finer mesh about the first few stations only: the others stand for places along a line.
func buildWith(pan *setout.Panel, refine float64, few int) (*model, error) {
	jp := pan.Job
	box := jp.Outline.Bounds()
	lines := supportLines(pan)
	long := 0.0
	for _, l := range lines {
		long += l.path.Length()
	}
	step := max(min(max(stepShare*min(box.Width(), box.Height()), stepMin), stepMax), long/pointsMost) / refine
	d := mesh.Domain{Region: jp.Outline, Size: mesh.Size{Max: coarseShare * step, Edge: 1.5 * step}}
	for _, l := range lines {
		d.Lines = append(d.Lines, mesh.Line{Path: l.path, Step: step})
	}
	for i, st := range pan.Stations {
		d.Points = append(d.Points, st.At)
		if i < few {
			d.Size.Near = append(d.Size.Near, mesh.Near{At: st.At, Step: nearShare * step})
		}
	}
	for _, m := range jp.Loads.Masses {
		if jp.Outline.Contains(m.At) != plane.Outside {
			d.Points = append(d.Points, m.At)
		}
	}
	me, err := mesh.Build(d)
	if err != nil {
		return nil, err
	}
	m := jp.Outer.Material
	b := &model{step: step, angle: me.Quality().LeastAngle}
	b.model = &plate.Model{Mesh: me, Sections: []plate.Section{plate.Sheet(m.E, m.Nu, jp.Outer.Thickness.Nom, m.Rho)}}
	b.points(pan, lines)
	if b.system, err = plate.Assemble(b.model); err != nil {
		return nil, err
	}
	if b.face, err = b.system.Condense(0); err != nil {
		return nil, err
	}
	return b, nil
}

// points lists the interface points: the stations, then the nodes along the lines of support.
func (b *model) points(pan *setout.Panel, lines []supportLine) {
	me := b.model.Mesh
	index := make([]int, len(me.Nodes))
	point := func(node int32) int {
		if index[node] == 0 {
			b.model.Points = append(b.model.Points, node)
			p := me.Nodes[node]
			b.at = append(b.at, [2]float64{p.X, p.Y})
			b.support, b.push = append(b.support, false), append(b.push, 0)
			index[node] = len(b.model.Points)
		}
		return index[node] - 1
	}
	n := len(pan.Stations)
	for _, node := range me.Points[:n] {
		p := point(node)
		b.support[p] = true // its own seat
		b.station = append(b.station, p)
	}
	b.masses(pan, me.Points[n:])
	isStation := map[int32]bool{}
	for _, node := range me.Points[:n] {
		isStation[node] = true
	}
	for i, l := range lines {
		s := seamPoints{seam: l.seam, front: l.front}
		nodes := thinned(me.Lines[i], isStation, keepShare*b.step)
		for k, q := range nodes {
			p := point(q.Node)
			b.support[p] = true
			s.point, s.gap = append(s.point, p), append(s.gap, q.Gap)
			s.seam.At, s.seam.S = append(s.seam.At, me.Nodes[q.Node]), append(s.seam.S, q.S)
			// Half the way to either neighbour, where the line runs through the panel.
			if k > 0 && !nodes[k-1].Gap {
				b.push[p] += l.seal * (q.S - nodes[k-1].S) / 2
			}
			if k+1 < len(nodes) && !q.Gap {
				b.push[p] += l.seal * (nodes[k+1].S - q.S) / 2
			}
		}
		if l.seam.Along == "seat line" {
			s.seam.Stations = marksOn(pan, l.path)
		}
		if len(s.point) > 0 && l.shows {
			b.seams = append(b.seams, s)
		}
	}
}

// massShare is where a lumped mass pulls: nodes, and the share of each.
type massShare struct {
	node  []int32
	share []float64
}

// masses places the lumped masses: on their node, or, where one stands in a cut-out, on that cut-out's rim, shared out so that
// force and moments are right.
func (b *model) masses(pan *setout.Panel, nodes []int32) {
	for _, m := range pan.Job.Loads.Masses {
		if pan.Job.Outline.Contains(m.At) != plane.Outside {
			b.mass = append(b.mass, massShare{nodes[:1], []float64{1}})
			nodes = nodes[1:]
			continue
		}
		loop := 0
		for i, c := range pan.Job.Outline.CutOuts {
			if c.Contains(m.At) != plane.Outside {
				loop = i + 1
			}
		}
		b.mass = append(b.mass, rimShare(b.model.Mesh, loop, m.At))
	}
}

// rimShare shares a force at p out among the nodes of a loop: evenly, but for a part that grows with the place, so that the middle
// of the shares is p.
func rimShare(me *mesh.Mesh, loop int, p plane.Point) massShare {
	var out massShare
	var at [][2]float64
	for _, e := range me.Border {
		if e.Loop == loop {
			q := me.Nodes[e.From].Sub(p)
			out.node, at = append(out.node, e.From), append(at, [2]float64{q.X, q.Y})
		}
	}
	// Shares 1/n + a·(x − x̄) + b·(y − ȳ), with Σ share·x = Σ share·y = 0 about p.
	n := float64(len(at))
	var cx, cy, xx, xy, yy float64
	for _, q := range at {
		cx, cy = cx+q[0]/n, cy+q[1]/n
	}
	for _, q := range at {
		x, y := q[0]-cx, q[1]-cy
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
	}
	det := xx*yy - xy*xy
	a, c := (-cx*yy+cy*xy)/det, (-cy*xx+cx*xy)/det
	for _, q := range at {
		out.share = append(out.share, 1/n+a*(q[0]-cx)+c*(q[1]-cy))
	}
	return out
}

// keepShare is how near, in steps, the points along a line may stand at which it is looked at: nodes between them, which only the
// mesh wants, neither push nor carry a seal.
const keepShare = 0.75

// thinned leaves out nodes of a line that stand nearer than least to the one before, but for its ends and the stations.
func thinned(nodes []mesh.LineNode, station map[int32]bool, least float64) []mesh.LineNode {
	var out []mesh.LineNode
	for i, q := range nodes {
		end := i == 0 || i == len(nodes)-1 || q.Gap || nodes[i-1].Gap
		if n := len(out); end || station[q.Node] || q.S-out[n-1].S >= least {
			out = append(out, q)
		}
	}
	return out
}

// marksOn are the stations that stand on a line.
func marksOn(pan *setout.Panel, path plane.Path) []setout.SeamMark {
	var out []setout.SeamMark
	for i, st := range pan.Stations {
		if s, d, _ := path.Nearest(st.At); d <= mesh.Same {
			out = append(out, setout.SeamMark{Station: i, S: s})
		}
	}
	return out
}

// laws says what acts on each interface point. A support is rigid and only pushes, so no stiffness is made up for it; a
// station's wire has its least rate and its δ at the low end of its spread, aged: the wires that hold least.
func (b *model) laws(wires []setout.Wire) []plate.Law {
	out := make([]plate.Law, len(b.support))
	for i := range out {
		var l []plate.Law
		if b.support[i] {
			l = append(l, plate.Rigid())
		}
		if b.push[i] != 0 {
			l = append(l, plate.Steady(b.push[i]))
		}
		out[i] = plate.Sum(l...)
	}
	for s, w := range wires {
		p := b.station[s]
		out[p] = plate.Sum(out[p], wireLaw(w))
	}
	return out
}

// wireLaw is the law of a station: its wire, and its own seat under it. A wire that is slack when shut pulls once its slack is out.
func wireLaw(w setout.Wire) plate.Law {
	return plate.Station(w.Rate, w.Lo-w.Ageing, math.Inf(1))
}

// without is the law of interface point p with some stations left out: the seat stays, the wire does not pull.
func (b *model) without(wires []setout.Wire, gone []bool, p int) plate.Law {
	l := []plate.Law{plate.Rigid()} // its own seat, or the support's
	if b.push[p] != 0 {
		l = append(l, plate.Steady(b.push[p]))
	}
	for s, w := range wires {
		if b.station[s] == p && !gone[s] {
			l = append(l, wireLaw(w))
		}
	}
	return plate.Sum(l...)
}

// pull is the force of a station's wire, N.
func (b *model) pull(w setout.Wire, z float64) float64 {
	return w.Rate * max(w.Lo-w.Ageing+z, 0)
}
