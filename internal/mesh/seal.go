package mesh

import "panelwright/internal/plane"

// seal puts the drawing into a fresh network and makes every piece an edge.
func (r *refiner) seal() {
	r.net = make([]int32, len(r.g.at))
	for i := range r.net {
		r.net[i] = -1
	}
	var order []int32
	want := func(v int32) {
		if r.net[v] == -1 {
			r.net[v] = -2
			order = append(order, v)
		}
	}
	for i := range r.g.pieces {
		if p := &r.g.pieces[i]; !p.gone {
			want(p.a)
			want(p.b)
		}
	}
	for _, v := range r.g.points {
		want(v)
	}
	// Every second of those between: in order along a straight edge each would undo the triangles of the one before. The walk
	// starts from a neighbour.
	stride := 1
	for stride < len(order) {
		stride *= 2
	}
	for ; stride > 0; stride /= 2 {
		for i := 0; i < len(order); i += stride {
			v := order[i]
			if r.net[v] >= 0 {
				r.last = r.of[r.net[v]]
				continue
			}
			if r.full(r.g.at[v]) {
				return
			}
			if r.net[v] = r.add(r.g.at[v]); r.net[v] < 0 {
				r.err = &Unfit{Reason: "two places too close to tell apart", At: r.g.at[v]}
				return
			}
		}
	}
	r.put(int32(len(r.at)-1), -1)
	r.sharp = make([]bool, len(r.at))
	for v, is := range r.g.sharp() {
		if r.net[v] >= 0 {
			r.sharp[r.net[v]] = is
		}
	}
	for i := range r.g.pieces {
		if p := &r.g.pieces[i]; !p.gone {
			r.segs = append(r.segs, segment{a: r.net[p.a], b: r.net[p.b], piece: int32(i), t1: 1})
		}
	}
	// A segment that is no edge is divided until its parts are. What is sealed stays: triangles may not cross it from then on.
	for i := 0; i < len(r.segs) && r.err == nil; i++ {
		s := &r.segs[i]
		if s.gone {
			continue
		}
		t, e, ok := r.edgeOf(s.a, s.b)
		u, f, ok2 := r.edgeOf(s.b, s.a)
		if ok && ok2 {
			r.tris[t].s[e], r.tris[u].s[f], s.tri = int32(i), int32(i), t
			continue
		}
		if at := r.at[s.a]; !r.halve(int32(i), false) && r.err == nil {
			r.err = &Unfit{Reason: "lines that run into each other at too sharp an angle, or too close together,", At: at}
		}
	}
}

// sharp marks the vertices where pieces meet at less than 60°.
func (g *drawing) sharp() []bool {
	rays := make([][]plane.Point, len(g.at))
	for i := range g.pieces {
		if p := &g.pieces[i]; !p.gone {
			rays[p.a] = append(rays[p.a], p.seg.Tangent(0))
			rays[p.b] = append(rays[p.b], p.seg.Tangent(1).Scale(-1))
		}
	}
	sharp := make([]bool, len(g.at))
	for v, list := range rays {
		for i, d := range list {
			for _, e := range list[:i] {
				if d.Dot(e) > 0.5+1e-9 {
					sharp[v] = true
				}
			}
		}
	}
	return sharp
}

// bounds is the least box round all pieces and points.
func (g *drawing) bounds() plane.Box {
	b := g.d.Region.Bounds()
	for _, p := range g.at {
		b = b.Include(p)
	}
	return b
}
