package job

import (
	"math"
	"slices"

	"panelwright/internal/plane"
)

// Where an outline out of a file has its corners. Common practice, no source: a fitter sees a corner where an edge turns by a good
// part of a right angle within a hand's breadth.
const (
	cornerTurn  = 30 * math.Pi / 180 // rad: the least turn
	cornerShare = 0.125              // of the greater side of the box around the outline: the greatest radius of a rounded corner
)

// importSides finds the corners of an outline (anticlockwise) and returns it as a path that begins at one, with a vertex at each, and
// its sides from corner to corner as lengths along it. The first side is the one whose middle lies lowest, then farthest left. An
// outline without corners is one side that begins where its lowest place is.
func importSides(p plane.Path) (plane.Path, [][2]float64) {
	corners := importCorners(p)
	if len(corners) == 0 {
		corners = []float64{lowestPlace(p)}
	}
	length := p.Length()
	first, best := 0, plane.Point{X: math.Inf(1), Y: math.Inf(1)}
	const level = 1e-6 // mm: equally low
	for i, s := range corners {
		to := corners[(i+1)%len(corners)]
		if to <= s {
			to += length
		}
		mid := p.At((s + to) / 2)
		if mid.Y < best.Y-level || mid.Y < best.Y+level && mid.X < best.X {
			first, best = i, mid
		}
	}
	out := plane.Path{Closed: true}
	var sides [][2]float64
	at := 0.0
	for k := range corners {
		s, to := corners[(first+k)%len(corners)], corners[(first+k+1)%len(corners)]
		run := p.SubPath(s, to)
		n := len(run.V) - 1
		out.V = append(out.V, run.V[:n]...)
		sides = append(sides, [2]float64{at, at + run.Length()})
		at += run.Length()
	}
	sides[len(sides)-1][1] = out.Length()
	return out, sides
}

// importCorners returns the places, as lengths along p and rising, where it turns sharply: a vertex, or the middle of a run of
// tight arcs or of the short lines that stand for one.
func importCorners(p plane.Path) []float64 {
	box := p.Bounds()
	tight := cornerShare * max(box.Width(), box.Height())
	n := len(p.V)
	start := make([]float64, n+1)
	for i := range n {
		start[i+1] = start[i] + p.Seg(i).Length()
	}
	joint := func(i int) float64 { // turn at vertex i
		in, out := p.Seg((i+n-1)%n).Tangent(1), p.Seg(i).Tangent(0)
		return math.Atan2(in.Cross(out), in.Dot(out))
	}
	bent := func(i int) bool {
		g := p.Seg(i)
		if g.IsArc() {
			return g.Radius() <= tight
		}
		// A rounded corner drawn as short lines, or a chamfer: each turns the same way at both ends, and soon.
		a, b := joint(i), joint((i+1)%n)
		return a*b > 0 && g.Chord() <= tight && g.Chord() <= tight*math.Abs(a+b)/2
	}
	// A turn is a vertex or a run of tight arcs, with what it turns and where its half is reached. Runs are walked from an edge that
	// is none, so that none is cut by the path's start.
	from := 0
	for from < n && bent(from) {
		from++
	}
	if from == n {
		return nil // tight all round: a small round panel
	}
	var out []float64
	add := func(turn, at float64) {
		if math.Abs(turn) >= cornerTurn {
			out = append(out, math.Mod(at, start[n]))
		}
	}
	for k := 1; k <= n; k++ {
		i := (from + k) % n
		if !bent(i) {
			add(joint(i), start[i])
			continue
		}
		// The run of arcs that begins at vertex i.
		turn := joint(i)
		var parts [][2]float64 // turn so far, length so far
		last := k
		for ; bent((from + last) % n); last++ {
			e := (from + last) % n
			parts = append(parts, [2]float64{turn, 0})
			turn += p.Seg(e).Sweep()
			parts = append(parts, [2]float64{turn, p.Seg(e).Length()})
			turn += joint((e + 1) % n)
		}
		at, half, seen := start[i], turn/2, false
		for q := 0; q < len(parts) && !seen; q += 2 {
			a, b := parts[q], parts[q+1]
			switch {
			case (a[0]-half)*half >= 0: // turned half at the joint before this piece
				seen = true
			case (b[0]-half)*half >= 0:
				at += b[1] * (half - a[0]) / (b[0] - a[0])
				seen = true
			default:
				at += b[1]
			}
		}
		add(turn, at)
		k = last // the vertex behind the run belongs to it
	}
	slices.Sort(out)
	return out
}

// lowestPlace is the length along p at which it lies lowest.
func lowestPlace(p plane.Path) float64 {
	box := p.Bounds()
	s, _, _ := p.Nearest(plane.Point{X: box.Centre().X, Y: box.Min.Y - box.Height()})
	return s
}
