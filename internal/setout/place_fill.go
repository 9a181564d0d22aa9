package setout

import (
	"fmt"
	"math"
	"sort"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
)

// placeSpan is the way between two neighbouring stations that stand already, and how many more stand between them.
type placeSpan struct {
	run    int
	lo, hi float64 // on the run; hi may pass the end of a closed one
	least  int     // stations between that the greatest pitch needs
	count  int
}

func (s placeSpan) length() float64 { return s.hi - s.lo }

// layOut sets out the stations of modes auto, count and pitch.
func (b *placeBoard) layOut() {
	spans := b.anchorsAndSpans()
	if b.pan.Job.Stations.Mode == "count" {
		b.distribute(spans)
	}
	asked := b.pan.Job.Stations.Mode == "count"
	for _, s := range spans {
		if !b.runs[s.run].rib {
			b.fill(s, asked)
		}
	}
	b.ribsAgain(spans, asked)
}

// anchorsAndSpans places corners and ends of all runs and returns the spans between.
func (b *placeBoard) anchorsAndSpans() []placeSpan {
	var spans []placeSpan
	for i := range b.runs {
		if name := b.covered(i); name != "" {
			line := b.runs[i].lines[0].Support.Name
			b.faults = append(b.faults, fmt.Sprintf("keep-out %s covers the whole seat line of %s: no station can stand there; make the keep-out smaller, or support the panel elsewhere", name, line))
			continue
		}
		spans = append(spans, b.anchorRun(i)...)
	}
	return spans
}

// covered names the keep-out that covers all of run i, "" when none does.
func (b *placeBoard) covered(i int) string {
	r := &b.runs[i]
	return b.covering(i, 0, r.length)
}

// covering names the keep-out inside which the run lies all the way from lo to hi, "" when there is none.
func (b *placeBoard) covering(i int, lo, hi float64) string {
	r, n := &b.runs[i], max(1, int(math.Ceil((hi-lo)/placeStep)))
	for _, k := range b.pan.Job.KeepOuts {
		all := true
		for step := 0; step <= n && all; step++ {
			all = k.Region.Contains(r.point(lo+(hi-lo)*float64(step)/float64(n))) != plane.Outside
		}
		if all {
			return k.Name
		}
	}
	return ""
}

// anchorRun places the corners and ends of run i and returns the spans between them.
func (b *placeBoard) anchorRun(i int) []placeSpan {
	r := &b.runs[i]
	bends := b.bends(r)
	before := len(b.spots)
	for _, a := range b.anchors(r) {
		if s, ok := b.anchorSpot(i, a, bends); ok {
			b.spots = append(b.spots, s)
		}
	}
	spots := append([]placeSpot(nil), b.spots[before:]...)
	b.spots = b.spots[:before]
	spots = b.thin(i, spots, bends)
	b.spots = append(b.spots, spots...)
	return b.spansBetween(i, spots)
}

// spansBetween returns the spans between neighbouring spots of run i.
func (b *placeBoard) spansBetween(i int, spots []placeSpot) []placeSpan {
	r := &b.runs[i]
	var spans []placeSpan
	for k := range spots {
		s := placeSpan{run: i, lo: spots[k].s}
		switch {
		case k+1 < len(spots):
			s.hi = spots[k+1].s
		case r.closed:
			s.hi = spots[0].s + r.length
		default:
			continue
		}
		if !math.IsInf(b.pitchMax, 1) {
			s.least = max(0, int(math.Ceil(s.length()/b.pitchMax-1e-9))-1)
		} else if r.closed && len(spots) == 1 {
			s.least = 1
		}
		s.count = s.least
		spans = append(spans, s)
	}
	return spans
}

// anchorSpot finds room for one anchor: at its own place in one of its directions, else moved along its stretch.
func (b *placeBoard) anchorSpot(i int, a placeAnchor, bends []placeStretch) (placeSpot, bool) {
	r := &b.runs[i]
	spot := placeSpot{run: i, s: a.s, corner: a.corner}
	put := func(s, dir float64) (placeSpot, bool) {
		if r.closed {
			if s = math.Mod(s, r.length); s < 0 {
				s += r.length
			}
			if r.length-s <= placeSame {
				s = 0
			}
		}
		spot.s, spot.at, spot.dir, spot.support = s, r.point(s), dir, r.support(s)
		return spot, true
	}
	dirs := a.dirs
	if len(dirs) == 0 {
		dirs = []float64{r.dir(math.Min(math.Max(a.s, 0), r.length))}
		if r.closed {
			dirs[0] = r.dir(a.s)
		}
	}
	for _, d := range dirs {
		if short, _ := b.room(i, a.s, d, bends); short == 0 {
			return put(a.s, d)
		}
	}
	free := func(s float64) bool { short, _ := b.room(i, s, r.dir(s), bends); return short == 0 }
	if s, ok, _ := placeSettle(a.s, a.lo, a.hi, free); ok {
		return put(s, r.dir(s))
	}
	short, why := b.room(i, a.s, dirs[0], bends)
	at := r.point(a.s)
	what := "a rib"
	if r.support(a.s) != nil {
		what = r.support(a.s).Name
	}
	if name := b.covering(i, a.lo, a.hi); name != "" {
		b.faults = append(b.faults, fmt.Sprintf("no room for a station at %s of %s near (%s, %s): keep-out %s covers the line there for %s; make the keep-out smaller, or give the stations",
			a.what, what, measure.MM(at.X), measure.MM(at.Y), name, measure.MM(a.hi-a.lo)))
		return spot, false
	}
	b.faults = append(b.faults, fmt.Sprintf("no room for a station at %s of %s near (%s, %s): %s; %s more would do",
		a.what, what, measure.MM(at.X), measure.MM(at.Y), why, measure.MM(short)))
	return spot, false
}

// thin joins anchors that stand nearer to each other than the least pitch into one in their middle.
func (b *placeBoard) thin(i int, spots []placeSpot, bends []placeStretch) []placeSpot {
	r := &b.runs[i]
	sort.SliceStable(spots, func(x, y int) bool { return spots[x].s < spots[y].s })
	for range spots { // each round joins two, so there are no more rounds than spots
		n := len(spots)
		last := n - 1
		if r.closed && n > 2 {
			last = n
		}
		done := true
		for k := 0; k < last; k++ {
			p, q := spots[k], spots[(k+1)%n]
			if p.at.Dist(q.at) >= b.pitchMin-placeSame {
				continue
			}
			hi := q.s
			if hi < p.s {
				hi += r.length
			}
			mid := (p.s + hi) / 2
			free := func(s float64) bool { short, _ := b.room(i, s, r.dir(s), bends); return short == 0 }
			s, ok, _ := placeSettle(mid, p.s, hi, free)
			if !ok {
				s = p.s
			}
			b.notes = append(b.notes, fmt.Sprintf("%s, %s: two end stations %s apart become one, the least pitch is %s", b.pan.Job.Name,
				r.support(s).Name, measure.MM(p.at.Dist(q.at)), measure.MM(b.pitchMin)))
			one := placeSpot{run: i, s: math.Mod(s, r.length), corner: p.corner && q.corner, at: r.point(s), dir: r.dir(s), support: r.support(s)}
			if !ok {
				one = p
			}
			spots[k] = one
			spots = append(spots[:(k+1)%n], spots[(k+1)%n+1:]...)
			done = false
			break
		}
		sort.SliceStable(spots, func(x, y int) bool { return spots[x].s < spots[y].s })
		if done {
			break
		}
	}
	return spots
}

// fill sets count stations in a span, or more where the blocked stretches need it unless the count was asked for.
func (b *placeBoard) fill(s placeSpan, asked bool) {
	r := &b.runs[s.run]
	bends := b.bends(r)
	memo := map[float64]bool{}
	free := func(at float64) bool {
		ok, known := memo[at]
		if !known {
			short, _ := b.room(s.run, at, r.dir(at), bends)
			ok = short == 0
			memo[at] = ok
		}
		return ok
	}
	more := 2
	if asked {
		more = 0
	}
	var found []float64
	ok, tied := false, []float64(nil)
	for n := s.count; n <= s.count+more && !ok; n++ {
		at, good, tie := b.even(s, n, free)
		switch {
		case good && !tie:
			found, ok = at, true
		case good && tied == nil:
			tied = at
		}
	}
	if !ok && tied != nil {
		found, ok = tied, true
	}
	if !ok && !asked {
		found, ok = b.around(s, free)
	}
	if !ok {
		found, _, _ = b.even(s, s.count, free)
		b.faults = append(b.faults, b.gapFault(s, found, free))
	}
	for _, at := range found {
		t := at
		if r.closed {
			t = math.Mod(at, r.length)
		}
		b.spots = append(b.spots, placeSpot{run: s.run, s: t, at: r.point(t), dir: r.dir(t), support: r.support(t)})
	}
}

// even sets n stations evenly and moves each that is blocked to the nearest free place. good: the pitches keep their limits.
func (b *placeBoard) even(s placeSpan, n int, free func(float64) bool) (at []float64, good, tie bool) {
	step := s.length() / float64(n+1)
	for k := 1; k <= n; k++ {
		want := s.lo + float64(k)*step
		// No further than half a step, so that stations stay in order.
		got, ok, t := placeSettle(want, want-step/2, want+step/2, free)
		if !ok {
			return at, false, tie
		}
		tie = tie || t
		at = append(at, got)
	}
	return at, b.gapsHold(s, at), tie
}

// gapsHold says whether the pitches of a span, its ends included, lie between the least and the greatest.
func (b *placeBoard) gapsHold(s placeSpan, at []float64) bool {
	r := &b.runs[s.run]
	last := s.lo
	for _, t := range append(append([]float64(nil), at...), s.hi) {
		if t-last > b.pitchMax+placeFine {
			return false
		}
		alone := len(at) == 0 // the ends of an empty span were judged as anchors
		if !alone && r.point(t).Dist(r.point(last)) < b.pitchMin-placeFine {
			return false
		}
		last = t
	}
	return true
}

// around sets stations at both sides of every blocked stretch of the span, and evenly between: for stretches so wide that
// moving single stations leaves too wide a pitch.
func (b *placeBoard) around(s placeSpan, free func(float64) bool) ([]float64, bool) {
	marks := []float64{s.lo}
	for _, t := range placeBlocked(s, free) {
		for _, m := range [...]float64{t.lo, t.hi} {
			if m-marks[len(marks)-1] >= b.pitchMin && s.hi-m >= b.pitchMin {
				marks = append(marks, m)
			}
		}
	}
	marks = append(marks, s.hi)
	var at []float64
	for k := 0; k+1 < len(marks); k++ {
		if k > 0 {
			at = append(at, marks[k])
		}
		part := placeSpan{run: s.run, lo: marks[k], hi: marks[k+1]}
		n := 0
		if !math.IsInf(b.pitchMax, 1) {
			n = max(0, int(math.Ceil(part.length()/b.pitchMax-1e-9))-1)
		}
		between, good, _ := b.even(part, n, free)
		if !good {
			return nil, false
		}
		at = append(at, between...)
	}
	return at, b.gapsHold(s, at)
}

// placeBlocked returns the stretches of a span where no station may stand, their ends free to placeFine.
func placeBlocked(s placeSpan, free func(float64) bool) []placeStretch {
	var out []placeStretch
	n := max(1, int(math.Ceil(s.length()/placeStep)))
	lastFree := s.lo
	for k := 1; k <= n; k++ {
		at := s.lo + s.length()*float64(k)/float64(n)
		if k < n && !free(at) {
			continue
		}
		if gap := at - lastFree; gap > s.length()/float64(n)*1.5 {
			step := s.length() / float64(n)
			out = append(out, placeStretch{lo: placeBisect(lastFree+step, lastFree, free), hi: placeBisect(at-step, at, free)})
		}
		lastFree = at
	}
	return out
}

// gapFault says why a span cannot be filled, with the pitch that is left and what would do.
func (b *placeBoard) gapFault(s placeSpan, at []float64, free func(float64) bool) string {
	r := &b.runs[s.run]
	widest, narrowest, last := 0.0, math.Inf(1), s.lo
	for _, t := range append(append([]float64(nil), at...), s.hi) {
		widest, narrowest = math.Max(widest, t-last), math.Min(narrowest, r.point(t).Dist(r.point(last)))
		last = t
	}
	where := fmt.Sprintf("%s between (%s) and (%s)", r.support(s.lo).Name, placeXY(r.point(s.lo)), placeXY(r.point(s.hi)))
	blocked := 0.0
	why := ""
	for _, t := range placeBlocked(s, free) {
		if t.hi-t.lo > blocked {
			blocked = t.hi - t.lo
			mid := (t.lo + t.hi) / 2
			_, why = b.room(s.run, mid, r.dir(mid), b.bends(r))
		}
	}
	if why != "" {
		why = fmt.Sprintf("; %s is not free there (%s)", measure.MM(blocked), why)
	}
	if widest > b.pitchMax+placeFine {
		return fmt.Sprintf("%s: a pitch of %s remains where %s is %s%s; a greatest pitch of %s would do", where, measure.MM(widest),
			b.pitchMaxIs, measure.MM(b.pitchMax), why, measure.MM(math.Ceil(widest)))
	}
	return fmt.Sprintf("%s: stations would stand %s apart, the least pitch is %s%s; fewer stations would do", where, measure.MM(narrowest),
		measure.MM(b.pitchMin), why)
}

func placeXY(p plane.Point) string { return measure.MM(p.X) + ", " + measure.MM(p.Y) }

// ribsAgain places the ribs' stations: their ends were only held free for the count, now they keep clear of the flanges'.
func (b *placeBoard) ribsAgain(spans []placeSpan, asked bool) {
	for i := range b.runs {
		if !b.runs[i].rib || b.covered(i) != "" {
			continue
		}
		count, hadSpan := 0, false
		for _, s := range spans {
			if s.run == i {
				count, hadSpan = count+s.count, true
			}
		}
		kept := b.spots[:0:0]
		for _, q := range b.spots {
			if q.run != i {
				kept = append(kept, q)
			}
		}
		b.spots = kept
		again := b.anchorRun(i)
		for k := range again {
			if asked && hadSpan {
				again[k].count = 0
				if k == 0 {
					again[k].count = count
				}
			}
			b.fill(again[k], asked)
		}
	}
}
