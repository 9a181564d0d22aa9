package plate

import "math"

// Shear force comes from the moments, Qx = ∂Mx/∂x + ∂Mxy/∂y, Qy = ∂Mxy/∂x + ∂My/∂y, not from the element's own shear strain:
// in thin sheets that tends to 2/3 or 4/3 of the truth, by the run of the mesh, and never mends. The smoothed moments are
// differentiated, in those triangles only whose three corners lie inside their section: on its edge the mean is one-sided, off
// by a share of the edge length, which a derivative would turn into an error that stays. What has no such triangle takes the
// mean of its neighbours.

// stressShear fills st.Q.
func (s *System) stressShear(st *Stress) {
	inside := s.stressInside(st)
	known := make([]bool, len(st.Node))
	weight := make([]float64, len(st.Node))
	own := append([][2]float64(nil), st.Q...)
	clear(st.Q)
	for t, places := range st.Place {
		if !inside[places[0]] || !inside[places[1]] || !inside[places[2]] {
			continue
		}
		e, _ := s.triangle(t)
		var q [2]float64
		for c, p := range places {
			m := &st.M[p]
			q[0] += e.grad[c][0]*m[0] + e.grad[c][1]*m[2]
			q[1] += e.grad[c][0]*m[2] + e.grad[c][1]*m[1]
		}
		for _, p := range places {
			known[p] = true
			weight[p] += e.area
			st.Q[p][0] += e.area * q[0]
			st.Q[p][1] += e.area * q[1]
		}
	}
	for p, w := range weight {
		if w > 0 {
			st.Q[p][0] /= w
			st.Q[p][1] /= w
		}
	}
	// Towards edges and corners, ring by ring; parts too narrow for any triangle inside keep the element's own.
	const rings = 4
	for range rings {
		s.stressSpread(st, known)
	}
	for p, ok := range known {
		if !ok {
			st.Q[p] = own[p]
		}
	}
}

// stressInside tells which places have triangles of their section all round.
func (s *System) stressInside(st *Stress) []bool {
	angle := make([]float64, len(st.Node))
	for t, tri := range s.Model.Mesh.Tris {
		for c, p := range st.Place[t] {
			o, a, b := s.Model.Mesh.Nodes[tri[c]], s.Model.Mesh.Nodes[tri[(c+1)%3]], s.Model.Mesh.Nodes[tri[(c+2)%3]]
			cross := (a.X-o.X)*(b.Y-o.Y) - (a.Y-o.Y)*(b.X-o.X)
			angle[p] += math.Atan2(cross, (a.X-o.X)*(b.X-o.X)+(a.Y-o.Y)*(b.Y-o.Y))
		}
	}
	const full = 2*math.Pi - 1e-9 // rad: rounding of a sum of a few angles
	inside := make([]bool, len(angle))
	for p, a := range angle {
		inside[p] = a > full
	}
	return inside
}

// stressSpread gives each place without a shear force the mean of its neighbours that have one.
func (s *System) stressSpread(st *Stress, known []bool) {
	sum, count := make([][2]float64, len(known)), make([]float64, len(known))
	for _, places := range st.Place {
		for c, p := range places {
			if known[p] {
				continue
			}
			for _, o := range [2]int32{places[(c+1)%3], places[(c+2)%3]} {
				if known[o] {
					sum[p][0] += st.Q[o][0]
					sum[p][1] += st.Q[o][1]
					count[p]++
				}
			}
		}
	}
	for p, n := range count {
		if n > 0 {
			st.Q[p], known[p] = [2]float64{sum[p][0] / n, sum[p][1] / n}, true
		}
	}
}
