package survey

import "math"

// dense is a matrix by rows.
type dense [][]float64

func newDense(rows, cols int) dense {
	a := make(dense, rows)
	all := make([]float64, rows*cols)
	for i := range a {
		a[i] = all[i*cols : (i+1)*cols]
	}
	return a
}

// split is a = u·diag(s)·vᵀ: u with orthonormal columns (nought where s is), v orthogonal. Singular values are in no order.
type split struct {
	u, v dense
	s    []float64
}

// splitOf finds the singular values by turning pairs of columns square to each other until all are (Hestenes' one-sided Jacobi
// method): slow and dependable, to the last digits even of small singular values.
func splitOf(a dense) split {
	rows, cols := len(a), len(a[0])
	// By columns, since whole columns are turned.
	u, v := newDense(cols, rows), newDense(cols, cols)
	for j := range cols {
		v[j][j] = 1
		for i := range rows {
			u[j][i] = a[i][j]
		}
	}
	for sweep, turned := 0, true; turned && sweep < 60; sweep++ {
		turned = false
		for p := range cols {
			for q := p + 1; q < cols; q++ {
				alpha, beta, gamma := dot(u[p], u[p]), dot(u[q], u[q]), dot(u[p], u[q])
				if gamma == 0 || math.Abs(gamma) <= 1e-15*math.Sqrt(alpha*beta) {
					continue
				}
				turned = true
				zeta := (beta - alpha) / (2 * gamma)
				t := math.Copysign(1/(math.Abs(zeta)+math.Hypot(1, zeta)), zeta)
				c := 1 / math.Hypot(1, t)
				turnPair(u[p], u[q], c, c*t)
				turnPair(v[p], v[q], c, c*t)
			}
		}
	}
	out := split{u: newDense(rows, cols), v: newDense(cols, cols), s: make([]float64, cols)}
	for j := range cols {
		out.s[j] = math.Sqrt(dot(u[j], u[j]))
		for i := range rows {
			if out.s[j] > 0 {
				out.u[i][j] = u[j][i] / out.s[j]
			}
		}
		for i := range cols {
			out.v[i][j] = v[j][i]
		}
	}
	return out
}

func (s split) largest() float64 {
	most := 0.0
	for _, v := range s.s {
		most = max(most, v)
	}
	return most
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

func turnPair(a, b []float64, c, s float64) {
	for i := range a {
		a[i], b[i] = c*a[i]-s*b[i], s*a[i]+c*b[i]
	}
}

// solve returns x of (aᵀa + damp·I)·x = aᵀw by Cholesky's method; false where that is not positive definite within rounding.
func solve(a dense, w []float64, damp float64) ([]float64, bool) {
	u := len(a[0])
	n, x := newDense(u, u), make([]float64, u)
	for i, row := range a {
		for j, v := range row {
			if v == 0 {
				continue
			}
			x[j] += v * w[i]
			for k := range j + 1 {
				n[j][k] += v * row[k]
			}
		}
	}
	most := 0.0
	for j := range n {
		most = max(most, n[j][j])
	}
	for j := range n {
		n[j][j] += damp * most
	}
	for j := range n {
		for k := range j + 1 {
			sum := n[j][k] - dot(n[j][:k], n[k][:k])
			switch {
			case k < j:
				n[j][k] = sum / n[k][k]
			case sum <= 1e-15*most:
				return nil, false
			default:
				n[j][j] = math.Sqrt(sum)
			}
		}
	}
	for j := range x {
		x[j] = (x[j] - dot(n[j][:j], x[:j])) / n[j][j]
	}
	for j := u - 1; j >= 0; j-- {
		for k := j + 1; k < u; k++ {
			x[j] -= n[k][j] * x[k]
		}
		x[j] /= n[j][j]
	}
	return x, true
}
