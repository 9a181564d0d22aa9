package mesh

import (
	"fmt"
	"math"
	"testing"

	"panelwright/internal/plane"
)

// faults lists what a mesh lacks of what Build promises for its domain, angles apart.
func faults(d Domain, m *Mesh) (out []string) {
	say := func(format string, a ...any) {
		if len(out) < 12 {
			out = append(out, fmt.Sprintf(format, a...))
		}
	}
	d.complete()
	edges := faultsOfTriangles(d, m, say)
	faultsOfBorder(d, m, edges, say)
	faultsOfPoints(d, m, say)
	onLine := faultsOfLines(d, m, edges, say)
	q := m.Quality()
	if q.EdgeMax > d.Size.Max*(1+1e-9)+2*Same {
		say("longest edge %g, wanted at most %g", q.EdgeMax, d.Size.Max)
	}
	arcs, all := 0.0, 0.0
	for _, p := range d.Region.Paths() {
		for _, s := range p.Segs() {
			all += s.Length()
			if s.IsArc() {
				arcs += s.Length()
			}
		}
	}
	if a := d.Region.Area(); math.Abs(q.Area-a) > arcs*d.Size.Flat+all*2*Same {
		say("area %g, of the region %g", q.Area, a)
	}
	for e, t := range edges {
		u, ok := edges[[2]int32{e[1], e[0]}]
		if !ok || e[0] > e[1] || onLine[e] {
			continue
		}
		q, r := m.Tris[t], m.Tris[u]
		for _, v := range r {
			if v != e[0] && v != e[1] && inCircle(m.Nodes[q[0]], m.Nodes[q[1]], m.Nodes[q[2]], m.Nodes[v]) > 0 {
				say("edge at %v is not Delaunay", m.Nodes[e[0]])
			}
		}
	}
	return out
}

func faultsOfTriangles(d Domain, m *Mesh, say func(string, ...any)) map[[2]int32]int {
	edges := map[[2]int32]int{}
	used := make([]bool, len(m.Nodes))
	for t, q := range m.Tris {
		if plane.Orient(m.Nodes[q[0]], m.Nodes[q[1]], m.Nodes[q[2]]) <= 0 {
			say("triangle %d does not run anticlockwise", t)
		}
		for i := range 3 {
			e := [2]int32{q[i], q[(i+1)%3]}
			if _, ok := edges[e]; ok {
				say("edge %v belongs to two triangles on one side", e)
			}
			edges[e] = t
			used[q[i]] = true
		}
	}
	for v, u := range used {
		if !u {
			say("node %d has no triangle", v)
		}
	}
	if len(m.Nodes) > d.Size.Nodes {
		say("%d nodes, more than the limit", len(m.Nodes))
	}
	return edges
}

func faultsOfBorder(d Domain, m *Mesh, edges map[[2]int32]int, say func(string, ...any)) {
	paths := d.Region.Paths()
	border := map[[2]int32]bool{}
	for i, b := range m.Border {
		e := [2]int32{b.From, b.To}
		if border[e] {
			say("border edge %v stands twice", e)
		}
		border[e] = true
		if _, ok := edges[e]; !ok {
			say("border edge %v of loop %d is no triangle's", e, b.Loop)
		}
		if i > 0 && (b.Loop < m.Border[i-1].Loop || b.Loop == m.Border[i-1].Loop && (b.Edge < m.Border[i-1].Edge || b.From != m.Border[i-1].To)) {
			say("border edge %d does not follow on", i)
		}
		p, q := m.Nodes[b.From], m.Nodes[b.To]
		s := paths[b.Loop].Segs()[b.Edge]
		_, f := s.Nearest(p)
		_, g := s.Nearest(q)
		if f.Dist(p) > Same || g.Dist(q) > Same {
			say("border node at %v lies %g off its edge", p, max(f.Dist(p), g.Dist(q)))
		}
		mid := p.Lerp(q, 0.5)
		if _, f = s.Nearest(mid); f.Dist(mid) > d.Size.Flat+2*Same {
			say("border chord at %v lies %g off its edge", mid, f.Dist(mid))
		}
		if e := d.Size.Edge; e > 0 && p.Dist(q) > e+2*Same {
			say("border edge at %v is %g long, wanted %g", mid, p.Dist(q), e)
		}
	}
	for e := range edges {
		if _, ok := edges[[2]int32{e[1], e[0]}]; !ok && !border[e] {
			say("edge %v has one triangle and is no border", e)
		}
		if _, ok := edges[[2]int32{e[1], e[0]}]; ok && border[e] {
			say("border edge %v has two triangles", e)
		}
	}
	first := map[int]int32{}
	last := map[int]int32{}
	for _, b := range m.Border {
		if _, ok := first[b.Loop]; !ok {
			first[b.Loop] = b.From
		}
		last[b.Loop] = b.To
	}
	for l := range first {
		if first[l] != last[l] {
			say("loop %d is not closed", l)
		}
	}
	// Euler: corners − edges + triangles = 1 − cut-outs, for a region that hangs together.
	n := len(m.Nodes) - (len(m.Tris)*3+len(m.Border))/2 + len(m.Tris)
	if n != 1-len(d.Region.CutOuts) {
		say("corners − edges + triangles = %d with %d cut-outs", n, len(d.Region.CutOuts))
	}
}

func faultsOfPoints(d Domain, m *Mesh, say func(string, ...any)) {
	if len(m.Points) != len(d.Points) {
		say("%d points, wanted %d", len(m.Points), len(d.Points))
		return
	}
	for i, p := range d.Points {
		if m.Points[i] < 0 || int(m.Points[i]) >= len(m.Nodes) {
			say("point %v has node %d", p, m.Points[i])
		} else if g := m.Nodes[m.Points[i]].Dist(p); g > 2*Same {
			say("point %v stands %g off", p, g)
		}
	}
}

func faultsOfLines(d Domain, m *Mesh, edges map[[2]int32]int, say func(string, ...any)) map[[2]int32]bool {
	on := map[[2]int32]bool{}
	if len(m.Lines) != len(d.Lines) {
		say("%d lines, wanted %d", len(m.Lines), len(d.Lines))
		return on
	}
	for i, l := range d.Lines {
		step := l.Step
		if step <= 0 {
			step = d.Size.Max
		}
		length := l.Path.Length()
		missing := func(from, to float64) {
			if to-from > 3*Same {
				if at := l.Path.At((from + to) / 2); d.Region.Distance(at) > Same {
					say("line %d is missing from %g to %g, in the region", i, from, to)
				}
			}
		}
		was := 0.0
		for k, n := range m.Lines[i] {
			at := l.Path.At(min(max(n.S, 0), length))
			if g := at.Dist(m.Nodes[n.Node]); g > 2*Same {
				say("line %d: node at %g lies %g off", i, n.S, g)
			}
			if k == 0 || m.Lines[i][k-1].Gap {
				missing(was, n.S)
			} else {
				o := m.Lines[i][k-1]
				a, b := o.Node, n.Node
				_, ok1 := edges[[2]int32{a, b}]
				_, ok2 := edges[[2]int32{b, a}]
				if !ok1 && !ok2 {
					say("line %d is no edge from %g to %g", i, o.S, n.S)
				}
				on[[2]int32{a, b}], on[[2]int32{b, a}] = true, true
				if n.S <= o.S {
					say("line %d: %g comes after %g", i, n.S, o.S)
				}
				if g := m.Nodes[a].Dist(m.Nodes[b]); g > step+2*Same {
					say("line %d: an edge of %g, wanted %g", i, g, step)
				}
				mid := l.Path.At((o.S + n.S) / 2)
				if g := mid.Dist(m.Nodes[a].Lerp(m.Nodes[b], 0.5)); g > d.Size.Flat+2*Same {
					say("line %d: a chord %g off", i, g)
				}
			}
			was = n.S
		}
		missing(was, length)
	}
	return on
}

// must builds a mesh and checks all that is promised.
func must(t *testing.T, d Domain) *Mesh {
	t.Helper()
	m, err := Build(d)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults(d, m) {
		t.Error(f)
	}
	return m
}
