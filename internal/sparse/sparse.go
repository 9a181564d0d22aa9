// Package sparse solves large symmetric systems that come from finite elements on a plane mesh: nested dissection by place,
// multifrontal factorisation with dense fronts, unknowns that are kept to the last as a dense interface.
package sparse

import "fmt"

// Shape is where a symmetric matrix may have entries. Unknowns come in groups: those of one mesh node, any number of them, none
// too. Two unknowns may be joined when their groups share an element.
type Shape struct {
	Start    []int32   // len groups+1: group g has the unknowns Start[g] … Start[g+1]−1
	X, Y     []float64 // place of each group, mm; it orders the elimination, nothing else
	Elements [][]int32 // groups that each element joins
	Keep     []int32   // unknowns that are eliminated last: the interface, in the order of the condensed matrix
}

// NotPositive says that a matrix that should be positive definite is not; or, with Growth, that one which need not be can not be
// factored without exchanging pivots, since a part of it is all but singular: then another shift is wanted.
type NotPositive struct {
	Unknown int     // where it showed, numbered as in the shape
	Pivot   float64 // what was left there
	Of      float64 // the diagonal entry that it was left of
	Growth  float64 // how many times the factor outgrew the matrix; 0 when a pivot is what is wrong
}

// Error says it in words.
func (e *NotPositive) Error() string {
	if e.Growth > 0 {
		return fmt.Sprintf("a part of the matrix is all but singular: its factor grows %.3g times at unknown %d", e.Growth, e.Unknown)
	}
	return fmt.Sprintf("the matrix is not positive definite: pivot %.3g of %.3g at unknown %d", e.Pivot, e.Of, e.Unknown)
}
