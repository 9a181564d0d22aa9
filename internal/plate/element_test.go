package plate

import (
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/plane"
)

// elementTriangle is a triangle of no symmetry, with one obtuse angle.
var elementTriangle = [3]plane.Point{{X: 10, Y: 5}, {X: 47, Y: 12}, {X: 21, Y: 19}}

// elementOdd is a section with every entry of D and S different.
func elementOdd() Section {
	s := Sheet(7000, 0.35, 2.5, 1.6e-9)
	s.D = [3][3]float64{{9000, 2500, 700}, {2500, 5000, -300}, {700, -300, 2800}}
	s.S = [2][2]float64{{900, 150}, {150, 400}}
	return s
}

// elementSections are the sections that every property of the element must hold for.
func elementSections() map[string]Section {
	return map[string]Section{
		"thin sheet":  Sheet(7000, 0.35, 2.5, 1.6e-9).Thin(),
		"sheet":       Sheet(7000, 0.35, 2.5, 1.6e-9),
		"thick sheet": Sheet(7000, 0.35, 40, 1.6e-9),
		"sandwich":    Sandwich(Layer{E: 70000, Nu: 0.3, Thickness: 0.5, Density: 2.7e-9}, Layer{E: 78, Nu: 0.3, Thickness: 10, Density: 1e-10}, 30),
		"odd":         elementOdd(),
	}
}

func elementKe(p [3]plane.Point, s Section) *[elementEntries]float64 {
	var ke [elementEntries]float64
	e := newElementShape(&p, &s)
	e.stiffness(&s, &ke)
	return &ke
}

// elementField gives the unknowns of deflection w and rotations β at the corners.
func elementField(p [3]plane.Point, f func(x, y float64) (w, bx, by float64)) (u [elementSize]float64) {
	for i, q := range p {
		w, bx, by := f(q.X, q.Y)
		u[perNode*i], u[perNode*i+1], u[perNode*i+2] = w, -by, bx
	}
	return u
}

func elementEnergy(ke *[elementEntries]float64, u *[elementSize]float64) (energy, size float64) {
	for i := range elementSize {
		for j := range elementSize {
			v := u[i] * ke[i*elementSize+j] * u[j]
			energy += v
			size += math.Abs(v)
		}
	}
	return energy / 2, size / 2
}

// A rigid motion bends nothing: forces at rounding level against what each entry alone would give.
func TestElementRigidMotion(t *testing.T) {
	const rounding = 1e-13
	motions := map[string]func(x, y float64) (w, bx, by float64){
		"lift":   func(_, _ float64) (float64, float64, float64) { return 1, 0, 0 },
		"turn x": func(_, y float64) (float64, float64, float64) { return y, 0, -1 },
		"turn y": func(x, _ float64) (float64, float64, float64) { return -x, 1, 0 },
	}
	for name, s := range elementSections() {
		ke := elementKe(elementTriangle, s)
		for m, f := range motions {
			u := elementField(elementTriangle, f)
			for i := range elementSize {
				sum, size := 0.0, 0.0
				for j := range elementSize {
					sum += ke[i*elementSize+j] * u[j]
					size += math.Abs(ke[i*elementSize+j] * u[j])
				}
				if math.Abs(sum) > rounding*size {
					t.Errorf("%s, %s: force %g of %g on unknown %d", name, m, sum, size, i)
				}
			}
		}
	}
}

// The element is symmetric, and positive definite but for three rigid motions. Eigenvalues by Jacobi's turns.
func TestElementSpectrum(t *testing.T) {
	for name, s := range elementSections() {
		ke := elementKe(elementTriangle, s)
		var a [elementSize][elementSize]float64
		for i := range elementSize {
			for j := range elementSize {
				if ke[i*elementSize+j] != ke[j*elementSize+i] {
					t.Errorf("%s: entries %d, %d are not symmetric", name, i, j)
				}
				// Rotations times a length, so that all unknowns are lengths.
				scale := 1.0
				if i%perNode != 0 {
					scale /= 20
				}
				if j%perNode != 0 {
					scale /= 20
				}
				a[i][j] = ke[i*elementSize+j] * scale
			}
		}
		values := elementEigenvalues(a)
		top := values[elementSize-1]
		for i, v := range values {
			if zero := math.Abs(v) < 1e-13*top; zero != (i < 3) || v < -1e-13*top {
				t.Errorf("%s: eigenvalue %d is %g, the greatest %g", name, i, v, top)
			}
		}
	}
}

// elementEigenvalues returns the eigenvalues, rising.
func elementEigenvalues(a [elementSize][elementSize]float64) []float64 {
	for range 30 {
		for p := range elementSize {
			for q := range p {
				if a[p][q] == 0 {
					continue
				}
				theta := (a[q][q] - a[p][p]) / (2 * a[p][q])
				r := 1 / (math.Abs(theta) + math.Sqrt(theta*theta+1))
				if theta < 0 {
					r = -r
				}
				c := 1 / math.Sqrt(r*r+1)
				n := r * c
				for k := range elementSize {
					x, y := a[k][p], a[k][q]
					a[k][p], a[k][q] = c*x-n*y, n*x+c*y
				}
				for k := range elementSize {
					x, y := a[p][k], a[q][k]
					a[p][k], a[q][k] = c*x-n*y, n*x+c*y
				}
			}
		}
	}
	values := make([]float64, elementSize)
	for i := range values {
		v := a[i][i]
		j := i
		for ; j > 0 && values[j-1] > v; j-- {
			values[j] = values[j-1]
		}
		values[j] = v
	}
	return values
}

// Even curvature is met exactly, shear or not: energy A/2·κᵀDκ, and the curvature itself at each corner.
func TestElementEvenCurvature(t *testing.T) {
	const rounding = 1e-12
	kappa := [3]float64{2e-4, -1e-4, 3e-4}
	for name, s := range elementSections() {
		u := elementField(elementTriangle, func(x, y float64) (w, bx, by float64) {
			return -(kappa[0]*x*x + kappa[1]*y*y + kappa[2]*x*y) / 2, kappa[0]*x + kappa[2]*y/2, kappa[1]*y + kappa[2]*x/2
		})
		e := newElementShape(&elementTriangle, &s)
		m := elementTimes(&s.D, &kappa)
		want := e.area / 2 * elementDot(&kappa, &m)
		got, size := elementEnergy(elementKe(elementTriangle, s), &u)
		if math.Abs(got-want) > rounding*size {
			t.Errorf("%s: energy %g, want %g", name, got, want)
		}
		for c := range 3 {
			k := e.curvature(c, &u)
			for n := range 3 {
				if math.Abs(k[n]-kappa[n]) > 1e-12*3e-4*100 {
					t.Errorf("%s: corner %d: curvature %v, want %v", name, c, k, kappa)
				}
			}
			if q := e.shearForce(&s, c, &u); math.Hypot(q[0], q[1]) > 1e-9*math.Abs(m[0])/20 {
				t.Errorf("%s: corner %d: shear force %v under even curvature", name, c, q)
			}
		}
	}
}

// Even shear strain without curvature is met exactly by a sheet that cannot bend: φ → ∞.
func TestElementEvenShear(t *testing.T) {
	s := elementOdd()
	for i := range 3 {
		for j := range 3 {
			s.D[i][j] *= 1e9
		}
	}
	u := elementField(elementTriangle, func(x, y float64) (w, bx, by float64) { return 0.02*x - 0.01*y, 0, 0 })
	e := newElementShape(&elementTriangle, &s)
	want := e.area / 2 * (s.S[0][0]*0.02*0.02 - 2*s.S[0][1]*0.02*0.01 + s.S[1][1]*0.01*0.01)
	got, _ := elementEnergy(elementKe(elementTriangle, s), &u)
	if math.Abs(got/want-1) > 1e-5 {
		t.Errorf("energy %g, want %g", got, want)
	}
	for c := range 3 {
		q := e.shearForce(&s, c, &u)
		if math.Abs(q[0]-(900*0.02-150*0.01)) > 1e-5 || math.Abs(q[1]-(150*0.02-400*0.01)) > 1e-5 {
			t.Errorf("corner %d: shear force %v", c, q)
		}
	}
}

// The closed form is the energy of the element's own fields, added up by quadrature of curvature and shear at the corners:
// both are linear, so the corners' values give the integral exactly (1/12 of each pair, twice that of each square).
func TestElementEnergyOfFields(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for name, s := range elementSections() {
		ke := elementKe(elementTriangle, s)
		e := newElementShape(&elementTriangle, &s)
		for range 20 {
			var u [elementSize]float64
			for i := range u {
				u[i] = r.Float64() - 0.5
				if i%perNode != 0 {
					u[i] /= 20
				}
			}
			want := 0.0
			for a := range 3 {
				for b := range 3 {
					w := e.area / 24
					if a == b {
						w *= 2
					}
					ka, kb := e.curvature(a, &u), e.curvature(b, &u)
					m := elementTimes(&s.D, &kb)
					want += w * elementDot(&ka, &m)
					if !s.thin() {
						qa, qb := e.shearForce(&s, a, &u), e.shearForce(&s, b, &u)
						det := s.S[0][0]*s.S[1][1] - s.S[0][1]*s.S[1][0]
						want += w * (qa[0]*(s.S[1][1]*qb[0]-s.S[0][1]*qb[1]) + qa[1]*(s.S[0][0]*qb[1]-s.S[1][0]*qb[0])) / det
					}
				}
			}
			if got, size := elementEnergy(ke, &u); math.Abs(got-want) > 1e-12*size {
				t.Errorf("%s: energy %g, of its fields %g", name, got, want)
			}
		}
	}
}

// The element follows when panel and section are turned or mirrored, and does not care which corner is first.
func TestElementTurnedMirrored(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for name, s := range elementSections() {
		var u [elementSize]float64
		for i := range u {
			u[i] = r.Float64() - 0.5
			if i%perNode != 0 {
				u[i] /= 20
			}
		}
		want, size := elementEnergy(elementKe(elementTriangle, s), &u)
		check := func(what string, p [3]plane.Point, s Section, v [elementSize]float64) {
			t.Helper()
			if got, _ := elementEnergy(elementKe(p, s), &v); math.Abs(got-want) > 1e-12*size {
				t.Errorf("%s, %s: energy %.15g, was %.15g", name, what, got, want)
			}
		}
		// Turned by 40°.
		angle := 40 * math.Pi / 180
		c, n := math.Cos(angle), math.Sin(angle)
		p, v := elementTriangle, u
		for i, q := range elementTriangle {
			p[i] = plane.Point{X: c*q.X - n*q.Y + 100, Y: n*q.X + c*q.Y - 30}
			x, y := u[perNode*i+1], u[perNode*i+2]
			v[perNode*i+1], v[perNode*i+2] = c*x-n*y, n*x+c*y
		}
		check("turned", p, s.Turned(angle), v)
		// Mirrored about x = 0: the rotation vector is axial, corners change order to stay anticlockwise.
		m := s
		m.D[0][2], m.D[2][0], m.D[1][2], m.D[2][1] = -s.D[0][2], -s.D[2][0], -s.D[1][2], -s.D[2][1]
		m.S[0][1], m.S[1][0] = -s.S[0][1], -s.S[1][0]
		for i, q := range elementTriangle {
			to := (3 - i) % 3
			p[to] = plane.Point{X: -q.X, Y: q.Y}
			v[perNode*to], v[perNode*to+1], v[perNode*to+2] = u[perNode*i], u[perNode*i+1], -u[perNode*i+2]
		}
		check("mirrored", p, m, v)
		for i := range 3 {
			to := (i + 1) % 3
			p[to] = elementTriangle[i]
			copy(v[perNode*to:perNode*to+perNode], u[perNode*i:])
		}
		check("corners moved on", p, s, v)
	}
}

// Load and mass are those of one cubic: a sheet that moves as a rigid body has its mass, moments and inertia exactly, and any
// quadratic deflection does the exact work against a pressure.
func TestElementMassAndLoad(t *testing.T) {
	for name, s := range elementSections() {
		e := newElementShape(&elementTriangle, &s)
		var me [elementEntries]float64
		e.mass(1, &me)
		// w and β of a quadratic with even curvature, no shear.
		quadratic := func(a, b, c, d, f, g float64) [elementSize]float64 {
			return elementField(elementTriangle, func(x, y float64) (w, bx, by float64) {
				return a + b*x + c*y + d*x*x + f*x*y + g*y*y, -(b + 2*d*x + f*y), -(c + f*x + 2*g*y)
			})
		}
		// Integrals of x^p·y^q over the triangle from the rule of the three mid-sides, exact to the second degree.
		mid := func(f func(x, y float64) float64) (sum float64) {
			for k := range 3 {
				p, q := elementTriangle[(k+1)%3], elementTriangle[(k+2)%3]
				sum += e.area / 3 * f((p.X+q.X)/2, (p.Y+q.Y)/2)
			}
			return sum
		}
		one, x, y := quadratic(1, 0, 0, 0, 0, 0), quadratic(0, 1, 0, 0, 0, 0), quadratic(0, 0, 1, 0, 0, 0)
		times := func(u, v [elementSize]float64) (sum float64) {
			for i := range elementSize {
				for j := range elementSize {
					sum += u[i] * me[i*elementSize+j] * v[j]
				}
			}
			return sum
		}
		near := func(what string, got, want float64) {
			t.Helper()
			if math.Abs(got-want) > 1e-12*math.Abs(want) {
				t.Errorf("%s: %s: %.15g, want %.15g", name, what, got, want)
			}
		}
		near("mass", times(one, one), e.area)
		near("first moment", times(one, x), mid(func(x, _ float64) float64 { return x }))
		near("second moment", times(x, x), mid(func(x, _ float64) float64 { return x * x }))
		near("mixed moment", times(x, y), mid(func(x, y float64) float64 { return x * y }))
		var fe [elementSize]float64
		e.load(1, &fe)
		u := quadratic(1, 2, 3, 0.5, 0.3, -0.2)
		work := 0.0
		for i := range fe {
			work += fe[i] * u[i]
		}
		near("work", work, mid(func(x, y float64) float64 { return 1 + 2*x + 3*y + 0.5*x*x + 0.3*x*y - 0.2*y*y }))
		near("mass against quadratic", times(one, u), work)
	}
}

func BenchmarkElementStiffness(b *testing.B) {
	s := Sheet(7000, 0.35, 2.5, 1.6e-9)
	var ke [elementEntries]float64
	b.ReportAllocs()
	for b.Loop() {
		e := newElementShape(&elementTriangle, &s)
		e.stiffness(&s, &ke)
	}
}

func BenchmarkElementMass(b *testing.B) {
	s := Sheet(7000, 0.35, 2.5, 1.6e-9)
	var me [elementEntries]float64
	e := newElementShape(&elementTriangle, &s)
	b.ReportAllocs()
	for b.Loop() {
		e.mass(1, &me)
	}
}
