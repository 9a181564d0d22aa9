package sparse

import "math"

// panelWidth is how many columns are worked at a time: a block of them stays in the cache.
const panelWidth = 32

// eliminate takes the first s columns out of an m×m symmetric matrix, lower half, column after column with stride m: on return
// they hold the factor, the rest what is left. With signs, the factor is L·D·Lᵀ with d on the diagonal, else L·Lᵀ. It returns
// the column at which a pivot was too small, or −1. least[j] is the smallest pivot accepted there.
func eliminate(a []float64, m, s int, least []float64, indefinite bool) int {
	var scaled []float64
	if indefinite {
		scaled = make([]float64, m*panelWidth)
	}
	for k := 0; k < s; k += panelWidth {
		kb := min(panelWidth, s-k)
		for j := k; j < k+kb; j++ {
			cj := a[j*m+j : j*m+m]
			for t := k; t < j; t++ {
				x := a[t*m+j : t*m+m]
				f := x[0]
				if indefinite {
					f *= a[t*m+t]
				}
				axpy(-f, x, cj)
			}
			d := cj[0]
			if indefinite {
				if math.Abs(d) <= least[j] || math.IsNaN(d) {
					return j
				}
				scale(1/d, cj[1:])
				continue
			}
			if !(d > least[j]) {
				return j
			}
			r := math.Sqrt(d)
			cj[0] = r
			scale(1/r, cj[1:])
		}
		update(a, m, k, kb, indefinite, scaled)
	}
	return -1
}

func axpy(f float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += f * v
	}
}

func scale(f float64, x []float64) {
	for i := range x {
		x[i] *= f
	}
}

// update takes the product of columns k … k+kb−1 off all later columns, four at a time.
func update(a []float64, m, k, kb int, indefinite bool, scaled []float64) {
	from := k + kb
	if from >= m {
		return
	}
	// The row factors: L, or L·D.
	row := func(t, j int) float64 { return a[t*m+j] }
	if indefinite {
		for t := k; t < from; t++ {
			d := a[t*m+t]
			w := scaled[(t-k)*m : (t-k)*m+m]
			for j := from; j < m; j++ {
				w[j] = d * a[t*m+j]
			}
		}
		row = func(t, j int) float64 { return scaled[(t-k)*m+j] }
	}
	j := from
	for ; j+3 < m; j += 4 {
		c0 := a[j*m+j : j*m+m]
		n := len(c0)
		c1 := a[(j+1)*m+j : (j+1)*m+m][:n]
		c2 := a[(j+2)*m+j : (j+2)*m+m][:n]
		c3 := a[(j+3)*m+j : (j+3)*m+m][:n]
		t := k
		for ; t+1 < from; t += 2 {
			x := a[t*m+j : t*m+m][:n]
			y := a[(t+1)*m+j : (t+1)*m+m][:n]
			p0, p1, p2, p3 := row(t, j), row(t, j+1), row(t, j+2), row(t, j+3)
			q0, q1, q2, q3 := row(t+1, j), row(t+1, j+1), row(t+1, j+2), row(t+1, j+3)
			for i, u := range x {
				v := y[i]
				c0[i] -= u*p0 + v*q0
				c1[i] -= u*p1 + v*q1
				c2[i] -= u*p2 + v*q2
				c3[i] -= u*p3 + v*q3
			}
		}
		for ; t < from; t++ {
			x := a[t*m+j : t*m+m]
			axpy(-row(t, j), x, c0)
			axpy(-row(t, j+1), x, c1)
			axpy(-row(t, j+2), x, c2)
			axpy(-row(t, j+3), x, c3)
		}
	}
	for ; j < m; j++ {
		for t := k; t < from; t++ {
			axpy(-row(t, j), a[t*m+j:t*m+m], a[j*m+j:j*m+m])
		}
	}
}

// Cholesky factors a dense symmetric positive definite matrix in place, n×n, column after column: its lower half becomes L,
// with L·Lᵀ = A. The upper half is left alone. *NotPositive when it is not definite.
func Cholesky(a []float64, n int) error {
	least := make([]float64, n)
	for i := range least {
		least[i] = pivotTolerance * a[i*n+i]
	}
	if j := eliminate(a, n, n, least, false); j >= 0 {
		return &NotPositive{Unknown: j, Pivot: a[j*n+j], Of: least[j] / pivotTolerance}
	}
	return nil
}

// CholeskySolve solves with the factor of Cholesky in place, nrhs right-hand sides, one after the other in b.
func CholeskySolve(l []float64, n int, b []float64, nrhs int) {
	for r := range nrhs {
		x := b[r*n : r*n+n]
		for j := range n {
			c := l[j*n : j*n+n]
			x[j] /= c[j]
			axpy(-x[j], c[j+1:], x[j+1:])
		}
		for j := n - 1; j >= 0; j-- {
			c := l[j*n : j*n+n]
			x[j] = (x[j] - dot(c[j+1:], x[j+1:])) / c[j]
		}
	}
}

func dot(x, y []float64) float64 {
	y = y[:len(x)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+3 < len(x); i += 4 {
		s0 += x[i] * y[i]
		s1 += x[i+1] * y[i+1]
		s2 += x[i+2] * y[i+2]
		s3 += x[i+3] * y[i+3]
	}
	for ; i < len(x); i++ {
		s0 += x[i] * y[i]
	}
	return (s0 + s1) + (s2 + s3)
}
