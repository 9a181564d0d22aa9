package judge

import (
	"math"
	"slices"
	"sort"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// judgeSpan is the band in which a number must lie: a point where the judge computes, an interval where it simulates.
type judgeSpan struct{ lo, hi float64 }

func judgeAt(v float64) judgeSpan { return judgeSpan{v, v} }

// times scales a span by f > 0.
func (a judgeSpan) times(f float64) judgeSpan { return judgeSpan{f * a.lo, f * a.hi} }

// plus shifts a span.
func (a judgeSpan) plus(d float64) judgeSpan { return judgeSpan{a.lo + d, a.hi + d} }

// atLeast raises a span to v.
func (a judgeSpan) atLeast(v float64) judgeSpan {
	return judgeSpan{math.Max(a.lo, v), math.Max(a.hi, v)}
}

// judgeStep is how finely outlines are sampled, mm; the nearest sample is then refined.
const judgeStep = 2.0

// judgeTrack is a path with samples along it, a step apart.
type judgeTrack struct {
	path        plane.Path
	segs        []plane.Seg
	starts      []float64 // where each segment begins
	pts         []plane.Point
	step, total float64
}

func judgeTrackOf(p plane.Path) judgeTrack {
	t := judgeTrack{path: p}
	for _, g := range p.Segs() {
		t.segs, t.starts = append(t.segs, g), append(t.starts, t.total)
		t.total += g.Length()
	}
	n := max(64, int(t.total/judgeStep))
	t.step = t.total / float64(n)
	for i := 0; i <= n; i++ {
		t.pts = append(t.pts, t.at(float64(i)*t.step))
	}
	return t
}

// at is the place s along the path, held to its ends. The lengths are summed once: an outline of many points is sampled
// thousands of times.
func (t *judgeTrack) at(s float64) plane.Point {
	s = math.Min(math.Max(s, 0), t.total)
	i := max(0, sort.Search(len(t.starts), func(i int) bool { return t.starts[i] > s })-1)
	long := t.segs[i].Length()
	if long == 0 {
		return t.segs[i].A
	}
	return t.segs[i].At(math.Min(1, (s-t.starts[i])/long))
}

// near is the distance from q to the path: to the nearest sample, and then by a search by thirds about it.
func (t *judgeTrack) near(q plane.Point) float64 {
	at := func(s float64) float64 {
		if t.path.Closed {
			s = math.Mod(s+t.total, t.total)
		}
		return t.at(s).Dist(q)
	}
	best, where := math.Inf(1), 0.0
	for i, p := range t.pts {
		if d := p.Dist(q); d < best {
			best, where = d, float64(i)*t.step
		}
	}
	lo, hi := where-t.step, where+t.step
	for range 60 {
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if at(a) < at(b) {
			hi = b
		} else {
			lo = a
		}
	}
	return math.Min(best, at((lo+hi)/2))
}

// judgeNear is the distance from q to a path.
func judgeNear(p plane.Path, q plane.Point) float64 {
	t := judgeTrackOf(p)
	return t.near(q)
}

// judgeInside says whether q lies inside a closed path.
func judgeInside(p plane.Path, q plane.Point) bool {
	t := judgeTrackOf(p)
	return t.around(q)
}

// around says whether a closed path goes round q, by the turns of its samples about it.
func (t *judgeTrack) around(q plane.Point) bool {
	turn, last := 0.0, t.pts[0].Sub(q)
	for _, p := range t.pts[1:] {
		v := p.Sub(q)
		turn += math.Atan2(last.X*v.Y-last.Y*v.X, last.X*v.X+last.Y*v.Y)
		last = v
	}
	return math.Abs(turn) > math.Pi
}

// clear is the distance to the outline and the cut-outs, negative off the sheet.
func (j *judge) clear(q plane.Point) float64 {
	if j.edgesOf != j.pan {
		j.edges, j.edgesOf = []judgeTrack{judgeTrackOf(j.pan.Job.Outline.Outer)}, j.pan
		for _, cut := range j.pan.Job.Outline.CutOuts {
			j.edges = append(j.edges, judgeTrackOf(cut))
		}
	}
	d, on := math.Inf(1), true
	for i := range j.edges {
		d = math.Min(d, j.edges[i].near(q))
		on = on && j.edges[i].around(q) == (i == 0)
	}
	if !on {
		return -d
	}
	return d
}

// judgeGap is how far the sampled distance may stray, mm: a corner between two samples costs this much.
const judgeGap = 0.01

// place looks at where a station stands.
func (j *judge) place() {
	s := j.st
	d := j.clear(s.At)
	if math.Abs(d-s.EdgeDistance) > judgeGap {
		j.say("edge-distance", "the distance to the edge is said to be %.2f mm, sampling finds %.2f mm", s.EdgeDistance, d)
	}
	if d < 0 {
		j.say("edge-distance", "the station stands off the panel")
	}
	for i := range j.pan.Job.KeepOuts {
		ko := &j.pan.Job.KeepOuts[i]
		if judgeInside(ko.Region, s.At) && !j.fails("keep-out") {
			j.say("keep-out", "the station stands in %s", ko.Name)
		}
	}
	if sup := s.Support; sup == nil {
		j.say("support", "the station has no support")
	} else if sup.Width > 0 && len(j.pan.SeatLines) > 0 {
		off := math.Inf(1)
		for _, l := range j.pan.SeatLines {
			if l.Support == sup {
				off = math.Min(off, judgeNear(l.Path, s.At))
			}
		}
		if off > sup.Width/2+judgeGap && len(j.pan.Faults) == 0 {
			j.say("support", "the station stands %.1f mm from the middle of %s, which is %.1f mm wide", off, sup.Name, sup.Width)
		}
	}
}

// fails says whether the plan itself says that a check of the station does not hold.
func (j *judge) fails(id string) bool {
	return slices.ContainsFunc(j.st.Checks, func(k setout.Check) bool { return k.ID == id && k.Verdict == setout.DoesNotHold })
}

// given looks at whether given stations stand where they were given.
func (j *judge) given() {
	for i, g := range j.pan.Job.Stations.Given {
		if j.pan.Job.Stations.Mode != "given" {
			return
		}
		if !slices.ContainsFunc(j.pan.Stations, func(st *setout.Station) bool {
			return (g.ID == "" || st.ID == g.ID) && math.Hypot(st.At.X-g.At.X, st.At.Y-g.At.Y) < judgeTol
		}) {
			j.say("given", "the station given as number %d does not stand where it was given", i+1)
		}
	}
}

// pitches are the least distance between any two stations, and the greatest length between neighbours along a seat line.
func (j *judge) pitches() (least, most float64) {
	least = math.Inf(1)
	for i, a := range j.pan.Stations {
		for _, b := range j.pan.Stations[i+1:] {
			least = math.Min(least, math.Hypot(a.At.X-b.At.X, a.At.Y-b.At.Y))
		}
	}
	for _, l := range j.pan.SeatLines {
		total := l.Path.Length()
		if total <= 0 {
			continue
		}
		reach := 1.0
		if l.Support != nil && l.Support.Width > 0 {
			reach = l.Support.Width / 2
		}
		var along []float64
		for _, st := range j.pan.Stations {
			if s, d := judgeFoot(l.Path, st.At); d <= reach+judgeTol {
				along = append(along, s)
			}
		}
		slices.Sort(along)
		for i := 1; i < len(along); i++ {
			most = math.Max(most, along[i]-along[i-1])
		}
		if l.Path.Closed && len(along) > 1 {
			most = math.Max(most, total-along[len(along)-1]+along[0])
		}
	}
	return least, most
}

// judgeFoot is judgeNear with the place along the path.
func judgeFoot(p plane.Path, q plane.Point) (where, dist float64) {
	t := judgeTrackOf(p)
	dist = math.Inf(1)
	for i, at := range t.pts {
		if d := at.Dist(q); d < dist-judgeTol {
			where, dist = math.Min(float64(i)*t.step, t.total), d
		}
	}
	lo, hi := math.Max(0, where-t.step), math.Min(t.total, where+t.step)
	for range 60 {
		a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
		if t.at(a).Dist(q) < t.at(b).Dist(q) {
			hi = b
		} else {
			lo = a
		}
	}
	if d := t.at((lo + hi) / 2).Dist(q); d < dist {
		where, dist = (lo+hi)/2, d
	}
	return where, dist
}
