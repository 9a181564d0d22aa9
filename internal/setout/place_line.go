package setout

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/measure"
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
	outer := pan.Job.Outline.Outer
	type flange struct {
		line  SeatLine
		inset float64
		ok    bool
	}
	edges := make([]flange, len(pan.Job.Edges))
	for i, e := range pan.Job.Edges {
		sup := placeSupportOf(pan.Job, e.Name)
		if sup == nil {
			continue
		}
		inset, note := placeInset(sup, feet[sup])
		if note != "" {
			notes = append(notes, fmt.Sprintf("%s, %s: %s", pan.Job.Name, sup.Name, note))
		}
		path, err := pan.Job.SeatPath(e, inset)
		if err != nil {
			faults = append(faults, fmt.Sprintf("edge %s has no seat line %s inside it: %v", e.Name, measure.MM(inset), err))
			continue
		}
		edges[i] = flange{SeatLine{Support: sup, Edge: e.Name, Path: path}, inset, true}
	}
	n := len(edges)
	joined := make([]bool, n) // edge i meets edge i+1
	for i := range edges {
		k := (i + 1) % n
		if !edges[i].ok || !edges[k].ok || n == 1 {
			joined[i] = n == 1 && edges[i].ok
			continue
		}
		reach := 3 * math.Max(edges[i].inset, edges[k].inset)
		corner := outer.At(pan.Job.Edges[i].To)
		joined[i] = placeJoin(&edges[i].line.Path, &edges[k].line.Path, reach, corner)
	}
	all := n > 0
	for i := range edges {
		all = all && joined[i]
	}
	number := make([]int, n)
	for i := range edges {
		if edges[i].ok {
			number[i] = len(pan.SeatLines)
			pan.SeatLines = append(pan.SeatLines, edges[i].line)
		}
	}
	for i := range edges {
		before := (i + n - 1) % n
		if !edges[i].ok || !all && joined[before] || all && i > 0 {
			continue // not the first of its chain
		}
		var r placeRun
		for k, steps := i, 0; steps < n; steps++ {
			r.add(edges[k].line, number[k])
			if !joined[k] {
				break
			}
			k = (k + 1) % n
		}
		r.closed = all
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

// placeSupportOf returns the flange along the edge, the first that names it.
func placeSupportOf(j *job.Panel, edge string) *job.Support {
	for _, s := range j.Supports {
		if s.Kind != "flange" {
			continue
		}
		for _, e := range s.Edges {
			if e == edge {
				return s
			}
		}
	}
	return nil
}

// placeInset is the distance of the seat line from the outline: as given or half the support's width, but at least what the
// parts need to the edge; the note says when that decided.
func placeInset(sup *job.Support, foot placeFoot) (inset float64, note string) {
	inset = sup.Inset
	what := "as given"
	if inset == 0 {
		inset, what = sup.Width/2, "half the flange's width"
	}
	if foot.edge > inset+placeSame {
		note = fmt.Sprintf("the seat line lies %s from the edge instead of %s (%s), for %s", measure.MM(foot.edge), measure.MM(inset), what, foot.edgeBy)
		inset = foot.edge
	}
	return inset, note
}

// placeJoin makes a end where b starts: it lengthens both straight on by reach, where the outline turns outwards, or cuts
// them, where it turns inwards, at their meeting nearest to the outline's corner. It leaves them alone where they do not
// meet.
func placeJoin(a, b *plane.Path, reach float64, corner plane.Point) bool {
	end, begin := a.V[len(a.V)-1].Point, b.V[0].Point
	if end.Dist(begin) <= placeSame {
		b.V[0].Point = end
		return true
	}
	la, lb := a.Length(), b.Length()
	if la == 0 || lb == 0 {
		return false
	}
	longA := plane.Path{V: append(append([]plane.Vertex(nil), a.V...), plane.Vertex{Point: end.Add(a.Tangent(la).Scale(reach))})}
	longB := plane.Path{V: append([]plane.Vertex{{Point: begin.Sub(b.Tangent(0).Scale(reach))}}, b.V...)}
	best, found := plane.Point{}, false
	for _, m := range longA.Meetings(longB) {
		if !found || m.At.Dist(corner) < best.Dist(corner)-placeSame {
			best, found = m.At, true
		}
	}
	if !found {
		return false
	}
	sa, _, _ := longA.Nearest(best)
	sb, _, _ := longB.Nearest(best)
	if sa <= placeSame || longB.Length()-sb <= placeSame {
		return false
	}
	*a, *b = longA.SubPath(0, sa), longB.SubPath(sb, longB.Length())
	a.V[len(a.V)-1].Point, b.V[0].Point = best, best
	return true
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
	from, to float64 // on the run
}

func (r *placeRun) segs() []placeSeg {
	var out []placeSeg
	for i, l := range r.lines {
		s := r.start[i]
		for _, g := range l.Path.Segs() {
			n := g.Length()
			if n > placeSame {
				out = append(out, placeSeg{g, s, s + n})
			}
			s += n
		}
	}
	return out
}
