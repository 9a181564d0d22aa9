package plate

import (
	"fmt"
	"math"

	"panelwright/internal/sparse"
)

// Compliance is the flexibility of the interface, C = (S + R)⁻¹ (mm/N), worked out once for the laws that a panel has. R are the
// least slopes of the laws, so that S + R holds the panel where they do at all, and a small hold against rigid motions, which
// Solve takes back. It is safe for use by several goroutines at once.
type Compliance struct {
	n    int
	s    []float64 // N/mm, n×n
	c    []float64 // mm/N, n×n
	r    []float64 // N/mm
	hold float64   // N/mm at each point, part of r
	at   [][2]float64
}

// contactHold is the hold against rigid motions as a share of the greatest stiffness of the interface. It must stand above the
// rounding of S in its rigid motions, some 1e-15, and below every stiffness that really holds a panel.
const contactHold = 1e-12

// NewCompliance prepares the interface s (n×n, N/mm, from Interface.S) for laws, one for each point. at are the points' places
// (mm), which only serve to say in words how a panel moves that is not held; nil leaves that out. Other laws may be solved with
// it too: those that are never softer than these are solved with less work.
func NewCompliance(s []float64, laws []Law, at [][2]float64) (*Compliance, error) {
	n := len(laws)
	if len(s) != n*n {
		panic("plate: a law for each interface point is wanted")
	}
	c := &Compliance{n: n, s: s, r: make([]float64, n), at: at}
	most := 0.0
	for i := range n {
		most = max(most, s[i*n+i])
	}
	if most == 0 {
		for _, l := range laws { // a panel without stiffness between its points: one point
			for _, p := range contactPieces(l) {
				most = max(most, p.k)
			}
		}
	}
	c.hold = contactHold * most
	if n > 0 && c.hold == 0 {
		return nil, &NotHeld{Reason: "neither the panel nor any law has stiffness"}
	}
	for i, l := range laws {
		if err := l.Fault(); err != nil {
			return nil, fmt.Errorf("law of interface point %d: %w", i, err)
		}
		least := math.Inf(1)
		for _, p := range contactPieces(l) {
			if !p.stop {
				least = min(least, p.k)
			}
		}
		if math.IsInf(least, 1) {
			least = 0
		}
		c.r[i] = least + c.hold
	}
	l := append([]float64(nil), s...)
	for i := range n {
		l[i*n+i] += c.r[i]
	}
	if err := sparse.Cholesky(l, n); err != nil {
		return nil, fmt.Errorf("flexibility of the interface: %w", err)
	}
	c.c = contactInverse(l, n)
	return c, nil
}

// contactInverse turns a Cholesky factor into the inverse, whole.
func contactInverse(l []float64, n int) []float64 {
	inv := make([]float64, n*n)
	for j := range n {
		inv[j*n+j] = 1
	}
	sparse.CholeskySolve(l, n, inv, n)
	for j := range n {
		for i := range j {
			m := (inv[j*n+i] + inv[i*n+j]) / 2
			inv[j*n+i], inv[i*n+j] = m, m
		}
	}
	return inv
}

// Solve finds w with S·w = f + F(w): f (N) the condensed load, laws one for each point. Start, when not nil, is an answer to begin
// from; it changes the work, not the answer beyond rounding. *NotHeld when nothing stops a motion, *NotConverged past the bound
// of rounds.
func (c *Compliance) Solve(f []float64, laws []Law, start *Answer) (*Answer, error) {
	n := c.n
	if len(f) != n || len(laws) != n {
		panic("plate: a load and a law for each interface point are wanted")
	}
	r := &contactRun{c: c, f: f, pieces: make([][]contactPiece, n), on: make([]int32, n), prev: make([]float64, n), w: make([]float64, n), g: make([]float64, n), b: make([]float64, n), base: make([]float64, n)}
	for i, l := range laws {
		if err := l.Fault(); err != nil {
			return nil, fmt.Errorf("law of interface point %d: %w", i, err)
		}
		r.pieces[i] = contactPieces(l)
		w := 0.0
		if start != nil {
			w = start.W[i]
		}
		r.on[i] = contactFind(r.pieces[i], w)
		if start != nil && int(start.Piece[i]) < len(r.pieces[i]) {
			if p := r.pieces[i][start.Piece[i]]; w >= p.w0 && w <= p.w1 {
				r.on[i] = start.Piece[i]
			}
		}
	}
	if start != nil {
		copy(r.prev, start.W)
	}
	return r.run()
}

// contactFind is the piece that holds w, a stop rather than its neighbours.
func contactFind(list []contactPiece, w float64) int32 {
	best := 0
	for i, p := range list {
		if w >= p.w0 && w <= p.w1 {
			if p.stop {
				return int32(i)
			}
			best = i
		}
	}
	if w < list[0].w0 {
		return 0
	}
	if last := len(list) - 1; w > list[last].w1 {
		return int32(last)
	}
	return int32(best)
}
