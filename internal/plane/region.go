package plane

import (
	"fmt"
	"math"
)

// Area returns the outline's area less that of the cut-outs, mm², whichever way they run.
func (r Region) Area() float64 {
	a := math.Abs(r.Outer.Area())
	for _, c := range r.CutOuts {
		a -= math.Abs(c.Area())
	}
	return a
}

// Centroid returns the centroid of the region; ok is false when it has no area to speak of.
func (r Region) Centroid() (c Point, ok bool) {
	if len(r.Outer.V) == 0 {
		return Point{}, false
	}
	origin := r.Outer.V[0].Point
	area, first := 0.0, Point{}
	add := func(p Path, sign float64) {
		a, m := p.moments()
		if a < 0 {
			sign = -sign
		}
		if len(p.V) > 0 {
			area += sign * a
			first = first.Add(m.Add(p.V[0].Point.Sub(origin).Scale(a)).Scale(sign))
		}
	}
	add(r.Outer, 1)
	for _, h := range r.CutOuts {
		add(h, -1)
	}
	if !(area > EdgeTol*r.Outer.Length()) {
		return Point{}, false
	}
	return origin.Add(first.Scale(1 / area)), true
}

// Bounds returns the least upright box around the outline.
func (r Region) Bounds() Box { return r.Outer.Bounds() }

// Paths returns the outline and then the cut-outs.
func (r Region) Paths() []Path { return append([]Path{r.Outer}, r.CutOuts...) }

// Contains says whether q lies in the region: inside the outline and outside every cut-out, or within EdgeTol of any edge.
func (r Region) Contains(q Point) Where {
	w := r.Outer.Contains(q)
	for _, c := range r.CutOuts {
		switch c.Contains(q) {
		case OnEdge:
			return OnEdge
		case Inside:
			if w == Inside {
				w = Outside
			}
		}
	}
	return w
}

// Distance returns the distance from q to the nearest edge of outline or cut-outs, mm: positive inside the region, negative
// outside it.
func (r Region) Distance(q Point) float64 {
	d := math.Inf(1)
	inside := true
	for i, p := range r.Paths() {
		if len(p.V) == 0 {
			continue
		}
		_, e, _ := p.Nearest(q)
		d = min(d, e)
		inside = inside && (p.winding(q) != 0) == (i == 0)
	}
	if inside {
		return d
	}
	return -d
}

// Normalise returns the region with its outline anticlockwise and its cut-outs clockwise. Paths that already run so are
// shared with r, not copied.
func (r Region) Normalise() Region {
	s := Region{Outer: r.Outer}
	if s.Outer.Area() < 0 {
		s.Outer = s.Outer.Reverse()
	}
	for _, c := range r.CutOuts {
		if c.Area() > 0 {
			c = c.Reverse()
		}
		s.CutOuts = append(s.CutOuts, c)
	}
	return s
}

// CutOutKind is what is wrong with a cut-out.
type CutOutKind int

// The things that can be wrong.
const (
	CutOutOutside CutOutKind = iota // it lies outside the outline
	CutOutMeets                     // its edge crosses, touches or follows the outline
	CutOutOverlap                   // it meets another cut-out, or one lies in the other
	CutOutAround                    // it encloses the whole outline
)

// CutOutFault is one thing wrong with one cut-out.
type CutOutFault struct {
	CutOut int
	Other  int // the other cut-out for CutOutOverlap, otherwise −1
	Kind   CutOutKind
	At     Point // where it shows
}

// String says it in words.
func (f CutOutFault) String() string {
	var s string
	switch f.Kind {
	case CutOutOutside:
		s = "lies outside the outline"
	case CutOutMeets:
		s = "meets the outline"
	case CutOutOverlap:
		s = fmt.Sprintf("overlaps cut-out %d", f.Other)
	case CutOutAround:
		s = "encloses the outline"
	}
	return fmt.Sprintf("cut-out %d %s at (%.6g, %.6g)", f.CutOut, s, f.At.X, f.At.Y)
}

// CutOutFaults returns what is wrong between the outline and the cut-outs, and between cut-outs, at most one fault for each
// pair, sorted by cut-out; of more than a thousand, about so many. What is wrong with a path alone is its Facts; paths that have
// some give no dependable answer here.
func (r Region) CutOutFaults() []CutOutFault {
	const most = 1000 // faults: cut-outs can lie in each other their number squared times
	var out []CutOutFault
	boxes := make([]Box, len(r.CutOuts))
	for i, c := range r.CutOuts {
		boxes[i] = c.Bounds().Grow(EdgeTol)
	}
	for i, c := range r.CutOuts {
		if len(c.V) == 0 || len(r.Outer.V) == 0 {
			continue
		}
		at := c.V[0].Point
		if m, ok := c.meets(r.Outer); ok {
			out = append(out, CutOutFault{i, -1, CutOutMeets, m.At})
		} else if r.Outer.Contains(at) == Outside {
			kind := CutOutOutside
			if c.Contains(r.Outer.V[0].Point) == Inside {
				kind = CutOutAround
			}
			out = append(out, CutOutFault{i, -1, kind, at})
		}
		for j := i + 1; j < len(r.CutOuts) && len(out) < most; j++ {
			d := r.CutOuts[j]
			if len(d.V) == 0 || !boxes[i].Overlaps(boxes[j]) {
				continue
			}
			if m, ok := c.meets(d); ok {
				out = append(out, CutOutFault{i, j, CutOutOverlap, m.At})
			} else if d.Contains(at) != Outside {
				out = append(out, CutOutFault{i, j, CutOutOverlap, at})
			} else if c.Contains(d.V[0].Point) != Outside {
				out = append(out, CutOutFault{i, j, CutOutOverlap, d.V[0].Point})
			}
		}
	}
	return out
}
