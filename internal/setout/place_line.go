package setout

import (
	"math"

	"panelwright/internal/job"
	"panelwright/internal/plane"
)

// placeCornerTurn is the least change of direction (rad) that makes a corner: 20°, so that a bowed edge in several pieces
// stays one edge.
const placeCornerTurn = math.Pi / 9

// placeSame is the distance (mm) within which two places on a seat line are one.
const placeSame = 1e-6

// placeRun is a chain of seat lines that meet at their ends, as one way to go along: s runs from 0 to length.
type placeRun struct {
	lines  []SeatLine
	at     []int     // the lines' numbers in Panel.SeatLines
	start  []float64 // where each line starts on the run
	length float64
	closed bool // the last line meets the first
	rib    bool
}

// placeLines makes the panel's seat lines: flange edges offset inwards, joined at corners, then ribs as given. What cannot
// be made is a sentence in faults.
func placeLines(pan *Panel, feet map[*job.Support]placeFoot) (runs []placeRun, faults, notes []string) {
	pan.SeatLines = nil
	edges, faults, notes := placeSides(pan.Job, feet)
	n, first := len(edges), -1
	all := n > 0
	for i := range edges {
		all = all && (edges[i].joined || edges[i].gone)
		if edges[i].ok {
			if first < 0 {
				first = i
			}
			edges[i].number = len(pan.SeatLines)
			pan.SeatLines = append(pan.SeatLines, edges[i].line)
		}
	}
	for i := range edges {
		before := (i + n - 1) % n
		for steps := 0; steps < n && edges[before].gone; steps++ {
			before = (before + n - 1) % n
		}
		if !edges[i].ok || !all && edges[before].joined || all && i != first {
			continue // not the first of its chain
		}
		r := placeRun{closed: all}
		for k, steps := i, 0; steps < n && (steps == 0 || k != i); steps++ {
			r.add(edges[k].line, edges[k].number)
			if !edges[k].joined {
				break
			}
			k = placeNext(edges, k)
		}
		runs = append(runs, r)
	}
	for _, sup := range pan.Job.Supports {
		if sup.Kind != "rib" || sup.Line.EdgeCount() == 0 {
			continue
		}
		line := SeatLine{Support: sup, Path: sup.Line}
		r := placeRun{rib: true}
		r.add(line, len(pan.SeatLines))
		pan.SeatLines = append(pan.SeatLines, line)
		runs = append(runs, r)
	}
	return runs, faults, notes
}

func (r *placeRun) add(l SeatLine, number int) {
	r.lines = append(r.lines, l)
	r.at = append(r.at, number)
	r.start = append(r.start, r.length)
	r.length += l.Path.Length()
}

// where finds s on the run: the line and the length along it. On a closed run s wraps round.
func (r *placeRun) where(s float64) (line int, along float64) {
	if r.closed {
		if s = math.Mod(s, r.length); s < 0 {
			s += r.length
		}
		if r.length-s <= placeSame {
			s = 0
		}
	}
	s = math.Min(math.Max(s, 0), r.length)
	for line = len(r.lines) - 1; line > 0 && s < r.start[line]-placeSame; line-- {
	}
	return line, math.Min(math.Max(0, s-r.start[line]), r.lines[line].Path.Length())
}

func (r *placeRun) point(s float64) plane.Point {
	i, t := r.where(s)
	return r.lines[i].Path.At(t)
}

// dir is the direction of travel at s, rad; at a corner that of the line that leaves.
func (r *placeRun) dir(s float64) float64 {
	i, t := r.where(s)
	d := r.lines[i].Path.Tangent(t)
	return math.Atan2(d.Y, d.X)
}

// support is the support on which s stands.
func (r *placeRun) support(s float64) *job.Support {
	i, _ := r.where(s)
	return r.lines[i].Support
}

// placeSeg is one straight piece or arc of a run.
type placeSeg struct {
	plane.Seg
	from, to float64 // on the run; to may pass the end of a closed one
}

// segs returns the pieces of the run, each as long as it goes: names of edges may change in the middle of an arc.
func (r *placeRun) segs() []placeSeg {
	var out []placeSeg
	for i, l := range r.lines {
		s := r.start[i]
		for _, g := range l.Path.Segs() {
			n := g.Length()
			if n > placeSame {
				next := placeSeg{g, s, s + n}
				if k := len(out) - 1; k < 0 || !out[k].join(next, 0) {
					out = append(out, next)
				}
			}
			s += n
		}
	}
	if n := len(out); r.closed && n > 1 && out[n-1].join(out[0], r.length) {
		out = out[1:]
	}
	return out
}

// placeSmooth is the change of direction (rad) within which pieces go on into each other: far less than any tool shows.
const placeSmooth = 1e-6

// join lengthens g by h, which begins where g ends, if it goes on in the same straight or arc; shift is what h's places on
// the run lack of going on from g's.
func (g *placeSeg) join(h placeSeg, shift float64) bool {
	t, u := g.Tangent(1), h.Tangent(0)
	sweep := g.Sweep() + h.Sweep()
	// Arcs go on when their radii differ by less than their ends' places can tell.
	bend := math.Abs(g.Curvature()-h.Curvature()) * (g.Length() + h.Length())
	if math.Abs(t.Cross(u)) > placeSmooth || t.Dot(u) < 0 || bend > placeSmooth || math.Abs(sweep) > math.Pi {
		return false
	}
	g.Seg = plane.Seg{A: g.A, B: h.B, Bulge: math.Tan(sweep / 4)}
	g.to = h.to + shift
	return true
}
