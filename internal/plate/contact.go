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

// The bounds of the iteration. Blocks of points change their piece together while that helps; when it has not for
// contactPatience rounds, one point at a time does, the first that must, which ends for any positive definite system
// [murty74] [judice94].
const (
	contactPatience = 10
	contactRounds   = 60 // with as many again for each interface point
	contactProximal = 40 // steps that take the hold back
	contactClose    = 1e-11
)

// contactRun is one solution at work.
type contactRun struct {
	c      *Compliance
	f      []float64
	pieces [][]contactPiece
	on     []int32
	prev   []float64 // where the hold's springs are slack
	w, g   []float64 // answer; total force at each point by its piece
	set    []int32   // points whose piece is not the reference's
	b, y   []float64
	base   []float64 // C·b
	mat    []float64
	rounds int
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

// run takes the hold back step by step: each step's springs are slack where the step before ended [rockafellar76]. Where the
// laws hold the panel, the first step is nearly the answer; where nothing does, the steps never end, and say where it goes.
func (r *contactRun) run() (*Answer, error) {
	scale := r.forceScale()
	last := math.Inf(1)
	for step := range contactProximal {
		if err := r.settle(); err != nil {
			return nil, err
		}
		res := r.residual()
		if s := r.forceScale(); s > scale {
			scale = s
		}
		if scale == 0 || res <= contactClose*scale {
			return r.answer(res / max(scale, math.SmallestNonzeroFloat64)), nil
		}
		if step > 3 && res > 0.9*last {
			break
		}
		last = res
		copy(r.prev, r.w)
	}
	if last <= 1e-9*scale {
		return r.answer(last / scale), nil
	}
	return nil, r.notHeld()
}

// forceScale is the greatest force about.
func (r *contactRun) forceScale() float64 {
	s := 0.0
	for i, f := range r.f {
		s = max(s, math.Abs(f), math.Abs(r.g[i]))
	}
	return s
}

// residual is the greatest force out of balance against S itself, the hold left out; stops take what is left.
func (r *contactRun) residual() float64 {
	n, worst := r.c.n, 0.0
	for i := range n {
		p := &r.pieces[i][r.on[i]]
		if p.stop {
			continue
		}
		v := r.f[i] + r.g[i] - contactDot(r.c.s[i*n:i*n+n], r.w)
		worst = max(worst, math.Abs(v))
	}
	return worst
}

// settle finds the pieces on which all points stand.
func (r *contactRun) settle() error {
	best, patience := math.MaxInt, contactPatience
	bound := contactRounds + contactRounds*r.c.n
	for range bound {
		r.rounds++
		if err := r.solve(); err != nil {
			return err
		}
		off := r.off()
		if off == 0 {
			r.settled()
			return nil
		}
		switch {
		case off < best:
			best, patience = off, contactPatience
		case patience > 0:
			patience--
		}
		r.move(patience == 0)
	}
	return &NotConverged{Iterations: r.rounds, Residual: r.residual() / max(r.forceScale(), math.SmallestNonzeroFloat64)}
}

// contactSlack is how far, relative to the greatest w or force about, a point may stand off its piece: rounding.
const contactSlack = 1e-11

// slack returns what counts as nothing in w and in force.
func (r *contactRun) slack() (w, f float64) {
	for i := range r.w {
		w, f = max(w, math.Abs(r.w[i])), max(f, math.Abs(r.g[i]), math.Abs(r.f[i]))
	}
	return contactSlack * w, contactSlack * f
}

// off counts the points that do not stand on their piece.
func (r *contactRun) off() int {
	n := 0
	sw, sf := r.slack()
	for i := range r.w {
		if r.step(i, sw, sf) != 0 {
			n++
		}
	}
	return n
}

// step says to which side point i must leave its piece: −1, 0 or +1.
func (r *contactRun) step(i int, sw, sf float64) int {
	p := &r.pieces[i][r.on[i]]
	switch {
	case p.stop && r.g[i] > p.hi+sf, !p.stop && r.w[i] < p.w0-sw:
		return -1
	case p.stop && r.g[i] < p.lo-sf, !p.stop && r.w[i] > p.w1+sw:
		return 1
	}
	return 0
}

// move puts points on other pieces: all that must, as far as the next stop, or the first that must, by one.
func (r *contactRun) move(single bool) {
	sw, sf := r.slack()
	for i := range r.w {
		d := r.step(i, sw, sf)
		if d == 0 {
			continue
		}
		r.on[i] += int32(d)
		for !single && !r.pieces[i][r.on[i]].stop && r.step(i, sw, sf) == d {
			r.on[i] += int32(d)
		}
		if single {
			return
		}
	}
}

// solve finds w and the forces with every point on its present piece, by the flexibility: only points whose piece differs from
// the reference make a system, and only points whose piece changed since move the rest.
func (r *contactRun) solve() error {
	c, n := r.c, r.c.n
	r.set = r.set[:0]
	for i := range n {
		p := &r.pieces[i][r.on[i]]
		b := r.f[i] + c.hold*r.prev[i]
		if !p.stop {
			b += p.c
		}
		if p.stop || p.k+c.hold != c.r[i] {
			r.set = append(r.set, int32(i))
		}
		if d := b - r.b[i]; d != 0 {
			r.b[i] = b
			contactAdd(d, c.c[i*n:i*n+n], r.base)
		}
	}
	copy(r.w, r.base)
	if err := r.correct(); err != nil {
		return err
	}
	r.forces()
	return nil
}

// contactAdd adds f·x to y.
func contactAdd(f float64, x, y []float64) {
	y = y[:len(x)]
	for i, v := range x {
		y[i] += f * v
	}
}

// correct adds what the points of the set do beyond the reference: w = C·b + C_A·y with (C_AA + 1/d)·y = what they lack.
func (r *contactRun) correct() error {
	m := len(r.set)
	if m == 0 {
		return nil
	}
	n := r.c.n
	if cap(r.mat) < m*m {
		r.mat = make([]float64, m*m)
	}
	mat := r.mat[:m*m]
	r.y = append(r.y[:0], make([]float64, m)...)
	definite := true
	for a, i := range r.set {
		row := r.c.c[int(i)*n : int(i)*n+n]
		for k, j := range r.set {
			mat[a*m+k] = row[j]
		}
		p := &r.pieces[i][r.on[i]]
		if p.stop {
			r.y[a] = p.w0 - r.w[i]
			continue
		}
		d := p.k + r.c.hold - r.c.r[i]
		mat[a*m+a] += 1 / d
		r.y[a] = -r.w[i]
		definite = definite && d > 0
	}
	if !definite || sparse.Cholesky(mat, m) != nil {
		return r.correctPlain(mat)
	}
	sparse.CholeskySolve(mat, m, r.y, 1)
	r.spread()
	return nil
}

// correctPlain solves the small system where it is not positive definite: laws softer than the reference, a station left out.
func (r *contactRun) correctPlain(mat []float64) error {
	m, n := len(r.set), r.c.n
	for a, i := range r.set {
		for k, j := range r.set {
			mat[a*m+k] = r.c.c[int(i)*n+int(j)]
		}
		if p := &r.pieces[i][r.on[i]]; !p.stop {
			mat[a*m+a] += 1 / (p.k + r.c.hold - r.c.r[i])
		}
	}
	if !contactEliminate(mat, r.y, m) {
		return r.notHeld()
	}
	r.spread()
	return nil
}

// spread adds C_A·y to w.
func (r *contactRun) spread() {
	n := r.c.n
	for a, i := range r.set {
		contactAdd(r.y[a], r.c.c[int(i)*n:int(i)*n+n], r.w)
	}
	for _, i := range r.set {
		if p := &r.pieces[i][r.on[i]]; p.stop {
			r.w[i] = p.w0
		}
	}
}

// forces works out the force at each point on its piece. At a stop it is what the correction gave, less the hold's springs.
func (r *contactRun) forces() {
	for i, on := range r.on {
		if p := &r.pieces[i][on]; !p.stop {
			r.g[i] = p.c - p.k*r.w[i]
		}
	}
	for a, i := range r.set {
		if p := &r.pieces[i][r.on[i]]; p.stop {
			r.g[i] = r.y[a] + r.c.hold*r.prev[i] - r.c.r[i]*r.w[i]
		}
	}
}

// settled puts rounding right where all points stand: at a stop the force is what balance against S itself asks for, and what is
// taken up by the base is summed anew.
func (r *contactRun) settled() {
	n := r.c.n
	for i, on := range r.on {
		if r.pieces[i][on].stop {
			r.g[i] = contactDot(r.c.s[i*n:i*n+n], r.w) - r.f[i]
		}
	}
}

func (r *contactRun) answer(residual float64) *Answer {
	return &Answer{W: r.w, Force: r.g, Piece: r.on, Iterations: r.rounds, Residual: residual}
}

// notHeld says how the panel goes: the rigid motion nearest to where the last step went.
func (r *contactRun) notHeld() *NotHeld {
	e := &NotHeld{Reason: "nothing stops it under this load"}
	if r.c.at == nil {
		return e
	}
	d := make([]float64, r.c.n)
	for i := range d {
		d[i] = r.w[i] - r.prev[i]
	}
	motion, ok := contactPlane(r.c.at, d)
	if !ok {
		return e
	}
	e.Motion = motion
	up, down := 0, 0
	most := 0.0
	for _, p := range r.c.at {
		most = max(most, math.Abs(motion[0]+motion[1]*p[0]+motion[2]*p[1]))
	}
	for _, p := range r.c.at {
		switch v := motion[0] + motion[1]*p[0] + motion[2]*p[1]; {
		case v > 1e-3*most:
			up++
		case v < -1e-3*most:
			down++
		}
	}
	switch {
	case down == 0:
		e.Reason = "it lifts off: the load pulls it outwards and no station holds it"
	case up == 0:
		e.Reason = "it falls through: the load presses it inwards and no support is under it"
	default:
		e.Reason = "it tips: the stations and supports left under the load stand on one line, or on one side of it"
	}
	return e
}

func contactDot(x, y []float64) float64 {
	y = y[:len(x)]
	var a, b, c, d float64
	i := 0
	for ; i+3 < len(x); i += 4 {
		a += x[i] * y[i]
		b += x[i+1] * y[i+1]
		c += x[i+2] * y[i+2]
		d += x[i+3] * y[i+3]
	}
	for ; i < len(x); i++ {
		a += x[i] * y[i]
	}
	return (a + b) + (c + d)
}

// contactEliminate solves a·x = b in place by elimination with row interchanges; false when a is singular to rounding.
func contactEliminate(a, b []float64, n int) bool {
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
				p = i
			}
		}
		if !(math.Abs(a[p*n+k]) > 0) {
			return false
		}
		if p != k {
			for j := k; j < n; j++ {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
			b[k], b[p] = b[p], b[k]
		}
		top := a[k*n+k+1 : k*n+n]
		for i := k + 1; i < n; i++ {
			f := a[i*n+k] / a[k*n+k]
			if f == 0 {
				continue
			}
			row := a[i*n+k+1 : i*n+n][:len(top)]
			for j, v := range top {
				row[j] -= f * v
			}
			b[i] -= f * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		b[k] = (b[k] - contactDot(a[k*n+k+1:k*n+n], b[k+1:n])) / a[k*n+k]
	}
	return true
}

// contactPlane fits m0 + m1·x + m2·y to values at places by least squares; false when the places do not tell.
func contactPlane(at [][2]float64, d []float64) (m [3]float64, ok bool) {
	var a [9]float64
	for i, p := range at {
		v := [3]float64{1, p[0], p[1]}
		for j := range 3 {
			for k := range 3 {
				a[3*j+k] += v[j] * v[k]
			}
			m[j] += v[j] * d[i]
		}
	}
	if len(at) < 3 || !contactEliminate(a[:], m[:], 3) {
		return [3]float64{}, false
	}
	for _, v := range m {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return [3]float64{}, false
		}
	}
	return m, true
}
