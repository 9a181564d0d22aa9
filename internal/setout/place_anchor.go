package setout

import (
	"fmt"
	"math"
	"sort"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
)

// placeSagitta is how far (mm) a seat line may bend away under half the length of the parts and still count as straight.
const placeSagitta = 1.0

// placeRoundMax is the largest turn (rad) of an arc that rounds a corner: more is the round end of a slot.
const placeRoundMax = 5 * math.Pi / 6

// placeAnchor is a place that wants a station before any other: a corner, or the end of a line.
type placeAnchor struct {
	s      float64
	dirs   []float64 // of the rivet line, best first; empty: along the line
	corner bool
	lo, hi float64 // stretch of the run in which the station may move; may pass the ends of a closed run
	what   string
}

// anchors returns where stations stand first, in order along the run.
func (b *placeBoard) anchors(r *placeRun) []placeAnchor {
	var out []placeAnchor
	segs := r.segs()
	n := len(segs)
	if n == 0 {
		return nil
	}
	for i := range segs {
		k := i + 1
		if k == n {
			if !r.closed || n == 1 {
				break
			}
			k = 0
		}
		if a, ok := placeSharp(r, segs, i, k); ok {
			out = append(out, a)
		}
	}
	for i := range segs {
		if a, ok := b.rounded(r, segs, i); ok {
			out = append(out, a)
		}
	}
	if !r.closed {
		// No further from the end than a pitch, or the seam's end would be left alone.
		far := math.Min(r.length, b.pitchMax)
		out = append(out, placeAnchor{s: 0, lo: 0, hi: far, what: "the line's beginning"},
			placeAnchor{s: r.length, lo: r.length - far, hi: r.length, what: "the line's end"})
	} else if len(out) == 0 {
		out = append(out, placeAnchor{s: 0, lo: 0, hi: r.length, what: "the line's beginning"})
	}
	sort.SliceStable(out, func(i, k int) bool { return out[i].s < out[k].s })
	return out
}

// placeSharp makes the anchor of a sharp corner between two pieces of the run, if there is one: at the corner itself, the
// rivet line along the longer piece, or the shorter, or across the corner; and if none of these has room, moved along the
// longer piece.
func placeSharp(r *placeRun, segs []placeSeg, i, k int) (placeAnchor, bool) {
	t, u := segs[i].Tangent(1), segs[k].Tangent(0)
	turn := math.Atan2(t.Cross(u), t.Dot(u))
	if math.Abs(turn) < placeCornerTurn {
		return placeAnchor{}, false
	}
	a := placeAnchor{s: segs[k].from, corner: true, what: "the corner"}
	before, after := math.Atan2(t.Y, t.X), math.Atan2(u.Y, u.X)
	across := before + turn/2
	if segs[i].Length() > segs[k].Length()+placeSame {
		a.dirs = []float64{before, after, across}
		a.lo, a.hi = a.s-segs[i].Length()/2, a.s
		if k == 0 {
			a.lo, a.hi = r.length-segs[i].Length()/2, r.length
			a.s = r.length
		}
	} else {
		a.dirs = []float64{after, before, across}
		a.lo, a.hi = a.s, a.s+segs[k].Length()/2
	}
	return a, true
}

// rounded makes the anchor of a rounded corner, if segment i is one: on the straight beside it, clear of the arc by half the
// parts' length, on the longer side; or in the middle of an arc that is flat enough for the parts.
func (b *placeBoard) rounded(r *placeRun, segs []placeSeg, i int) (placeAnchor, bool) {
	g, n := segs[i], len(segs)
	if !placeRounds(r, segs, i) {
		return placeAnchor{}, false
	}
	a := placeAnchor{corner: true, what: "the rounded corner"}
	mid := (g.from + g.to) / 2
	half := b.feet[r.support(mid)].half()
	if half*half/(2*g.Radius()) <= placeSagitta {
		a.s, a.lo, a.hi = mid, g.from, g.to
		return a, true
	}
	before, after := segs[(i+n-1)%n], segs[(i+1)%n]
	if before.Length() > after.Length()+placeSame {
		a.hi = g.from - half
		if before.to > g.from+placeSame { // the straight before lies at the end of the run
			a.hi = before.to - half
		}
		a.lo = a.hi - before.Length()/2
		a.s = a.hi
	} else {
		a.lo = g.to + half
		if after.from < g.to-placeSame { // the straight after lies at its beginning
			a.lo = after.from + half
		}
		a.hi = a.lo + after.Length()/2
		a.s = a.lo
	}
	return a, true
}

// placeRounds says whether segment i is an arc that rounds a corner between two straights.
func placeRounds(r *placeRun, segs []placeSeg, i int) bool {
	n := len(segs)
	sweep := math.Abs(segs[i].Sweep())
	if !segs[i].IsArc() || sweep < placeCornerTurn || sweep > placeRoundMax {
		return false
	}
	if !r.closed && (i == 0 || i == n-1) || n < 3 {
		return false
	}
	return !segs[(i+n-1)%n].IsArc() && !segs[(i+1)%n].IsArc()
}

// bends returns the stretches of the run where the parts find no support: rounded corners that bend too much, with half the
// parts' length on either side, and the ends of a rib, as far as the foot and the rivets reach.
func (b *placeBoard) bends(r *placeRun) []placeStretch {
	var out []placeStretch
	if r.rib {
		f := b.feet[r.support(0)]
		need := f.half()
		for _, v := range f.rivets {
			need = math.Max(need, math.Abs(v.at.X)+v.need)
		}
		why := fmt.Sprintf("the end of the rib, needs %s for %s", measure.MM(need), f.parts)
		out = append(out, placeStretch{-need, need, why}, placeStretch{r.length - need, r.length + need, why})
	}
	segs := r.segs()
	for i, g := range segs {
		half := b.feet[r.support((g.from+g.to)/2)].half()
		if placeRounds(r, segs, i) && half*half/(2*g.Radius()) > placeSagitta {
			out = append(out, placeStretch{g.from - half, g.to + half, "the rounded corner"})
		}
	}
	return out
}

// placeStretch is a part of a run that is not free, and why; on a closed run it may pass the ends.
type placeStretch struct {
	lo, hi float64
	why    string
}

// inside says by how much s lies inside the stretch, taking a closed run of the given length round; 0 or less: outside.
func (t placeStretch) inside(s, length float64, closed bool) float64 {
	in := math.Min(s-t.lo, t.hi-s)
	if closed {
		for _, d := range [...]float64{-length, length} {
			in = math.Max(in, math.Min(s+d-t.lo, t.hi-s-d))
		}
	}
	return in
}

// room says whether a station may stand at s of run i: what is missing, 0 for nothing, and why.
func (b *placeBoard) room(i int, s, dir float64, bends []placeStretch) (short float64, why string) {
	r := &b.runs[i]
	at := r.point(s)
	short, why = placeRoom(b.pan.Job, b.feet[r.support(s)], at, dir)
	for _, t := range bends {
		if in := t.inside(s, r.length, r.closed); in > placeSame && in > short {
			short, why = in, t.why
		}
	}
	if d := b.nearestOther(i, s, at); b.pitchMin-d > math.Max(short, placeSame) {
		short, why = b.pitchMin-d, fmt.Sprintf("another station %s away, needs %s", measure.MM(d), measure.MM(b.pitchMin))
	}
	return short, why
}

// nearestOther is the distance to the nearest station that stands already on another run, or on a far part of the same one
// that comes back near. Neighbours along the run are judged by their pitch.
func (b *placeBoard) nearestOther(run int, s float64, at plane.Point) float64 {
	best := math.Inf(1)
	r := &b.runs[run]
	for _, q := range b.spots {
		along := math.Abs(q.s - s)
		if r.closed {
			along = math.Abs(math.Remainder(q.s-s, r.length))
		}
		if q.run != run || along > 2*b.pitchMin {
			best = math.Min(best, q.at.Dist(at))
		}
	}
	return best
}

// placeStep is the step (mm) in which a seat line is searched for room; ends of stretches are then found to placeFine.
const (
	placeStep = 2.0
	placeFine = 1e-3
)

// settle finds the free place nearest to s between lo and hi, and says whether there is one and whether two were equally
// near (tie). free must be true at every place where a station may stand.
func placeSettle(s, lo, hi float64, free func(float64) bool) (at float64, ok, tie bool) {
	s = math.Min(math.Max(s, lo), hi)
	if free(s) {
		return s, true, false
	}
	steps := int(math.Ceil(math.Max(s-lo, hi-s)/placeStep)) + 1
	for n := 1; n <= steps; n++ {
		d := float64(n) * placeStep
		down, up := math.Max(lo, s-d), math.Min(hi, s+d)
		okDown, okUp := s-d > lo-placeStep && free(down), s+d < hi+placeStep && free(up)
		if okDown {
			down = placeBisect(math.Min(s, down+placeStep), down, free)
		}
		if okUp {
			up = placeBisect(math.Max(s, up-placeStep), up, free)
		}
		switch {
		case okDown && okUp:
			if math.Abs((s-down)-(up-s)) <= 2*placeFine {
				return down, true, true
			}
			if s-down < up-s {
				return down, true, false
			}
			return up, true, false
		case okDown:
			return down, true, false
		case okUp:
			return up, true, false
		}
	}
	return s, false, false
}

// placeBisect returns the free place nearest to blocked, between a blocked place and a free one, to placeFine.
func placeBisect(blocked, open float64, free func(float64) bool) float64 {
	if free(blocked) {
		return blocked
	}
	const halvings = 40 // from any length in mm to far below placeFine
	for range halvings {
		if math.Abs(open-blocked) <= placeFine {
			break
		}
		if mid := (blocked + open) / 2; free(mid) {
			open = mid
		} else {
			blocked = mid
		}
	}
	return open
}
