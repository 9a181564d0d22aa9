package sparse

// Forward takes n right-hand sides (one after the other, in the caller's numbering) half-way, in place: on return the kept
// entries hold the condensed load, the others what Backward needs.
func (f *Factor) Forward(b []float64, n int) {
	f.each(b, n, func(x []float64, w int) { f.forward(x, w) })
}

// Backward ends what Forward began, in place: the kept entries hold given values, the others become the answer.
func (f *Factor) Backward(x []float64, n int) {
	f.each(x, n, func(x []float64, w int) { f.backward(x, w) })
}

// Solve solves A·x = b in place; the kept unknowns are unknowns too. *NotPositive when their condensed matrix is singular.
func (f *Factor) Solve(x []float64) error { return f.SolveMany(x, 1) }

// SolveMany solves for n right-hand sides, one after the other in x.
func (f *Factor) SolveMany(x []float64, n int) error {
	root, err := f.rootFactor()
	if err != nil {
		return err
	}
	f.each(x, n, func(x []float64, w int) {
		f.forward(x, w)
		f.solveRoot(root, x, w)
		f.backward(x, w)
	})
	return nil
}

// together is how many right-hand sides go through the factor at once: it is read once for all of them.
const together = 4

// each turns the caller's columns into rows of positions, a few columns side by side.
func (f *Factor) each(b []float64, n int, work func(x []float64, w int)) {
	p := f.p
	if len(b) != n*p.n {
		panic("sparse: a right-hand side of another length")
	}
	x := make([]float64, p.n*min(n, together))
	for c := 0; c < n; c += together {
		w := min(together, n-c)
		for k := range w {
			col := b[(c+k)*p.n : (c+k+1)*p.n]
			for i, u := range p.order {
				x[i*w+k] = col[u]
			}
		}
		work(x[:p.n*w], w)
		for k := range w {
			col := b[(c+k)*p.n : (c+k+1)*p.n]
			for i, u := range p.order {
				col[u] = x[i*w+k]
			}
		}
	}
}

func (f *Factor) forward(x []float64, w int) {
	for i := range f.p.fronts {
		g := &f.p.fronts[i]
		m := len(g.rows)
		l := f.l[g.at:]
		for j := range int(g.pivots) {
			col := l[j*m : j*m+m]
			pos := int(g.first) + j
			if w == 1 {
				v := x[pos]
				if !f.indefinite {
					v /= col[j]
				}
				x[pos] = v
				for i, r := range g.rows[j+1:] {
					x[r] -= col[j+1+i] * v
				}
				continue
			}
			if !f.indefinite {
				for k := range w {
					x[pos*w+k] /= col[j]
				}
			}
			rowsTake(x, w, pos, g.rows[j+1:], col[j+1:])
		}
	}
}

// rowsTake takes col·x[pos] off the rows, w values each.
func rowsTake(x []float64, w, pos int, rows []int32, col []float64) {
	if w == 4 {
		v := x[pos*4 : pos*4+4]
		v0, v1, v2, v3 := v[0], v[1], v[2], v[3]
		for i, r := range rows {
			c := col[i]
			y := x[int(r)*4 : int(r)*4+4]
			y[0] -= c * v0
			y[1] -= c * v1
			y[2] -= c * v2
			y[3] -= c * v3
		}
		return
	}
	v := x[pos*w : pos*w+w]
	for i, r := range rows {
		y := x[int(r)*w : int(r)*w+w]
		for k := range w {
			y[k] -= col[i] * v[k]
		}
	}
}

func (f *Factor) backward(x []float64, w int) {
	for i := len(f.p.fronts) - 1; i >= 0; i-- {
		g := &f.p.fronts[i]
		m := len(g.rows)
		l := f.l[g.at:]
		for j := int(g.pivots) - 1; j >= 0; j-- {
			col := l[j*m : j*m+m]
			pos := int(g.first) + j
			rows := g.rows[j+1:]
			if w == 4 {
				v := x[pos*4 : pos*4+4]
				d := 1 / col[j]
				s0, s1, s2, s3 := v[0]*d, v[1]*d, v[2]*d, v[3]*d
				if !f.indefinite {
					s0, s1, s2, s3 = v[0], v[1], v[2], v[3]
				}
				for i, r := range rows {
					c := col[j+1+i]
					y := x[int(r)*4 : int(r)*4+4]
					s0 -= c * y[0]
					s1 -= c * y[1]
					s2 -= c * y[2]
					s3 -= c * y[3]
				}
				if !f.indefinite {
					s0, s1, s2, s3 = s0/col[j], s1/col[j], s2/col[j], s3/col[j]
				}
				v[0], v[1], v[2], v[3] = s0, s1, s2, s3
				continue
			}
			for k := range w {
				s := x[pos*w+k]
				if f.indefinite {
					s /= col[j]
				}
				for i, r := range rows {
					s -= col[j+1+i] * x[int(r)*w+k]
				}
				if !f.indefinite {
					s /= col[j]
				}
				x[pos*w+k] = s
			}
		}
	}
}

// solveRoot solves the condensed matrix on the kept entries.
func (f *Factor) solveRoot(l, x []float64, w int) {
	k := f.p.kept
	x = x[(f.p.n-k)*w:]
	for j := range k {
		col := l[j*k : j*k+k]
		for q := range w {
			if !f.indefinite {
				x[j*w+q] /= col[j]
			}
			for i := j + 1; i < k; i++ {
				x[i*w+q] -= col[i] * x[j*w+q]
			}
		}
	}
	for j := k - 1; j >= 0; j-- {
		col := l[j*k : j*k+k]
		for q := range w {
			s := x[j*w+q]
			if f.indefinite {
				s /= col[j]
			}
			for i := j + 1; i < k; i++ {
				s -= col[i] * x[i*w+q]
			}
			if !f.indefinite {
				s /= col[j]
			}
			x[j*w+q] = s
		}
	}
}
