package plate

import (
	"math"
)

// The bounds of the iteration. Blocks of points change their piece together while that helps; when it has not for
// contactPatience rounds, one point at a time does, the first that must, which ends for laws of two pieces [murty74] [judice94].
// Past contactRounds, descent takes over.
const (
	contactPatience = 10
	contactRounds   = 60 // with as many again for each interface point
	contactSteps    = 20 // of descent, likewise
	contactProximal = 40 // steps that take the hold back
	contactRefine   = 3  // refinements of each choice of pieces once one point at a time changes: rounding must not send it in circles
	contactClose    = 1e-11
	contactWorst    = 2e-10 // where rounding leaves more: several points together must stay within what a certificate allows
)

// contactRun is one solution at work.
type contactRun struct {
	c      *Compliance
	f      []float64
	pieces [][]contactPiece
	on     []int32
	prev   []float64 // where the hold's springs are slack
	first  []float64 // where it began
	w, g   []float64 // answer; total force at each point by its piece
	set    []int32   // points whose piece is not the reference's
	b, y   []float64
	base   []float64 // C·b
	mat    []float64
	v, d   []float64 // out of balance, and what it moves
	shut   float64   // N, greatest load, and force of a law at w = 0
	rounds int

	definite bool // mat holds a factor
}

// run takes the hold back step by step: each step's springs are slack where the step before ended [rockafellar76]. Where the
// laws hold the panel, the first step is nearly the answer; where nothing does, the steps never end, and say where it goes.
func (r *contactRun) run() (*Answer, error) {
	r.first = append(r.first, r.prev...)
	last := math.Inf(1)
	for step := range contactProximal {
		if err := r.settle(); err != nil {
			return nil, err
		}
		copy(r.prev, r.w)
		r.balance(0)
		res, most, err := r.improve()
		if err != nil {
			return nil, err
		}
		switch off := r.off(); {
		case off == 0 && res <= most:
			return r.answer(res / max(r.forceScale(), math.SmallestNonzeroFloat64)), nil
		case off == 0 && step > 3 && res > 0.9*last:
			return nil, r.loose(res)
		}
		last = res
	}
	res, _ := r.residual()
	return nil, r.loose(res)
}

// contactStuck is the share of the loads out of balance below which it is rounding that stands in the way, and no motion.
const contactStuck = 1e-6

// loose says why the steps do not end: nothing holds the panel, where it can go one way that nothing ends; otherwise stiffnesses
// lie too far apart.
func (r *contactRun) loose(res float64) error {
	load := r.load()
	if res < contactStuck*load {
		return &NotConverged{Iterations: r.rounds, Residual: res / load}
	}
	for _, from := range [][]float64{r.prev, r.first} {
		if d := r.way(from); r.endless(d) {
			return r.notHeld(d)
		}
	}
	return r.lost(res / max(load, math.SmallestNonzeroFloat64))
}

// lost looks for a motion that nothing ends before it says that there is no answer for want of figures.
func (r *contactRun) lost(residual float64) error {
	if d := r.extreme(); d != nil {
		return r.notHeld(d)
	}
	if math.IsNaN(residual) {
		residual = math.Inf(1)
	}
	return &NotConverged{Iterations: r.rounds, Residual: residual}
}

// load is the greatest of the loads and of the forces at the points.
func (r *contactRun) load() (f float64) {
	for i := range r.f {
		f = max(f, math.Abs(r.f[i]), math.Abs(r.g[i]))
	}
	return f
}

// improve refines until the residual is nothing beside the forces, or no longer falls, or a point must leave its piece.
func (r *contactRun) improve() (res, most float64, err error) {
	res, most = r.residual()
	for range contactProximal {
		if res <= contactClose*r.load() || r.off() > 0 {
			break
		}
		copy(r.prev, r.w)
		if err := r.refine(0); err != nil {
			return 0, 0, err
		}
		last := res
		if res, most = r.residual(); res > 0.9*last {
			break
		}
	}
	return res, most, nil
}

// forceScale is the greatest force about: loads, what the laws give where the panel is shut, what they give now. It may be that all
// forces of the last kind are nothing: a seal that lifts the panel until its push is the wires' pull.
func (r *contactRun) forceScale() float64 {
	s := r.shut
	for _, g := range r.g {
		s = max(s, math.Abs(g))
	}
	return s
}

// residual is the greatest force out of balance against S itself, the hold left out, and how great it may be: rounding, of the
// forces and of the sums that they are. Stops take what is left.
func (r *contactRun) residual() (worst, most float64) {
	n := r.c.n
	for i := range n {
		if r.pieces[i][r.on[i]].stop {
			continue
		}
		row := r.c.s[i*n : i*n+n]
		v := r.f[i] + r.g[i] - contactDot(row, r.w)
		worst = max(worst, math.Abs(v))
	}
	scale := r.forceScale()
	return worst, min(contactClose*scale+r.noise(), contactWorst*scale)
}

// noise is the rounding in S·w and in the laws.
func (r *contactRun) noise() float64 {
	w, law := 0.0, 0.0
	for i, v := range r.w {
		w = max(w, math.Abs(v))
		if p := &r.pieces[i][r.on[i]]; !p.stop {
			law = max(law, math.Abs(p.c)+math.Abs(p.k*v))
		}
	}
	return 4 * 0x1p-53 * (r.c.norm*w + law)
}

// settle finds the pieces on which all points stand.
func (r *contactRun) settle() error {
	best, patience := math.MaxInt, contactPatience
	for range r.c.bound {
		r.rounds++
		if err := r.solve(); err != nil {
			return err
		}
		for range contactRefine {
			if patience > 0 {
				break
			}
			if err := r.refine(r.c.hold); err != nil {
				return err
			}
		}
		off := r.off()
		if off == 0 {
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
	return r.descend()
}

// contactSlack is how far, relative to the greatest w or force about, a point may stand off its piece: rounding.
const contactSlack = 1e-11

// slack returns what counts as nothing in w and in force.
func (r *contactRun) slack() (w, f float64) {
	for _, v := range r.w {
		w = max(w, math.Abs(v))
	}
	f = r.forceScale()
	return contactSlack * w, min(contactSlack*f+r.noise(), contactWorst*f)
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
	on := r.on[i]
	p := &r.pieces[i][on]
	switch {
	case p.stop && r.g[i] > p.hi+sf, !p.stop && r.w[i] < p.w0 && p.w0-r.w[i] > r.reach(i, on-1, sw, sf):
		return -1
	case p.stop && r.g[i] < p.lo-sf, !p.stop && r.w[i] > p.w1 && r.w[i]-p.w1 > r.reach(i, on+1, sw, sf):
		return 1
	}
	return 0
}

// reach is how far point i may stand on the piece next: no farther than makes sf of difference between the two.
func (r *contactRun) reach(i int, next int32, sw, sf float64) float64 {
	p, q := &r.pieces[i][r.on[i]], &r.pieces[i][next]
	if q.stop {
		return sw
	}
	return max(sw*(0x1p-50/contactSlack), min(sw, sf/math.Abs(p.k-q.k)))
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

func (r *contactRun) answer(residual float64) *Answer {
	return &Answer{W: r.w, Force: r.g, Piece: r.on, Iterations: r.rounds, Residual: residual}
}
