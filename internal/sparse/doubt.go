package sparse

import (
	"cmp"
	"math"
	"slices"
)

// A pivot that rounding made looks like any other. The motion v that it belongs to (1 at its own unknown, what follows at those
// eliminated before it, 0 at the rest) has vᵀ·A·v = pivot; entries of A are worked to one rounding of √(aᵢᵢ·aⱼⱼ) or so [higham02],
// hence the pivot is known to no better than ε·Σ aᵢᵢ·vᵢ². A panel that floats has a rigid motion for v, and the sum grows with the
// mesh: no fixed share of the diagonal tells it from a soft spring. On plates of 4,000 to 78,000 unknowns, 0.8 to 12 mm thick, free
// or held at one or two points, what was left was up to 3e-9 of the diagonal and up to 0.22 of ε·Σ aᵢᵢ·vᵢ²; shifts and soft springs
// that are meant left 1e4 times it and more.
const (
	doubtShare = 1e-6 // of the diagonal: pivots below are looked into. Plates held at three points leave 8e-6 and more
	doubtMost  = 8    // of them, the smallest: a matrix that is singular shows by its smallest
	doubtTimes = 4    // ε·Σ aᵢᵢ·vᵢ² that a pivot must exceed
)

// doubt is a small pivot.
type doubt struct {
	pos   int
	pivot float64
	share float64
}

// consider keeps the smallest pivots.
func consider(list []doubt, pos int, pivot, of float64) []doubt {
	share := math.Abs(pivot / of)
	if !(share < doubtShare) {
		return list
	}
	list = append(list, doubt{pos, pivot, share})
	slices.SortFunc(list, func(a, b doubt) int {
		if c := cmp.Compare(a.share, b.share); c != 0 {
			return c
		}
		return cmp.Compare(a.pos, b.pos)
	})
	return list[:min(len(list), doubtMost)]
}

// checkPivots is *NotPositive when a pivot is no more than rounding.
func (f *Factor) checkPivots() error {
	var list []doubt
	for i := range f.p.fronts {
		g := &f.p.fronts[i]
		m := len(g.rows)
		for j := range int(g.pivots) {
			pos := int(g.first) + j
			list = consider(list, pos, f.pivot(f.l[g.at+int64(j*m+j)]), f.diag[pos])
		}
	}
	return f.resolve(list, nil)
}

// checkRootPivots is checkPivots for the condensed matrix.
func (f *Factor) checkRootPivots(root []float64) error {
	var list []doubt
	k := f.p.kept
	for j := range k {
		list = consider(list, f.p.n-k+j, f.pivot(root[j*k+j]), f.diag[f.p.n-k+j])
	}
	return f.resolve(list, root)
}

// pivot is what stands for a diagonal entry of the factor.
func (f *Factor) pivot(d float64) float64 {
	if f.indefinite {
		return d
	}
	return d * d
}

// resolve works out the motion of each doubtful pivot and what rounding may make of it.
func (f *Factor) resolve(list []doubt, root []float64) error {
	p := f.p
	if len(list) == 0 {
		return nil
	}
	x, y := make([]float64, p.n), make([]float64, p.stats.LargestFront)
	for _, d := range list {
		clear(x)
		x[d.pos] = d.pivot
		if !f.indefinite {
			x[d.pos] = math.Sqrt(d.pivot)
		}
		if root != nil {
			backwardDense(root, p.kept, p.kept, x[p.n-p.kept:], 1, f.indefinite)
		}
		f.backward(x, 1, y)
		sum := 0.0
		for i, v := range x {
			sum += math.Abs(f.diag[i]) * v * v
		}
		if !(math.Abs(d.pivot) > doubtTimes*0x1p-53*sum) {
			return &NotPositive{Unknown: int(p.order[d.pos]), Pivot: d.pivot, Of: f.diag[d.pos]}
		}
	}
	return nil
}
