package plate

import (
	"math"

	"panelwright/internal/sparse"
)

// solve finds w and the forces with every point on its present piece, by the flexibility: only points whose piece differs from
// the reference make a system, and only points whose piece changed since move the rest.
func (r *contactRun) solve() error {
	c, n := r.c, r.c.n
	r.set = r.set[:0]
	for i := range n {
		p := &r.pieces[i][r.on[i]]
		b := r.f[i] + c.hold*r.prev[i]
		if !p.stop {
			b += p.c
		}
		if p.stop || p.k+c.hold != c.r[i] {
			r.set = append(r.set, int32(i))
		}
		if d := b - r.b[i]; d != 0 {
			r.b[i] = b
			contactAdd(d, c.c[i*n:i*n+n], r.base)
		}
	}
	copy(r.w, r.base)
	if err := r.correct(r.w, false); err != nil {
		return err
	}
	r.forces()
	return nil
}

// refine improves w with the pieces as they are: what is out of balance against S itself and a hold moves it. That takes back what
// rounding the flexibility has, and with a hold of nothing the hold too.
func (r *contactRun) refine(hold float64) error {
	c, n := r.c, r.c.n
	if r.v == nil {
		r.v, r.d = make([]float64, n), make([]float64, n)
	}
	clear(r.d)
	for i := range n {
		if r.pieces[i][r.on[i]].stop {
			r.v[i] = 0
			continue
		}
		r.v[i] = r.f[i] + r.g[i] + hold*(r.prev[i]-r.w[i]) - contactDot(c.s[i*n:i*n+n], r.w)
		contactAdd(r.v[i], c.c[i*n:i*n+n], r.d)
	}
	if err := r.correct(r.d, true); err != nil {
		return err
	}
	for i := range n {
		if p := &r.pieces[i][r.on[i]]; p.stop {
			r.w[i] = p.w0
		} else {
			r.w[i] += r.d[i]
			r.g[i] = p.c - p.k*r.w[i]
		}
	}
	r.balance(hold)
	return nil
}

// contactAdd adds f·x to y.
func contactAdd(f float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += f * v
	}
}

// correct adds to x, which the flexibility gave, what the points of the set do beyond the reference: C_A·y, with
// (C_AA + 1/d)·y = what they lack. Stops bring x to their place; of a difference of two answers, to nothing.
func (r *contactRun) correct(x []float64, difference bool) error {
	m := len(r.set)
	if m == 0 {
		return nil
	}
	if cap(r.mat) < m*m {
		r.mat = make([]float64, m*m)
	}
	mat := r.mat[:m*m]
	r.y = append(r.y[:0], make([]float64, m)...)
	for a, i := range r.set {
		if p := &r.pieces[i][r.on[i]]; p.stop && !difference {
			r.y[a] = p.w0
		}
		r.y[a] -= x[i]
	}
	if !difference {
		r.definite = r.small(mat) && sparse.Cholesky(mat, m) == nil
	}
	if r.definite {
		sparse.CholeskySolve(mat, m, r.y, 1)
	} else if r.small(mat); !contactEliminate(mat, r.y, m) { // laws softer than the reference: a station left out
		return r.lost(1)
	}
	n := r.c.n
	for a, i := range r.set {
		contactAdd(r.y[a], r.c.c[int(i)*n:int(i)*n+n], x)
	}
	for _, i := range r.set {
		if p := &r.pieces[i][r.on[i]]; p.stop && !difference {
			x[i] = p.w0
		}
	}
	return nil
}

// small fills in the system of the set; false when it cannot be positive definite.
func (r *contactRun) small(mat []float64) bool {
	m, n := len(r.set), r.c.n
	definite := true
	for a, i := range r.set {
		row := r.c.c[int(i)*n : int(i)*n+n]
		for k, j := range r.set {
			mat[a*m+k] = row[j]
		}
		if p := &r.pieces[i][r.on[i]]; !p.stop {
			d := p.k + r.c.hold - r.c.r[i]
			mat[a*m+a] += 1 / d
			definite = definite && d > 0
		}
	}
	return definite
}

// forces works out the force at each point on its piece. At a stop it is what the correction gave, less the hold's springs.
func (r *contactRun) forces() {
	for i, on := range r.on {
		if p := &r.pieces[i][on]; !p.stop {
			r.g[i] = p.c - p.k*r.w[i]
		}
	}
	for a, i := range r.set {
		if p := &r.pieces[i][r.on[i]]; p.stop {
			r.g[i] = r.y[a] + r.c.hold*r.prev[i] - r.c.r[i]*r.w[i]
		}
	}
}

// balance puts the force at each stop right: what balance against S itself and a hold asks for.
func (r *contactRun) balance(hold float64) {
	n := r.c.n
	for i, on := range r.on {
		if r.pieces[i][on].stop {
			r.g[i] = contactDot(r.c.s[i*n:i*n+n], r.w) - r.f[i] - hold*(r.prev[i]-r.w[i])
		}
	}
}

func contactDot(x, y []float64) float64 {
	y = y[:len(x)]
	var a, b, c, d float64
	i := 0
	for ; i+3 < len(x); i += 4 {
		a += x[i] * y[i]
		b += x[i+1] * y[i+1]
		c += x[i+2] * y[i+2]
		d += x[i+3] * y[i+3]
	}
	for ; i < len(x); i++ {
		a += x[i] * y[i]
	}
	return (a + b) + (c + d)
}

// contactEliminate solves a·x = b in place by elimination with row interchanges; false when a is singular to rounding.
func contactEliminate(a, b []float64, n int) bool {
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
				p = i
			}
		}
		if !(math.Abs(a[p*n+k]) > 0) {
			return false
		}
		if p != k {
			for j := k; j < n; j++ {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
			b[k], b[p] = b[p], b[k]
		}
		top := a[k*n+k+1 : k*n+n]
		for i := k + 1; i < n; i++ {
			f := a[i*n+k] / a[k*n+k]
			if f == 0 {
				continue
			}
			row := a[i*n+k+1 : i*n+n][:len(top)]
			for j, v := range top {
				row[j] -= f * v
			}
			b[i] -= f * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		b[k] = (b[k] - contactDot(a[k*n+k+1:k*n+n], b[k+1:n])) / a[k*n+k]
	}
	return true
}
