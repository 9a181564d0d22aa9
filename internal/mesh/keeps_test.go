package mesh_test

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// faults says everything in which a mesh does not keep what Build promises, worked out from the mesh and the domain alone. Left
// is how far (mm²) the area may be off.
func faults(d mesh.Domain, m *mesh.Mesh) (out []string) {
	say := func(f string, v ...any) {
		if len(out) < 20 {
			out = append(out, fmt.Sprintf(f, v...))
		}
	}
	d.Region = d.Region.Normalise()
	type edge = [2]int32
	owner := map[edge]int{} // the triangle on the left
	used := make([]bool, len(m.Nodes))
	for i, t := range m.Tris {
		if plane.Orient(m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]]) <= 0 {
			say("triangle %d is not anticlockwise", i)
		}
		for k := range 3 {
			e := edge{t[k], t[(k+1)%3]}
			used[t[k]] = true
			if _, twice := owner[e]; twice {
				say("edge %v lies on the left of two triangles", e)
			}
			owner[e] = i
		}
	}
	for v, ok := range used {
		if !ok {
			say("node %d is in no triangle", v)
		}
	}
	border := borderFaults(d, m, say)
	inner := map[edge]bool{} // edges that a line follows
	lineFaults(d, m, func(a, b int32) {
		if _, ok := owner[edge{a, b}]; !ok {
			if _, ok := owner[edge{b, a}]; !ok {
				say("the line runs from node %d to %d, which is no edge", a, b)
			}
		}
		inner[edge{a, b}], inner[edge{b, a}] = true, true
	}, say)
	for e := range owner {
		_, across := owner[edge{e[1], e[0]}]
		if across == border[e] {
			say("edge %v: a triangle across %v, border %v", e, across, border[e])
		}
	}
	for e := range border {
		if _, ok := owner[e]; !ok {
			say("border edge %v has no triangle on its left", e)
		}
	}
	for e, i := range owner {
		j, across := owner[edge{e[1], e[0]}]
		if !across || inner[e] {
			continue
		}
		t := m.Tris[i]
		for _, v := range m.Tris[j] {
			if v != e[0] && v != e[1] && mesh.InCircle(m.Nodes[t[0]], m.Nodes[t[1]], m.Nodes[t[2]], m.Nodes[v]) > 0 {
				say("node %d lies in the circle of triangle %d", v, i)
			}
		}
	}
	if len(m.Points) != len(d.Points) {
		say("%d nodes for %d points", len(m.Points), len(d.Points))
	} else {
		for i, p := range d.Points {
			// Drawn onto a line, and with it onto a corner.
			if v := m.Points[i]; v < 0 || m.Nodes[v].Dist(p) > 2*mesh.Same {
				say("point %d at %v has node %d", i, p, v)
			}
		}
	}
	sizeFaults(d, m, say)
	return out
}

// borderFaults checks that the border of each loop is closed and follows its path, and returns its edges.
func borderFaults(d mesh.Domain, m *mesh.Mesh, say func(string, ...any)) map[[2]int32]bool {
	border := map[[2]int32]bool{}
	paths := d.Region.Paths()
	flat := d.Size.Flat
	if flat == 0 {
		flat = mesh.DefaultFlat
	}
	first, last := make([]int32, len(paths)), make([]int32, len(paths))
	seen := make([]bool, len(paths))
	loop, at := 0, 0
	for _, e := range m.Border {
		if border[[2]int32{e.From, e.To}] {
			say("border edge %v twice", e)
		}
		border[[2]int32{e.From, e.To}] = true
		if e.Loop < loop || e.Loop == loop && e.Edge < at {
			say("border edge %v is out of order", e)
		}
		loop, at = e.Loop, e.Edge
		if !seen[e.Loop] {
			first[e.Loop] = e.From
			seen[e.Loop] = true
		} else if last[e.Loop] != e.From {
			say("border of loop %d has a gap before node %d", e.Loop, e.From)
		}
		last[e.Loop] = e.To
		seg := paths[e.Loop].Seg(e.Edge)
		for _, f := range []float64{0, 0.3, 0.5, 1} {
			p := m.Nodes[e.From].Lerp(m.Nodes[e.To], f)
			if _, foot := seg.Nearest(p); foot.Dist(p) > flat+2*mesh.Same {
				say("border edge %v is %.3g mm off its arc", e, foot.Dist(p))
			}
		}
	}
	for l := range paths {
		if !seen[l] || first[l] != last[l] {
			say("border of loop %d is not closed", l)
		}
	}
	return border
}

// lineFaults checks the nodes along lines: in order, where they should be, with gaps where the line is outside. Each stretch is
// handed to follow.
func lineFaults(d mesh.Domain, m *mesh.Mesh, follow func(a, b int32), say func(string, ...any)) {
	if len(m.Lines) != len(d.Lines) {
		say("%d lines of %d", len(m.Lines), len(d.Lines))
		return
	}
	flat := d.Size.Flat
	if flat == 0 {
		flat = mesh.DefaultFlat
	}
	off := flat + 2*mesh.Same
	for l, line := range d.Lines {
		nodes := m.Lines[l]
		total := line.Path.Length()
		if total == 0 {
			if len(nodes) > 0 {
				say("line %d has nodes and no length", l)
			}
			continue
		}
		for i, n := range nodes {
			if n.S < -1e-9 || n.S > total*(1+1e-12)+1e-9 {
				say("line %d: node at %g of %g mm", l, n.S, total)
				continue
			}
			if p := line.Path.At(min(max(n.S, 0), total)); p.Dist(m.Nodes[n.Node]) > off {
				say("line %d: node %d is %.3g mm from its place at %g mm", l, n.Node, p.Dist(m.Nodes[n.Node]), n.S)
			}
			if i > 0 && n.S <= nodes[i-1].S && !(nodes[i-1].Gap && n.S == nodes[i-1].S) {
				say("line %d: node %d at %g mm after %g mm", l, n.Node, n.S, nodes[i-1].S)
			}
			if i+1 == len(nodes) {
				if n.Gap {
					say("line %d: a gap after its last node", l)
				}
				break
			}
			if !n.Gap {
				follow(n.Node, nodes[i+1].Node)
			}
		}
		// By sampling: is the line an edge exactly where it lies in the region?
		const samples = 400
		at := func(s float64) bool {
			for i := range nodes {
				if i+1 < len(nodes) && !nodes[i].Gap && nodes[i].S <= s && s <= nodes[i+1].S {
					return true
				}
			}
			return false
		}
		for k := range samples {
			s := total * (float64(k) + 0.5) / samples
			p := line.Path.At(s)
			clear := d.Region.Distance(p)
			if math.Abs(clear) < 3*mesh.Same+flat {
				continue // on the border or beside it: either is right
			}
			if in := clear > 0; in != at(s) {
				say("line %d at %.4g mm: in the region %v, an edge %v", l, s, in, at(s))
				break
			}
		}
	}
}

// sizeFaults checks area, angles and lengths.
func sizeFaults(d mesh.Domain, m *mesh.Mesh, say func(string, ...any)) {
	q := m.Quality()
	if q.Nodes != len(m.Nodes) || q.Tris != len(m.Tris) {
		say("quality counts %d nodes, %d triangles", q.Nodes, q.Tris)
	}
	flat := d.Size.Flat
	if flat == 0 {
		flat = mesh.DefaultFlat
	}
	off := 0.0 // chords off arcs, and corners drawn together
	for _, p := range d.Region.Paths() {
		for _, s := range p.Segs() {
			off += 2 * mesh.Same * s.Length() * 1e-6
			if s.IsArc() {
				off += flat * s.Length()
			}
			if s.Length() > 0 {
				off += mesh.Same * min(s.Length(), 2*d.Size.Max)
			}
		}
	}
	if want := d.Region.Area(); math.Abs(q.Area-want) > off+1e-9*want {
		say("area %g, want %g within %g", q.Area, want, off)
	}
	if q.EdgeMax > d.Size.Max*(1+1e-9) {
		say("an edge of %.12g mm, at most %g is wanted", q.EdgeMax, d.Size.Max)
	}
	if !mesh.Acute(d) && q.LeastAngle < 20*math.Pi/180 {
		say("least angle %.3g°", q.LeastAngle*180/math.Pi)
	}
	limit := d.Size.Nodes
	if limit == 0 {
		limit = mesh.DefaultNodes
	}
	if q.Nodes > limit {
		say("%d nodes, at most %d are wanted", q.Nodes, limit)
	}
}
