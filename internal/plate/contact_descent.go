package plate

import (
	"cmp"
	"math"
	"slices"
)

// The energy ½·wᵀ(S + hold)w − f·w + Σφ(w), φ the laws' potentials, is strictly convex with the hold. Descent goes to its least
// value: from where all points are, towards where their pieces would be in balance, as far as the energy falls; from a balance, one
// stop that must lets go. The energy falls with each step and there are finitely many choices of pieces, so none that is in balance
// comes twice, whatever the laws.

// descend finds the pieces on which all points stand where changing them by the count of those that do not has not.
func (r *contactRun) descend() error {
	n := r.c.n
	at := make([]float64, n)
	for i := range n {
		list := r.pieces[i]
		at[i] = r.w[i]
		if p := list[0]; p.stop {
			at[i] = max(at[i], p.w0)
		}
		if p := list[len(list)-1]; p.stop {
			at[i] = min(at[i], p.w0)
		}
		r.on[i] = contactFind(list, at[i])
	}
	d, rest := make([]float64, n), make([]float64, n)
	for range r.c.steps {
		r.rounds++
		if err := r.solve(); err != nil {
			return err
		}
		for range contactRefine {
			if err := r.refine(r.c.hold); err != nil {
				return err
			}
		}
		if r.off() == 0 {
			return nil
		}
		sw, sf := r.slack()
		far := 0.0
		for i := range d {
			d[i] = r.w[i] - at[i]
			far = max(far, math.Abs(d[i]))
		}
		if far <= sw {
			if !r.release(sw, sf) {
				return nil
			}
			continue
		}
		r.line(at, d, rest)
	}
	res, _ := r.residual()
	return r.lost(res / max(r.forceScale(), math.SmallestNonzeroFloat64))
}

// release lets the stop go that must most; false when none must.
func (r *contactRun) release(sw, sf float64) bool {
	best, most := -1, 0.0
	for i := range r.w {
		p := &r.pieces[i][r.on[i]]
		if !p.stop || r.step(i, sw, sf) == 0 {
			continue
		}
		if v := max(r.g[i]-p.hi, p.lo-r.g[i]); v > most {
			best, most = i, v
		}
	}
	if best < 0 {
		return false
	}
	r.on[best] += int32(r.step(best, sw, sf))
	return true
}

// contactBreak is where, on the way, a point comes to the end of its piece.
type contactBreak struct {
	t  float64
	at int
}

// line moves at along d to the least energy on the way, and each point's piece with it.
func (r *contactRun) line(at, d, q []float64) {
	n := r.c.n
	// Slope of the energy along the way: slope + bend·t, laws included as their pieces change.
	slope, bend := 0.0, 0.0
	var ends []contactBreak
	for i := range n {
		row := r.c.s[i*n : i*n+n]
		slope += d[i] * (contactDot(row, at) - r.f[i] + r.c.hold*(at[i]-r.prev[i]))
		bend += d[i] * (contactDot(row, d) + r.c.hold*d[i])
		p := &r.pieces[i][r.on[i]]
		if p.stop || d[i] == 0 {
			continue
		}
		slope -= d[i] * (p.c - p.k*at[i])
		bend += d[i] * p.k * d[i]
		ends = contactEnds(ends, r.pieces[i], int(r.on[i]), i, at[i], d[i])
	}
	slices.SortStableFunc(ends, func(a, b contactBreak) int { return cmp.Compare(a.t, b.t) })
	t := -1.0
	stopped := -1
	for _, e := range ends {
		if !(slope+bend*e.t < 0) {
			break
		}
		// Past the end of its piece the point's force is another.
		i := e.at
		old := r.pieces[i][r.on[i]]
		way := int32(1)
		if d[i] < 0 {
			way = -1
		}
		next := r.pieces[i][r.on[i]+way]
		if next.stop {
			here := slope + bend*e.t
			jump := math.Inf(1)
			if k := r.on[i] + 2*way; k >= 0 && int(k) < len(r.pieces[i]) {
				jump = math.Abs(d[i]) * (next.hi - next.lo)
			}
			if !(here+jump < 0) {
				r.on[i] += way
				t, stopped = e.t, i
				break
			}
			r.on[i] += way
			next = r.pieces[i][r.on[i]+way]
		}
		r.on[i] += way
		slope += d[i] * ((old.c - old.k*at[i]) - (next.c - next.k*at[i]))
		bend += d[i] * d[i] * (next.k - old.k)
	}
	if t < 0 {
		t = max(-slope/bend, 0)
	}
	for i := range at {
		at[i] += t * d[i]
		p := &r.pieces[i][r.on[i]]
		switch {
		case p.stop, i == stopped:
			at[i] = p.w0
		default:
			at[i] = min(max(at[i], p.w0), p.w1)
		}
	}
}

// contactEnds appends where on its way a point passes the ends of pieces, stops once.
func contactEnds(ends []contactBreak, list []contactPiece, on, i int, at, d float64) []contactBreak {
	if d > 0 {
		for k := on; k < len(list)-1; k++ {
			if list[k].stop {
				continue
			}
			ends = append(ends, contactBreak{max((list[k].w1-at)/d, 0), i})
		}
		return ends
	}
	for k := on; k > 0; k-- {
		if list[k].stop {
			continue
		}
		ends = append(ends, contactBreak{max((list[k].w0-at)/d, 0), i})
	}
	return ends
}
