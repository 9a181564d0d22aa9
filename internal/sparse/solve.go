package sparse

// Forward takes n right-hand sides (one after the other, in the caller's numbering) half-way, in place: on return the kept
// entries hold the condensed load, the others what Backward needs.
func (f *Factor) Forward(b []float64, n int) {
	f.each(b, n, f.forward)
}

// Backward ends what Forward began, in place: the kept entries hold given values, the others become the answer.
func (f *Factor) Backward(x []float64, n int) {
	f.each(x, n, f.backward)
}

// Solve solves A·x = b in place; the kept unknowns are unknowns too. *NotPositive when their condensed matrix is singular.
func (f *Factor) Solve(x []float64) error { return f.SolveMany(x, 1) }

// SolveMany solves for n right-hand sides, one after the other in x. Each gets the digits that Solve would give it.
func (f *Factor) SolveMany(x []float64, n int) error {
	root, err := f.rootFactor()
	if err != nil {
		return err
	}
	k, base := f.p.kept, f.p.n-f.p.kept
	f.each(x, n, func(x []float64, w int, y []float64) {
		f.forward(x, w, y)
		forwardDense(root, k, k, x[base*w:], w, f.indefinite)
		backwardDense(root, k, k, x[base*w:], w, f.indefinite)
		f.backward(x, w, y)
	})
	return nil
}

// together is how many right-hand sides go through the factor at once: it is read once for all of them. Fewer than three go one
// by one, three go with an empty fourth.
const together = 4

// each brings the caller's columns into the order of positions, those that go together side by side: w is 1 or together. y is room
// for the largest front.
func (f *Factor) each(b []float64, n int, work func(x []float64, w int, y []float64)) {
	p := f.p
	if len(b) != n*p.n {
		panic("sparse: a right-hand side of another length")
	}
	w := 1
	if n >= together-1 {
		w = together
	}
	x, y := make([]float64, p.n*w), make([]float64, p.stats.LargestFront*w)
	for c := 0; c < n; {
		if n-c < together-1 {
			w = 1
		}
		now := min(w, n-c)
		clear(x)
		for k := range now {
			col := b[(c+k)*p.n : (c+k+1)*p.n]
			for i, u := range p.order {
				x[i*w+k] = col[u]
			}
		}
		work(x[:p.n*w], w, y)
		for k := range now {
			col := b[(c+k)*p.n : (c+k+1)*p.n]
			for i, u := range p.order {
				col[u] = x[i*w+k]
			}
		}
		c += now
	}
}

// gather copies what stands at the rows of a front.
func gather(y, x []float64, rows []int32, w int) {
	if w == 1 {
		for i, r := range rows {
			y[i] = x[r]
		}
		return
	}
	for i, r := range rows {
		*(*[together]float64)(y[i*together:]) = *(*[together]float64)(x[int(r)*together:])
	}
}

// scatter copies it back.
func scatter(x, y []float64, rows []int32, w int) {
	if w == 1 {
		for i, r := range rows {
			x[r] = y[i]
		}
		return
	}
	for i, r := range rows {
		*(*[together]float64)(x[int(r)*together:]) = *(*[together]float64)(y[i*together:])
	}
}

func (f *Factor) forward(x []float64, w int, y []float64) {
	for i := range f.p.fronts {
		g := &f.p.fronts[i]
		gather(y, x, g.rows, w)
		forwardDense(f.l[g.at:], len(g.rows), int(g.pivots), y, w, f.indefinite)
		scatter(x, y, g.rows, w)
	}
}

func (f *Factor) backward(x []float64, w int, y []float64) {
	for i := len(f.p.fronts) - 1; i >= 0; i-- {
		g := &f.p.fronts[i]
		gather(y, x, g.rows, w)
		backwardDense(f.l[g.at:], len(g.rows), int(g.pivots), y, w, f.indefinite)
		copy(x[int(g.first)*w:], y[:int(g.pivots)*w])
	}
}

// CholeskySolve solves with the factor of Cholesky in place, nrhs right-hand sides, one after the other in b.
func CholeskySolve(l []float64, n int, b []float64, nrhs int) {
	var y []float64
	r := 0
	for ; r+together-1 <= nrhs; r += together {
		if y == nil {
			y = make([]float64, n*together)
		}
		now := min(together, nrhs-r)
		for k := range now {
			for i, v := range b[(r+k)*n : (r+k+1)*n] {
				y[i*together+k] = v
			}
		}
		forwardDense(l, n, n, y, together, false)
		backwardDense(l, n, n, y, together, false)
		for k := range now {
			to := b[(r+k)*n : (r+k+1)*n]
			for i := range to {
				to[i] = y[i*together+k]
			}
		}
	}
	for ; r < nrhs; r++ {
		forwardDense(l, n, n, b[r*n:(r+1)*n], 1, false)
		backwardDense(l, n, n, b[r*n:(r+1)*n], 1, false)
	}
}
