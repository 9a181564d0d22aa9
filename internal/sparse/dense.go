package sparse

import (
	"math"
	"sync"
	"sync/atomic"
)

// panelWidth is how many columns are worked at a time before all later ones are: a block of them stays in the cache. stripWidth
// is the same within a panel.
const (
	panelWidth = 32
	stripWidth = 4
)

// eliminate takes s columns out of an m×m symmetric matrix, lower half. The columns stand in a, one after the other with stride m;
// the rest, (m−s)×(m−s), in rest. On return a holds the factor, rest what is left. With signs, the factor is L·D·Lᵀ with d on the
// diagonal, else L·Lᵀ. Columns are worked by fours, so that entries next to the diagonal in the upper half are written too; nothing
// reads them. It returns the column at which a pivot was too small, or −1. least[j] is the smallest pivot accepted there. idle, unless nil,
// counts workers that have nothing to do and may help; the digits do not depend on them.
func eliminate(a []float64, m, s int, rest, least []float64, indefinite bool, idle *atomic.Int32) int {
	for k := 0; k < s; k += panelWidth {
		end := min(k+panelWidth, s)
		for strip := k; strip < end; strip += stripWidth {
			to := min(strip+stripWidth, end)
			for j := strip; j < to; j++ {
				if !column(a, m, j, strip, least[j], indefinite) {
					return j
				}
			}
			update(a, m, strip, to, to, end, indefinite, a, m, 0)
		}
		split(m, end, s, end-k, idle, func(from, to int) { update(a, m, k, end, from, to, indefinite, a, m, 0) })
		split(m, s, m, end-k, idle, func(from, to int) { update(a, m, k, end, from, to, indefinite, rest, m-s, s) })
	}
	return -1
}

// splitWork is how many multiplications it takes before a second goroutine is worth its start.
const splitWork = 1 << 18

// split shares columns from … to−1 of m rows out among idle workers, as even as the triangle allows, and waits for them. Every
// share begins at the same multiple of four whoever works it, so that each entry is worked in the same order.
func split(m, from, to, pivots int, idle *atomic.Int32, work func(from, to int)) {
	area := func(j int) float64 { x := float64(m - j); return x * x / 2 }
	whole := area(from) - area(to)
	parts := 1
	if idle != nil && whole*float64(pivots) > splitWork {
		parts += int(idle.Load())
	}
	if parts == 1 {
		work(from, to)
		return
	}
	var all sync.WaitGroup
	at := from
	for i := 1; i < parts; i++ {
		end := m - int(math.Sqrt(2*(area(from)-whole*float64(i)/float64(parts))))
		end = min(from+(end-from)&^3, to)
		if end > at {
			begin := at
			all.Go(func() { work(begin, end) })
			at = end
		}
	}
	work(at, to)
	all.Wait()
}

// column takes the columns from k on off column j and divides it by its pivot; false when that is too small.
func column(a []float64, m, j, k int, least float64, indefinite bool) bool {
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
		if !(math.Abs(d) > least) {
			return false
		}
		scale(1/d, cj[1:])
		return true
	}
	if !(d > least) {
		return false
	}
	r := math.Sqrt(d)
	cj[0] = r
	scale(1/r, cj[1:])
	return true
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

// update takes the product of columns k … end−1 of a off the columns from … to−1, four at a time. Those stand in c with the stride
// ld, without their first shift rows and columns.
func update(a []float64, m, k, end, from, to int, indefinite bool, c []float64, ld, shift int) {
	if k == end {
		return
	}
	var f [4 * panelWidth]float64 // of four rows: L, or L·D
	j := from
	for ; j+3 < to; j += 4 {
		n := m - j
		at := (j-shift)*ld + j - shift
		c0 := c[at : at+n]
		c1 := c[at+ld : at+ld+n]
		c2 := c[at+2*ld : at+2*ld+n]
		c3 := c[at+3*ld : at+3*ld+n]
		for t := k; t < end; t++ {
			x := a[t*m+j : t*m+j+4]
			d := 1.0
			if indefinite {
				d = a[t*m+t]
			}
			g := f[(t-k)*4 : (t-k)*4+4]
			g[0], g[1], g[2], g[3] = d*x[0], d*x[1], d*x[2], d*x[3]
		}
		t := k
		for ; t+3 < end; t += 4 {
			rank4(a[t*m+j:t*m+m], a[(t+1)*m+j:(t+1)*m+m], a[(t+2)*m+j:(t+2)*m+m], a[(t+3)*m+j:(t+3)*m+m], c0, c1, c2, c3, (*[16]float64)(f[(t-k)*4:]))
		}
		for ; t < end; t++ {
			x := a[t*m+j : t*m+m]
			g := f[(t-k)*4 : (t-k)*4+4]
			rank1(x, c0, c1, c2, c3, g[0], g[1], g[2], g[3])
		}
	}
	for ; j < to; j++ {
		at := (j-shift)*ld + j - shift
		for t := k; t < end; t++ {
			p := a[t*m+j]
			if indefinite {
				p *= a[t*m+t]
			}
			axpy(-p, a[t*m+j:t*m+m], c[at:at+m-j])
		}
	}
}

// rank4 takes four columns, each times its four factors, off four others.
func rank4(x, y, z, w, c0, c1, c2, c3 []float64, f *[16]float64) {
	n := len(x)
	y, z, w = y[:n], z[:n], w[:n]
	c0, c1, c2, c3 = c0[:n], c1[:n], c2[:n], c3[:n]
	for i, u := range x {
		v, s, t := y[i], z[i], w[i]
		c0[i] -= (u*f[0] + v*f[4]) + (s*f[8] + t*f[12])
		c1[i] -= (u*f[1] + v*f[5]) + (s*f[9] + t*f[13])
		c2[i] -= (u*f[2] + v*f[6]) + (s*f[10] + t*f[14])
		c3[i] -= (u*f[3] + v*f[7]) + (s*f[11] + t*f[15])
	}
}

func rank1(x, c0, c1, c2, c3 []float64, p0, p1, p2, p3 float64) {
	n := len(x)
	c0, c1, c2, c3 = c0[:n], c1[:n], c2[:n], c3[:n]
	for i, u := range x {
		c0[i] -= u * p0
		c1[i] -= u * p1
		c2[i] -= u * p2
		c3[i] -= u * p3
	}
}

// Cholesky factors a dense symmetric positive definite matrix in place, n×n, column after column: its lower half becomes L,
// with L·Lᵀ = A. What stands in the upper half does not matter and is not kept. *NotPositive when it is not definite.
func Cholesky(a []float64, n int) error {
	least := make([]float64, n)
	for i := range least {
		least[i] = pivotTolerance * a[i*n+i]
	}
	if j := eliminate(a, n, n, nil, least, false, nil); j >= 0 {
		return &NotPositive{Unknown: j, Pivot: a[j*n+j], Of: least[j] / pivotTolerance}
	}
	return nil
}
