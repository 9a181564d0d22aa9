package plate

import (
	"errors"
	"fmt"
	"math"

	"panelwright/internal/sparse"
)

// Compliance is the flexibility of the interface, C = (S + R)⁻¹ (mm/N), worked out once for the laws that a panel has. R are the
// slopes of the laws, the least or the wires', so that S + R holds the panel where they do at all, and a small hold against rigid
// motions, which Solve takes back. It is safe for use by several goroutines at once.
type Compliance struct {
	n    int
	s    []float64 // N/mm, n×n
	c    []float64 // mm/N, n×n
	r    []float64 // N/mm
	hold float64   // N/mm at each point, part of r
	norm float64   // N/mm, greatest sum of a row of s
	at   [][2]float64

	bound int // rounds to one settled choice of pieces
	steps int // of descent, where the rounds do not settle
}

// contactHold is the hold against rigid motions as a share of the greatest stiffness of the interface. It must stand above the
// rounding of S in its rigid motions, some 1e-15, and below every stiffness that really holds a panel.
const (
	contactHold = 1e-12
	contactNone = 1e-9
)

// NewCompliance prepares the interface s (n×n, N/mm, from Interface.S) for laws, one for each point. at are the points' places
// (mm), which only serve to say in words how a panel moves that is not held; nil leaves that out. Other laws may be solved with
// it too: those that are never softer than these are solved with less work.
func NewCompliance(s []float64, laws []Law, at [][2]float64) (*Compliance, error) {
	n := len(laws)
	if len(s) != n*n {
		panic("plate: a law for each interface point is wanted")
	}
	c := &Compliance{n: n, s: s, r: make([]float64, n), at: at, bound: contactRounds * (n + 1), steps: contactSteps * (n + 1)}
	for i, l := range laws {
		if err := l.Fault(); err != nil {
			return nil, fmt.Errorf("law of interface point %d: %w", i, err)
		}
	}
	most := 0.0
	for i := range n {
		most = max(most, s[i*n+i])
		sum := 0.0
		for _, v := range s[i*n : i*n+n] {
			sum += math.Abs(v)
		}
		c.norm = max(c.norm, sum)
	}
	stiffest := 0.0
	for _, l := range laws {
		stiffest = max(stiffest, contactStiffest(l, 0))
	}
	if most < contactNone*stiffest { // three points: the panel has no stiffness between them, only rounding
		most = stiffest
	}
	if most == 0 { // three rigid supports: any hold does
		most = 1
	}
	c.hold = contactHold * most
	for i, l := range laws {
		c.r[i] = contactReference(l) + c.hold
	}
	if err := c.invert(laws); err != nil {
		return nil, fmt.Errorf("flexibility of the interface: %w", err)
	}
	return c, nil
}

// contactReference is the slope of a law that its point is taken to have: the wire's where it pulls, otherwise the least there is.
func contactReference(l Law) float64 {
	least := math.Inf(1)
	for _, p := range contactPieces(l) {
		if !p.stop {
			least = min(least, p.k)
		}
	}
	if math.IsInf(least, 1) {
		least = 0
	}
	if !math.IsInf(l.After, -1) {
		least = max(least, -l.After)
	}
	return least
}

// contactSoft is the flexibility, over that of the stiffest point, past which the reference is taken not to hold the panel:
// figures would be lost in it. Then the point that moves most easily, of those that have anything to hold it, is taken to be
// held as well, as stiffly as its law or the panel; three do for a panel.
const (
	contactSoft  = 1e7
	contactProps = 6
)

// invert works C out, with as many points held besides as it takes.
func (c *Compliance) invert(laws []Law) (err error) {
	n := c.n
	most := c.hold / contactHold
	for props := 0; ; props++ {
		l := append([]float64(nil), c.s...)
		for i := range n {
			l[i*n+i] += c.r[i]
		}
		soft := func(i int) float64 { return c.s[i*n+i] + most } // no figures: the stiffest point
		if err = sparse.Cholesky(l, n); err == nil {
			c.c = contactInverse(l, n)
			soft = func(i int) float64 { return c.c[i*n+i] - contactSoft/most }
		}
		prop := -1
		for i := range n {
			if v := soft(i); v > 0 && min(contactStiffest(laws[i], most), most) > 2*c.r[i] && (prop < 0 || v > soft(prop)) {
				prop = i
			}
		}
		if prop < 0 || props == contactProps {
			return err
		}
		c.r[prop] = min(contactStiffest(laws[prop], most), most) + c.hold
	}
}

// contactStiffest is the greatest slope of a law; that of a stop is as great as asked.
func contactStiffest(l Law, stop float64) (k float64) {
	for _, p := range contactPieces(l) {
		if p.stop {
			k = max(k, stop)
		} else {
			k = max(k, p.k)
		}
	}
	return k
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
// of rounds, or where stiffnesses lie too far apart for the arithmetic.
func (c *Compliance) Solve(f []float64, laws []Law, start *Answer) (*Answer, error) {
	a, err := c.solve(f, laws, start)
	var late *NotConverged
	if start != nil && errors.As(err, &late) { // another beginning rounds otherwise
		return c.solve(f, laws, nil)
	}
	return a, err
}

func (c *Compliance) solve(f []float64, laws []Law, start *Answer) (*Answer, error) {
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
		r.shut = max(r.shut, math.Abs(f[i]), contactShut(l))
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

// contactShut is the magnitude of a law's force at w = 0, or at the stop nearest to it, what stops add left out.
func contactShut(l Law) float64 {
	if len(l.Knots) == 0 {
		return 0
	}
	w := 0.0
	if math.IsInf(l.Before, -1) {
		w = max(w, l.Knots[0].W)
	}
	if math.IsInf(l.After, -1) {
		w = min(w, l.Knots[len(l.Knots)-1].W)
	}
	least, most := l.finite(w)
	return max(math.Abs(least), math.Abs(most))
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
