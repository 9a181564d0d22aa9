package plate

import "math"

// Stress is what a deflected panel carries. Moments and shear forces are worked out at the corners of each triangle and then
// smoothed: the mean, by area, over the triangles of one section round a node. A node between two sections has a place for
// each, since stress jumps there. Measured, with n triangle edges to a half wave, as shares of the greatest: moments inside a
// section are off by 4/n² on even meshes and 0.3/n on uneven ones, on its edge by 1.4/n; shear forces inside by a few per cent,
// on an edge by 5/n. At a point force thin plate theory has unbounded moments, and the figure there grows with each refinement
// without end: a pad, not a point, has a stress.
type Stress struct {
	Place  [][3]int32      // of each triangle's corners: index into what follows
	Node   []int32         // of each place
	Of     []int32         // section of each place
	M      [][3]float64    // N, moments xx, yy, xy per width; positive bends the outer face into tension
	Q      [][2]float64    // N/mm, transverse shear force, xz and yz
	Kappa  [][3]float64    // 1/mm, curvature −∂²w/∂x², −∂²w/∂y², −2∂²w/∂x∂y where shear is none
	Corner [][3][3]float64 // N, of each triangle, its own moments at its corners, not smoothed
	// Error estimates what the mesh is off by: the energy norm of the moments at the triangles' corners less the smoothed ones,
	// over that of the smoothed ones ([zienkiewicz87]). Of first order in the edge length.
	Error float64

	sections []Section
}

// Stress works out moments and shear forces of a field. The caller owns the result, which keeps the model's sections.
func (s *System) Stress(f *Field) *Stress {
	m := s.Model
	st := &Stress{sections: m.Sections, Corner: make([][3][3]float64, len(m.Mesh.Tris))}
	s.stressPlaces(st)
	weight := make([]float64, len(st.Node))
	raw := make([][3][3]float64, len(m.Mesh.Tris))
	for t, tri := range m.Mesh.Tris {
		e, section := s.triangle(t)
		u := f.element(tri)
		for c, p := range st.Place[t] {
			k, q := e.curvature(c, &u), e.shearForce(section, c, &u)
			raw[t][c] = k
			st.Corner[t][c] = elementTimes(&section.D, &k)
			weight[p] += e.area
			for n := range 3 {
				st.Kappa[p][n] += e.area * k[n]
			}
			st.Q[p][0] += e.area * q[0]
			st.Q[p][1] += e.area * q[1]
		}
	}
	for p, w := range weight {
		for n := range 3 {
			st.Kappa[p][n] /= w
		}
		st.Q[p][0] /= w
		st.Q[p][1] /= w
		st.M[p] = elementTimes(&m.Sections[st.Of[p]].D, &st.Kappa[p])
	}
	s.stressShear(st)
	s.stressError(st, raw)
	return st
}

// stressPlaces gives each node a place for each section that meets there, in the order of the nodes when there is one section.
func (s *System) stressPlaces(st *Stress) {
	m := s.Model
	n := len(m.Mesh.Nodes)
	st.Node, st.Of = make([]int32, n), make([]int32, n)
	next := make([]int32, n) // place of the same node in another section, −1 at the end
	for i := range n {
		st.Node[i], st.Of[i], next[i] = int32(i), -1, -1
	}
	st.Place = make([][3]int32, len(m.Mesh.Tris))
	for t, tri := range m.Mesh.Tris {
		of := int32(0)
		if m.Of != nil {
			of = m.Of[t]
		}
		for c, node := range tri {
			p := node
			for st.Of[p] != of && st.Of[p] >= 0 {
				if next[p] < 0 {
					next[p] = int32(len(st.Node))
					st.Node, st.Of, next = append(st.Node, node), append(st.Of, -1), append(next, -1)
				}
				p = next[p]
			}
			st.Of[p] = of
			st.Place[t][c] = p
		}
	}
	places := len(st.Node)
	st.M, st.Q, st.Kappa = make([][3]float64, places), make([][2]float64, places), make([][3]float64, places)
}

// stressError compares curvatures before and after smoothing.
func (s *System) stressError(st *Stress, raw [][3][3]float64) {
	var off, whole float64
	for t := range raw {
		e, section := s.triangle(t)
		var d, k [3][3]float64
		for c, p := range st.Place[t] {
			k[c] = st.Kappa[p]
			for n := range 3 {
				d[c][n] = raw[t][c][n] - k[c][n]
			}
		}
		off += stressEnergy(section, e.area, &d)
		whole += stressEnergy(section, e.area, &k)
	}
	if whole > 0 {
		st.Error = math.Sqrt(off / whole)
	}
}

// stressEnergy integrates κᵀ·D·κ of a curvature that is linear between its values at the corners.
func stressEnergy(section *Section, area float64, k *[3][3]float64) float64 {
	sum := 0.0
	for a := range 3 {
		m := elementTimes(&section.D, &k[a])
		for b := range 3 {
			w := area / 12
			if a == b {
				w *= 2
			}
			sum += w * elementDot(&m, &k[b])
		}
	}
	return sum
}

// Fibres returns the fibres of the section at a place. The section owns them.
func (st *Stress) Fibres(place int) []Fibre { return st.sections[st.Of[place]].Fibres }

// At returns the stress (MPa) σx, σy, τxy of a fibre at a place: Q·z·κ of the smoothed curvature.
func (st *Stress) At(place, fibre int) [3]float64 {
	f := &st.sections[st.Of[place]].Fibres[fibre]
	sigma := elementTimes(&f.Q, &st.Kappa[place])
	for n := range 3 {
		sigma[n] *= f.Z
	}
	return sigma
}

// Mises returns √(σx² − σx·σy + σy² + 3τxy²) of At (MPa), which ductile metal yields by.
func (st *Stress) Mises(place, fibre int) float64 {
	s := st.At(place, fibre)
	return math.Sqrt(s[0]*s[0] - s[0]*s[1] + s[1]*s[1] + 3*s[2]*s[2])
}

// Principal returns the greatest and the least principal stress of At (MPa).
func (st *Stress) Principal(place, fibre int) (most, least float64) {
	s := st.At(place, fibre)
	mid, r := (s[0]+s[1])/2, math.Hypot((s[0]-s[1])/2, s[2])
	return mid + r, mid - r
}

// Worst returns the place and fibre of the greatest Mises stress, and that stress; place −1 when no section has a fibre. The
// first of equals counts.
func (st *Stress) Worst() (place, fibre int, mises float64) {
	place = -1
	for p := range st.Node {
		for f := range st.Fibres(p) {
			if v := st.Mises(p, f); place < 0 || v > mises {
				place, fibre, mises = p, f, v
			}
		}
	}
	return place, fibre, mises
}
