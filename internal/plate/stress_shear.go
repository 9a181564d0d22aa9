package plate

import (
	"math"

	"panelwright/internal/plane"
)

// Shear force comes from the moments, Qx = ∂Mx/∂x + ∂Mxy/∂y, Qy = ∂Mxy/∂x + ∂My/∂y, not from the element's own shear strain:
// in thin sheets that tends to 2/3 or 4/3 of the truth, by the run of the mesh, and never mends. About each place inside a
// section a linear field is fitted by least squares, weighted by area, to the moments at the middles of the triangles round
// it, where they are most exact ([zienkiewicz92]). A place on the edge of its section takes the mean of its neighbours
// inside.

// stressFit gathers the normal equations of the fit about one place, lengths measured against size.
type stressFit struct {
	n     [3][3]float64
	m     [3][3]float64 // of moments xx, yy, xy against 1, x, y
	angle float64       // that its triangles fill
	size  float64
}

// stressShear fills st.Q.
func (s *System) stressShear(st *Stress) {
	fits := make([]stressFit, len(st.Node))
	m := s.Model
	for t, tri := range m.Mesh.Tris {
		var p [3]plane.Point
		for c, n := range tri {
			p[c] = m.Mesh.Nodes[n]
		}
		for c, place := range st.Place[t] {
			a, b := p[(c+1)%3], p[(c+2)%3]
			fits[place].size += math.Abs((a.X-p[c].X)*(b.Y-p[c].Y) - (a.Y-p[c].Y)*(b.X-p[c].X))
		}
	}
	for t, tri := range m.Mesh.Tris {
		var p [3]plane.Point
		for c, n := range tri {
			p[c] = m.Mesh.Nodes[n]
		}
		for c, place := range st.Place[t] {
			fits[place].add(p, c, &st.Corner[t])
		}
	}
	const full = 2*math.Pi - 1e-9 // rad: rounding of a sum of a few angles
	known := make([]bool, len(fits))
	for i := range fits {
		if fits[i].angle > full {
			st.Q[i], known[i] = fits[i].shear()
		}
	}
	// Edges take the mean of what lies inside; corners, and strips a triangle wide, that of the edges; then nothing is left but
	// triangles that stand alone, and they keep the element's own.
	for range 2 {
		s.stressSpread(st, known)
	}
}

// add takes in one triangle with corners p about its corner c.
func (f *stressFit) add(p [3]plane.Point, c int, corner *[3][3]float64) {
	a, b, o := p[(c+1)%3], p[(c+2)%3], p[c]
	cross := (a.X-o.X)*(b.Y-o.Y) - (a.Y-o.Y)*(b.X-o.X)
	f.angle += math.Atan2(cross, (a.X-o.X)*(b.X-o.X)+(a.Y-o.Y)*(b.Y-o.Y))
	h := math.Sqrt(f.size)
	basis := [3]float64{1, (a.X + b.X - 2*o.X) / (3 * h), (a.Y + b.Y - 2*o.Y) / (3 * h)}
	w := cross / f.size
	for i := range 3 {
		for j := range 3 {
			f.n[i][j] += w * basis[i] * basis[j]
			f.m[i][j] += w * basis[j] * (corner[0][i] + corner[1][i] + corner[2][i]) / 3
		}
	}
}

// shear solves the fit and returns the divergence of the moments; false when its points lie in one line.
func (f *stressFit) shear() (q [2]float64, ok bool) {
	// The middle is taken out; what is left is two by two.
	n := &f.n
	xx := n[1][1] - n[0][1]*n[0][1]/n[0][0]
	xy := n[1][2] - n[0][1]*n[0][2]/n[0][0]
	yy := n[2][2] - n[0][2]*n[0][2]/n[0][0]
	det := xx*yy - xy*xy
	const flat = 1e-9 // of xx·yy: slopes from points within 3e-5 of a line are noise
	if !(det > flat*xx*yy) {
		return q, false
	}
	var gx, gy [3]float64
	for i, m := range f.m {
		x, y := m[1]-n[0][1]*m[0]/n[0][0], m[2]-n[0][2]*m[0]/n[0][0]
		gx[i], gy[i] = (yy*x-xy*y)/det, (xx*y-xy*x)/det
	}
	h := math.Sqrt(f.size)
	return [2]float64{(gx[0] + gy[2]) / h, (gx[2] + gy[1]) / h}, true
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
