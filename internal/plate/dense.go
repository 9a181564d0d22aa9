package plate

import (
	"math"
	"slices"
)

// denseEigen returns eigenvalues, rising, and vectors (column e belongs to value e) of a symmetric matrix, by cyclic turns; a is
// lost.
func denseEigen(a []float64, n int) (values, vectors []float64) {
	v := make([]float64, n*n) // rows are vectors
	for i := range n {
		v[i*n+i] = 1
	}
	const sweeps = 30
	for range sweeps {
		off, on := 0.0, 0.0
		for i := range n {
			for j := range i {
				off += a[i*n+j] * a[i*n+j]
			}
			on += a[i*n+i] * a[i*n+i]
		}
		if off <= 1e-32*on {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				denseTurn(a, v, n, p, q)
			}
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch x, y := a[i*n+i], a[j*n+j]; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	values, vectors = make([]float64, n), make([]float64, n*n)
	for e, o := range order {
		values[e] = a[o*n+o]
		for i := range n {
			vectors[i*n+e] = v[o*n+i]
		}
	}
	return values, vectors
}

// denseTurn makes a[p][q] nothing, unless it is nothing beside both diagonal entries.
func denseTurn(a, v []float64, n, p, q int) {
	apq, app, aqq := a[p*n+q], a[p*n+p], a[q*n+q]
	const rounding = 1e-17
	if math.Abs(apq) <= rounding*math.Sqrt(math.Abs(app*aqq)) {
		return
	}
	theta := (aqq - app) / (2 * apq)
	t := math.Copysign(1/(math.Abs(theta)+math.Hypot(theta, 1)), theta)
	c := 1 / math.Hypot(t, 1)
	s := t * c
	turn := func(x, y []float64) {
		for k, u := range x {
			w := y[k]
			x[k], y[k] = c*u-s*w, s*u+c*w
		}
	}
	turn(a[p*n:(p+1)*n], a[q*n:(q+1)*n])
	turn(v[p*n:(p+1)*n], v[q*n:(q+1)*n])
	// Columns mirror rows.
	for k := range n {
		if k != p && k != q {
			a[k*n+p], a[k*n+q] = a[p*n+k], a[q*n+k]
		}
	}
	a[p*n+p], a[q*n+q] = app-t*apq, aqq+t*apq
	a[p*n+q], a[q*n+p] = 0, 0
}
