package plate

import "panelwright/internal/plane"

// The element is the discrete Kirchhoff–Mindlin triangle of [katili93]. The normal's rotations βx = θy, βy = −θx run linearly
// between the corners, and each side k adds a bubble of tangential rotation, 4·λi·λj·Δk along it. The bubble is no unknown: it
// is what makes the energy of a strip along the side least, bending and shear together,
//
//	Δk = −3/(2(1+φk)) · [(wj−wi)/Lk + ½(βi+βj)·tk] ,  φk = 12·Dk/(Sk·Lk²)
//
// with Dk and Sk the bending and shear stiffness in the side's direction, when nothing varies across it. So it needs D and S
// alone, of whatever the sheet is made. Shear strain is γk = −⅔·φk·Δk along each side and taken inwards linearly. As S grows,
// φ falls to 0 and the element becomes the discrete Kirchhoff triangle of [batoz80], whatever its size and thickness.
//
// A side's bubble depends on the side's own two corners, so β is continuous between triangles of one section.

// perNode is the number of unknowns of a node: w, θx, θy. Nothing outside the element's own files counts on what they mean,
// except where w is named.
const (
	perNode        = 3
	elementNodes   = 3
	elementSize    = perNode * elementNodes
	unknownW       = 0 // place among a node's unknowns
	unknownX       = 1 // first of the rotation vector's two
	unknownY       = 2
	elementEntries = elementSize * elementSize
)

// elementShape is the geometry of a triangle and what its section makes of its sides. Side k lies opposite corner k and runs
// from corner k+1 to k+2.
type elementShape struct {
	area   float64
	grad   [3][2]float64 // gradients of the area coordinates
	side   [3][2]float64 // vectors along the sides
	bubble [3][elementSize]float64
	bend   [3]float64 // strip stiffness Dk
	lenSq  [3]float64
	phi    [3]float64
}

// elementCorners[k] are the corners that side k runs between.
var elementCorners = [3][2]int{{1, 2}, {2, 0}, {0, 1}}

// newElementShape works out a triangle with corners p, anticlockwise.
func newElementShape(p *[3]plane.Point, s *Section) (e elementShape) {
	for k, c := range elementCorners {
		i, j := c[0], c[1]
		e.side[k] = [2]float64{p[j].X - p[i].X, p[j].Y - p[i].Y}
	}
	twice := e.side[2][0]*(-e.side[1][1]) + e.side[2][1]*e.side[1][0]
	e.area = twice / 2
	thin := s.thin()
	for k, c := range elementCorners {
		i, j := c[0], c[1]
		x, y := e.side[k][0], e.side[k][1]
		e.grad[k] = [2]float64{-y / twice, x / twice}
		l2 := x*x + y*y
		v := [3]float64{x * x, y * y, 2 * x * y}
		d := 0.0
		for a := range 3 {
			d += v[a] * (s.D[a][0]*v[0] + s.D[a][1]*v[1] + s.D[a][2]*v[2])
		}
		e.lenSq[k] = l2
		e.bend[k] = d / (l2 * l2)
		if !thin {
			e.phi[k] = 12 * e.bend[k] / (x*x*s.S[0][0] + 2*x*y*s.S[0][1] + y*y*s.S[1][1])
		}
		// The bubble is kept as Δk/Lk, so that no length of a side is ever needed, only its square.
		f := -1.5 / ((1 + e.phi[k]) * l2)
		b := &e.bubble[k]
		b[perNode*i+unknownW], b[perNode*j+unknownW] = -f, f
		b[perNode*i+unknownX], b[perNode*j+unknownX] = -f*y/2, -f*y/2
		b[perNode*i+unknownY], b[perNode*j+unknownY] = f*x/2, f*x/2
	}
	return e
}

// bubbleCurvature returns the curvature of side k's bubble of one unit where λi∇λj + λj∇λi is g/4.
func (e *elementShape) bubbleCurvature(k int, gx, gy float64) [3]float64 {
	x, y := e.side[k][0], e.side[k][1]
	return [3]float64{x * gx, y * gy, x*gy + y*gx}
}

// stiffness fills ke, row after row, with the stiffness of the triangle: bending and shear, integrated exactly.
func (e *elementShape) stiffness(s *Section, ke *[elementEntries]float64) {
	// Corners' linear part: columns θx and θy of each corner.
	var lin, dlin [6][3]float64
	for i, g := range e.grad {
		lin[2*i] = [3]float64{0, -g[1], -g[0]}
		lin[2*i+1] = [3]float64{g[0], 0, g[1]}
	}
	for c := range 6 {
		dlin[c] = elementTimes(&s.D, &lin[c])
	}
	*ke = [elementEntries]float64{}
	for c := range 6 {
		row := elementRotation(c)
		for d := range c + 1 {
			v := e.area * elementDot(&lin[c], &dlin[d])
			col := elementRotation(d)
			ke[row*elementSize+col], ke[col*elementSize+row] = v, v
		}
	}
	// K = K₀ + Pᵀ·R + Rᵀ·P with R = Cᵀ·D·B₀ + ½·H·P, P the bubbles, H their own stiffness.
	h := e.bubbleStiffness(s)
	var r [3][elementSize]float64
	for k := range 3 {
		mean := e.bubbleCurvature(k, e.grad[k][0], e.grad[k][1])
		for c := range 6 {
			r[k][elementRotation(c)] = -4.0 / 3 * e.area * elementDot(&mean, &dlin[c])
		}
		h0, h1, h2 := h[k][0]/2, h[k][1]/2, h[k][2]/2
		for c := range elementSize {
			r[k][c] += h0*e.bubble[0][c] + h1*e.bubble[1][c] + h2*e.bubble[2][c]
		}
	}
	b0, b1, b2 := &e.bubble[0], &e.bubble[1], &e.bubble[2]
	for i := range elementSize {
		for j := range i + 1 {
			v := ke[i*elementSize+j] + b0[i]*r[0][j] + b1[i]*r[1][j] + b2[i]*r[2][j] + r[0][i]*b0[j] + r[1][i]*b1[j] + r[2][i]*b2[j]
			ke[i*elementSize+j], ke[j*elementSize+i] = v, v
		}
	}
}

// bubbleStiffness returns the stiffness of the three bubbles among themselves. The rule of the three mid-sides is exact, since
// both their curvature and the shear are linear.
func (e *elementShape) bubbleStiffness(s *Section) (h [3][3]float64) {
	w := e.area / 3
	var c [3][3]float64
	for m := range 3 {
		// At the middle of side m.
		for k := range 3 {
			f := 2.0
			if k == m {
				f = -2
			}
			c[k] = e.bubbleCurvature(k, f*e.grad[m][0], f*e.grad[m][1])
		}
		for k := range 3 {
			d := elementTimes(&s.D, &c[k])
			for l := range k + 1 {
				h[k][l] += w * elementDot(&d, &c[l])
			}
		}
	}
	if !s.thin() {
		e.addShear(s, &h)
	}
	h[0][1], h[0][2], h[1][2] = h[1][0], h[2][0], h[2][1]
	return h
}

// addShear adds the shear energy of the bubbles to the lower half of h.
func (e *elementShape) addShear(s *Section, h *[3][3]float64) {
	w := e.area / 3
	for m := range 3 {
		var v [3][2]float64
		for k := range 3 {
			f := -2.0 / 3 * e.phi[k] * e.lenSq[k]
			v[k] = e.sideField(k, m)
			v[k][0] *= f
			v[k][1] *= f
		}
		for k := range 3 {
			qx := s.S[0][0]*v[k][0] + s.S[0][1]*v[k][1]
			qy := s.S[1][0]*v[k][0] + s.S[1][1]*v[k][1]
			for l := range k + 1 {
				h[k][l] += w * (qx*v[l][0] + qy*v[l][1])
			}
		}
	}
}

// sideField returns λi∇λj − λj∇λi of side k at the middle of side m: the linear field whose part along side k is constant and
// whose part along the others is nothing.
func (e *elementShape) sideField(k, m int) [2]float64 {
	i, j := elementCorners[k][0], elementCorners[k][1]
	switch m {
	case k:
		return [2]float64{(e.grad[j][0] - e.grad[i][0]) / 2, (e.grad[j][1] - e.grad[i][1]) / 2}
	case i:
		return [2]float64{-e.grad[i][0] / 2, -e.grad[i][1] / 2}
	}
	return [2]float64{e.grad[j][0] / 2, e.grad[j][1] / 2}
}

// elementRotation gives the place, among the element's unknowns, of rotation c: θx, θy of corner 0, θx, θy of corner 1 …
func elementRotation(c int) int { return perNode*(c/2) + unknownX + c%2 }

func elementDot(a, b *[3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func elementTimes(d *[3][3]float64, v *[3]float64) [3]float64 {
	return [3]float64{
		d[0][0]*v[0] + d[0][1]*v[1] + d[0][2]*v[2],
		d[1][0]*v[0] + d[1][1]*v[1] + d[1][2]*v[2],
		d[2][0]*v[0] + d[2][1]*v[1] + d[2][2]*v[2],
	}
}
