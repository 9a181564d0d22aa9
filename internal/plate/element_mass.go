package plate

// For loads and mass the deflection inside a triangle is the cubic that runs along each side as the side's strip does, and
// whose tenth coefficient is the one that leaves every quadratic alone. Along side k its slope at corner i is γk − βi·tk.
// It is kept by its ten Bernstein coefficients: three corners, six along the sides (near i, near j, side after side), the middle.

const elementCubic = 10

// cubic returns the Bernstein coefficients of the deflection as rows over the element's unknowns.
func (e *elementShape) cubic() (t [elementCubic][elementSize]float64) {
	for i := range elementNodes {
		t[i][perNode*i+unknownW] = 1
	}
	for k, c := range elementCorners {
		i, j := c[0], c[1]
		x, y := e.side[k][0], e.side[k][1]
		near, far := &t[3+2*k], &t[4+2*k]
		// Slope times length: γk·Lk − βi·e at i, at j with the sign turned. β·e = θy·x − θx·y.
		shear := -2.0 / 3 * e.phi[k] * e.lenSq[k]
		for c := range elementSize {
			near[c] = shear * e.bubble[k][c] / 3
			far[c] = -near[c]
		}
		near[perNode*i+unknownW]++
		near[perNode*i+unknownX] += y / 3
		near[perNode*i+unknownY] -= x / 3
		far[perNode*j+unknownW]++
		far[perNode*j+unknownX] -= y / 3
		far[perNode*j+unknownY] += x / 3
	}
	for c := range elementSize {
		corners := t[0][c] + t[1][c] + t[2][c]
		sides := t[3][c] + t[4][c] + t[5][c] + t[6][c] + t[7][c] + t[8][c]
		t[9][c] = sides/4 - corners/6
	}
	return t
}

// elementPowers are the powers of the area coordinates of each Bernstein coefficient.
var elementPowers = [elementCubic][3]int{
	{3, 0, 0}, {0, 3, 0}, {0, 0, 3},
	{0, 2, 1}, {0, 1, 2}, {1, 0, 2}, {2, 0, 1}, {2, 1, 0}, {1, 2, 0},
	{1, 1, 1},
}

// elementGram are the integrals of the products of two Bernstein cubics over a triangle of area 1:
// ∫Ba·Bb = 2·(3!)²/8!·Π (an+bn)!/(an!·bn!).
var elementGram = func() (g [elementCubic][elementCubic]float64) {
	factorial := [7]float64{1, 1, 2, 6, 24, 120, 720}
	for a, pa := range elementPowers {
		for b, pb := range elementPowers {
			v := 2.0 * 36 / 40320
			for n := range 3 {
				v *= factorial[pa[n]+pb[n]] / (factorial[pa[n]] * factorial[pb[n]])
			}
			g[a][b] = v
		}
	}
	return g
}()

// mass fills me with the consistent mass of the triangle, of so much mass per area. Rotary inertia is left out.
func (e *elementShape) mass(perArea float64, me *[elementEntries]float64) {
	t := e.cubic()
	var gt [elementCubic][elementSize]float64
	for a := range elementCubic {
		for b := range elementCubic {
			g := elementGram[a][b] * perArea * e.area
			for c := range elementSize {
				gt[a][c] += g * t[b][c]
			}
		}
	}
	for i := range elementSize {
		for j := range i + 1 {
			v := 0.0
			for a := range elementCubic {
				v += t[a][i] * gt[a][j]
			}
			me[i*elementSize+j], me[j*elementSize+i] = v, v
		}
	}
}

// load adds to fe what a pressure p that is even over the triangle does to its unknowns: the work of p on the cubic, which is
// p·A/3 on each w and a couple at the ends of each side.
func (e *elementShape) load(p float64, fe *[elementSize]float64) {
	for i := range elementNodes {
		fe[perNode*i+unknownW] += p * e.area / 3
	}
	f := p * e.area / 24
	for k, c := range elementCorners {
		i, j := c[0], c[1]
		x, y := f*e.side[k][0], f*e.side[k][1]
		fe[perNode*i+unknownX] += y
		fe[perNode*i+unknownY] -= x
		fe[perNode*j+unknownX] -= y
		fe[perNode*j+unknownY] += x
	}
}

// curvature returns κ at corner c for the element's unknowns u: the linear part, the same everywhere, and what the bubbles of
// the two sides that meet there add.
func (e *elementShape) curvature(c int, u *[elementSize]float64) (kappa [3]float64) {
	for i, g := range e.grad {
		x, y := u[perNode*i+unknownX], u[perNode*i+unknownY]
		kappa[0] += g[0] * y
		kappa[1] -= g[1] * x
		kappa[2] += g[1]*y - g[0]*x
	}
	for k, ends := range elementCorners {
		other := ends[0]
		switch c {
		case k:
			continue
		case ends[0]:
			other = ends[1]
		}
		d := e.bubbleCurvature(k, e.grad[other][0], e.grad[other][1])
		a := 4 * e.amplitude(k, u)
		for n := range 3 {
			kappa[n] += a * d[n]
		}
	}
	return kappa
}

// amplitude returns Δk/Lk for the element's unknowns u.
func (e *elementShape) amplitude(k int, u *[elementSize]float64) float64 {
	a := 0.0
	for c := range elementSize {
		a += e.bubble[k][c] * u[c]
	}
	return a
}

// shearForce returns Q = S·γ at corner c for the element's unknowns u. A thin section has no γ: there Q is what S·γ tends to
// as an isotropic S grows, from the strips' −8·Dk·Δk/Lk² along each side.
func (e *elementShape) shearForce(s *Section, c int, u *[elementSize]float64) [2]float64 {
	var g [2]float64
	for k, ends := range elementCorners {
		i, j := ends[0], ends[1]
		along := -2.0 / 3 * e.phi[k] * e.lenSq[k]
		if s.thin() {
			along = -8 * e.bend[k]
		}
		along *= e.amplitude(k, u)
		switch c {
		case i:
			g[0] += along * e.grad[j][0]
			g[1] += along * e.grad[j][1]
		case j:
			g[0] -= along * e.grad[i][0]
			g[1] -= along * e.grad[i][1]
		}
	}
	if s.thin() {
		return g
	}
	return [2]float64{s.S[0][0]*g[0] + s.S[0][1]*g[1], s.S[1][0]*g[0] + s.S[1][1]*g[1]}
}
