package spread

import "math"

// verdict is what fitting.decide finds.
type verdict int

const (
	undecided verdict = iota
	fits
	jams
)

// vec is a motion (dx, dy, ω), where ω = θ·ρ is the angle times the layout's radius, so that all three are lengths; or a
// gradient with respect to it.
type vec [3]float64

// fitting decides for one sample whether a motion x exists with |rᵢ(x)| ≤ cᵢ for all i, where rᵢ = eᵢ + d + ω·qᵢ. The set of
// such motions is convex. It is sought by Newton's method on φ(x) = ½Σhᵢ², hᵢ = (|rᵢ| − cᵢ′)₊, with clearances cᵢ′ a little
// smaller than true, so that what converges to the smaller ones lies inside the true ones. At a minimum that is not 0 the
// gradient Σhᵢnᵢ vanishes (nᵢ the direction of rᵢ), and this is the proof that nothing fits: for any motion that fits,
// Σhᵢ(nᵢ·rᵢ − cᵢ) ≤ 0, but it is the same positive number for all motions.
type fitting struct {
	q     [][2]float64 // perp(Pᵢ − P̄)/ρ
	c     []float64
	least float64 // least of c
	e     [][2]float64
	slack float64 // for this attempt: cᵢ′ = cᵢ(1 − slack)
}

func newFitting(at [][2]float64, clear []float64) *fitting {
	n := len(at)
	f := &fitting{q: make([][2]float64, n), c: clear, e: make([][2]float64, n), least: math.Inf(1)}
	var mid [2]float64
	for _, p := range at {
		mid[0] += p[0] / float64(n)
		mid[1] += p[1] / float64(n)
	}
	rho := 0.0
	for i, p := range at {
		rho = max(rho, math.Hypot(p[0]-mid[0], p[1]-mid[1]))
		f.least = min(f.least, clear[i])
	}
	if rho == 0 {
		rho = 1 // all at one place: turning does nothing, q stays 0
	}
	for i, p := range at {
		f.q[i] = [2]float64{-(p[1] - mid[1]) / rho, (p[0] - mid[0]) / rho}
	}
	return f
}

// slacks are the attempts: coarse first, since nearly all samples are decided with it.
var slacks = [...]float64{1e-2, 1e-4, 1e-6, 1e-8}

// newtonSteps bounds one attempt. Ten are usual.
const newtonSteps = 50

func (f *fitting) decide() verdict {
	if f.least < 0 {
		return jams
	}
	x := f.start()
	for _, f.slack = range slacks {
		v := undecided
		if x, v = f.attempt(x); v != undecided {
			return v
		}
	}
	return undecided
}

// start returns the motion of least squares.
func (f *fitting) start() vec {
	var x vec
	qq, qe := 0.0, 0.0
	for i, e := range f.e {
		x[0] -= e[0] / float64(len(f.e))
		x[1] -= e[1] / float64(len(f.e))
		qe += f.q[i][0]*e[0] + f.q[i][1]*e[1]
		qq += f.q[i][0]*f.q[i][0] + f.q[i][1]*f.q[i][1]
	}
	if qq > 0 {
		x[2] = -qe / qq
	}
	return x
}

// state is all that one evaluation gives.
type state struct {
	phi   float64
	g     vec
	h     [6]float64 // upper triangle of the second derivative: 00 01 02 11 12 22
	fits  bool       // every true clearance holds
	proof float64    // Σhᵢ(|rᵢ| − cᵢ) with the true clearances
}

func (f *fitting) eval(x vec) state {
	s := state{fits: true}
	for i, e := range f.e {
		q := f.q[i]
		rx, ry := e[0]+x[0]+x[2]*q[0], e[1]+x[1]+x[2]*q[1]
		r := math.Sqrt(rx*rx + ry*ry)
		c := f.c[i] * (1 - f.slack)
		h := r - c
		if h <= 0 {
			continue
		}
		if r > f.c[i] {
			s.fits = false
		}
		s.phi += h * h / 2
		s.proof += h * (r - f.c[i])
		nx, ny := rx/r, ry/r
		nq := nx*q[0] + ny*q[1]
		s.g[0] += h * nx
		s.g[1] += h * ny
		s.g[2] += h * nq
		// ∂²(h²/2) = n nᵀ + (1 − c/r)(I − n nᵀ), carried through rᵢ = … + ω·q.
		a := h / r
		xx, xy, yy := a+(1-a)*nx*nx, (1-a)*nx*ny, a+(1-a)*ny*ny
		ux, uy := xx*q[0]+xy*q[1], xy*q[0]+yy*q[1]
		s.h[0] += xx
		s.h[1] += xy
		s.h[2] += ux
		s.h[3] += yy
		s.h[4] += uy
		s.h[5] += ux*q[0] + uy*q[1]
	}
	return s
}

// attempt runs Newton's method from x with the present slack until there is a proof either way.
func (f *fitting) attempt(x vec) (vec, verdict) {
	// Any motion that fits is no longer than reach: the mean of |d + ωqᵢ| ≤ cᵢ + |eᵢ| bounds d, since the qᵢ sum to 0, and
	// then the farthest station, with |q| = 1, bounds ω by twice as much.
	reach := 0.0
	for i, e := range f.e {
		reach = max(reach, f.c[i]+math.Hypot(e[0], e[1]))
	}
	reach *= math.Sqrt(5)
	s := f.eval(x)
	for range newtonSteps {
		if s.fits {
			return x, fits
		}
		if s.proof > s.g.norm()*(reach+x.norm()) {
			return x, jams
		}
		step := s.newton()
		slope := s.g[0]*step[0] + s.g[1]*step[1] + s.g[2]*step[2]
		t, moved := 1.0, false
		for range 20 {
			y := vec{x[0] + t*step[0], x[1] + t*step[1], x[2] + t*step[2]}
			// Armijo's condition with the usual 1e-4.
			if next := f.eval(y); next.phi <= s.phi+1e-4*t*slope && next.phi < s.phi {
				x, s, moved = y, next, true
				break
			}
			t /= 2
		}
		if !moved {
			break
		}
	}
	return x, undecided
}

func (v vec) norm() float64 { return math.Sqrt(v[0]*v[0] + v[1]*v[1] + v[2]*v[2]) }

// newton solves (H + μI)s = −g by Cholesky's method; μ is tiny against H and only keeps a direction that nothing resists from
// being singular.
func (s *state) newton() vec {
	mu := 1e-10 * (s.h[0] + s.h[3] + s.h[5])
	l00 := math.Sqrt(s.h[0] + mu)
	l10, l20 := s.h[1]/l00, s.h[2]/l00
	l11 := math.Sqrt(max(mu, s.h[3]+mu-l10*l10))
	l21 := (s.h[4] - l20*l10) / l11
	l22 := math.Sqrt(max(mu, s.h[5]+mu-l20*l20-l21*l21))
	y0 := -s.g[0] / l00
	y1 := (-s.g[1] - l10*y0) / l11
	y2 := (-s.g[2] - l20*y0 - l21*y1) / l22
	z2 := y2 / l22
	z1 := (y1 - l21*z2) / l11
	z0 := (y0 - l10*z1 - l20*z2) / l00
	return vec{z0, z1, z2}
}
