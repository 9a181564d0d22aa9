package setout

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
)

// placeSide is the seat line along one named edge.
type placeSide struct {
	line   SeatLine
	inset  float64
	wanted bool // the edge has a flange
	ok     bool // and a seat line
	joined bool // that ends where the next edge's begins
	gone   bool // so short that the inset leaves nothing of it: its neighbours meet
	number int  // in Panel.SeatLines
}

// placeSides makes the seat lines of all edges, in their order. Neighbouring edges with one inset are moved inwards together,
// so that names may change anywhere, in the middle of a rounded corner too; others are joined where they meet.
func placeSides(pan *job.Panel, feet map[*job.Support]placeFoot) (sides []placeSide, faults, notes []string) {
	outer := pan.Outline.Outer
	n := len(pan.Edges)
	sides = make([]placeSide, n)
	bowed := map[*job.Support]placeFoot{}
	for sup, f := range feet {
		bowed[sup] = f.bowed(placeBow(pan, sup, f))
	}
	for i, e := range pan.Edges {
		if sup := placeSupportOf(pan, e.Name); sup != nil {
			inset, note := placeInset(sup, bowed[sup])
			if note != "" {
				notes = append(notes, fmt.Sprintf("%s, %s: %s", pan.Name, sup.Name, note))
			}
			sides[i] = placeSide{line: SeatLine{Support: sup, Edge: e.Name}, inset: inset, wanted: true}
		}
	}
	same := func(i, k int) bool {
		return sides[i].wanted && sides[k].wanted && math.Abs(sides[i].inset-sides[k].inset) <= placeSame
	}
	for i := range sides {
		before := (i + n - 1) % n
		if !sides[i].wanted || sides[i].ok || i > 0 && same(before, i) {
			continue
		}
		first, count := i, 1
		if i == 0 { // the group may reach back through the outline's beginning
			for ; count < n && same((first+n-1)%n, first); count++ {
				first = (first + n - 1) % n
			}
		}
		for count < n && same((first+count-1)%n, (first+count)%n) {
			count++
		}
		faults = append(faults, placeTogether(pan, sides, first, count)...)
	}
	for i := range sides {
		k := placeNext(sides, i)
		if sides[i].ok && sides[k].ok && !sides[i].joined && k != i {
			reach := 3 * math.Max(sides[i].inset, sides[k].inset)
			sides[i].joined = placeJoin(&sides[i].line.Path, &sides[k].line.Path, reach, outer.At(pan.Edges[i].To))
		}
	}
	return sides, faults, notes
}

// placeBow is the least radius (+Inf: none) with which the outline bows outwards along a support's edges, left out the rounded
// corners, where nothing stands.
func placeBow(pan *job.Panel, sup *job.Support, f placeFoot) float64 {
	least := math.Inf(1)
	for _, e := range pan.Edges {
		if placeSupportOf(pan, e.Name) != sup || e.To-e.From <= placeSame {
			continue
		}
		for _, g := range pan.Outline.Outer.SubPath(e.From, e.To).Segs() {
			if r := g.Radius(); g.Curvature() > 0 && f.half()*f.half() <= 2*placeSagitta*(r-f.edge) {
				least = math.Min(least, r)
			}
		}
	}
	return least
}

// placeNext is the edge after i that is not gone.
func placeNext(sides []placeSide, i int) int {
	for range sides {
		if i = (i + 1) % len(sides); !sides[i].gone {
			break
		}
	}
	return i
}

// placeTogether moves count edges from first inwards as one path and cuts it where their names change; where that cannot be,
// each by itself, and the fault says which cannot.
func placeTogether(pan *job.Panel, sides []placeSide, first, count int) (faults []string) {
	outer, n := pan.Outline.Outer, len(sides)
	inset := sides[first].inset
	whole := count == n
	var moved plane.Path
	var err error
	if whole {
		moved, err = outer.Inset(inset)
	} else {
		moved, err = outer.SubPath(pan.Edges[first].From, pan.Edges[(first+count-1)%n].To).OffsetOpen(inset)
	}
	if err == nil && placeCut(pan, sides, first, count, moved) {
		return nil
	}
	for k := range count {
		i := (first + k) % n
		e := pan.Edges[i]
		path, one := outer.SubPath(e.From, e.To), err
		if !whole || count > 1 {
			path, one = path.OffsetOpen(inset)
		}
		if one != nil {
			faults = append(faults, fmt.Sprintf("edge %s has no seat line %s inside it: %v", e.Name, measure.MM(inset), one))
			continue
		}
		sides[i].line.Path, sides[i].ok = path, true
	}
	return faults
}

// placeCut shares a path that lies inside several edges among them; an edge that gets nothing is gone. False when the cuts are
// out of order.
func placeCut(pan *job.Panel, sides []placeSide, first, count int, moved plane.Path) bool {
	n := len(sides)
	cuts := make([]float64, count+1)
	for k := range cuts {
		if moved.Closed || k > 0 && k < count {
			at := placeMitre(pan.Outline.Outer, pan.Edges[(first+k)%n].From, sides[first].inset)
			cuts[k], _, _ = moved.Nearest(at)
		} else if k == count {
			cuts[k] = moved.Length()
		}
	}
	sum := 0.0
	paths := make([]plane.Path, count)
	for k := range paths {
		step := cuts[k+1] - cuts[k]
		switch {
		case math.Abs(step) <= placeSame && count > 1:
			continue
		case step < 0 && !moved.Closed:
			return false
		}
		paths[k] = moved.SubPath(cuts[k], cuts[k+1])
		sum += paths[k].Length()
	}
	if math.Abs(sum-moved.Length()) > 1e-6*sum {
		return false
	}
	for k, path := range paths {
		s := &sides[(first+k)%n]
		s.line.Path, s.ok, s.gone = path, path.EdgeCount() > 0, path.EdgeCount() == 0
		s.joined = k+1 < count || moved.Closed
	}
	return true
}

// placeMitre is where the corner (or the smooth place) at s of the outline comes to lie when both its sides move inwards by d:
// V + d·(n₁ + n₂)/(1 + n₁·n₂) with the inward normals n₁ and n₂.
func placeMitre(outer plane.Path, s, d float64) plane.Point {
	i, t := outer.Locate(s)
	at, after := outer.Seg(i).At(t), outer.Seg(i).Tangent(t).Perp()
	before := after
	if t*outer.Seg(i).Length() <= placeSame {
		n := outer.EdgeCount()
		for k := range n { // the last piece with a length
			if g := outer.Seg((i + n - 1 - k) % n); g.Length() > placeSame {
				before = g.Tangent(1).Perp()
				break
			}
		}
	}
	open := 1 + before.Dot(after)
	if open <= placeSmooth { // the outline turns right back: there is no mitre
		return at.Add(after.Scale(d))
	}
	return at.Add(before.Add(after).Scale(d / open))
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
