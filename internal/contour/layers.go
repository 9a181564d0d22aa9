package contour

import (
	"math"
	"slices"
	"sort"

	"panelwright/internal/plane"
)

// Levels returns the multiples of a step of the series 1, 2, 5 that lie between lo and hi, both excluded, with the least step
// that makes at most most bands of them. Values that do not differ, or that are not finite, have none and the step 0. Fewer
// than two bands panics.
func Levels(lo, hi float64, most int) (levels []float64, step float64) {
	if most < 2 {
		panic("contour: levels for less than two bands")
	}
	if !(hi > lo) || math.IsInf(hi-lo, 0) {
		return nil, 0
	}
	exponent := math.Floor(math.Log10((hi - lo) / float64(most)))
	for range 6 {
		for _, m := range []float64{1, 2, 5} {
			step = m * math.Pow(10, exponent)
			levels = levels[:0]
			for k := math.Floor(lo/step) + 1; k*step < hi && len(levels) < most; k++ {
				levels = append(levels, k*step)
			}
			if len(levels) < most && step > 0 {
				return levels, step
			}
		}
		exponent++
	}
	return nil, 0 // the values differ by less than their own rounding
}

// Layer is one stroke of the brush: paint the inside of Loop as Band. Band k lies from levels[k−1] to levels[k]; band 0 below
// the first level, the last one from the last level on; −1 is what the mesh does not cover. Level is the index of the level that
// the loop follows where it does not run along the border, −1 of none.
type Layer struct {
	Loop  Loop
	Band  int
	Level int
}

// Layers returns what to paint, in order, so that at the end every place of the mesh shows its own band: loops never cross, so
// a larger one never lies inside a smaller one, and each is painted as what lies next to it on its inner side. The levels must
// rise.
func (f Field) Layers(levels []float64) []Layer {
	if !slices.IsSorted(levels) {
		panic("contour: levels that do not rise")
	}
	f.check()
	border := f.border()
	out := layersOf(nil, f.above(math.Inf(-1), border), 0)
	for k, level := range levels {
		out = layersOf(out, f.above(level, border), k+1)
	}
	area := make(map[*plane.Point]float64, len(out))
	for _, l := range out {
		area[&l.Loop.At[0]] = math.Abs(l.Loop.Area())
	}
	sort.SliceStable(out, func(i, k int) bool { return area[&out[i].Loop.At[0]] > area[&out[k].Loop.At[0]] })
	return out
}

// layersOf appends the loops round where the value reaches band. A cut-out of the mesh is painted once, as such.
func layersOf(out []Layer, loops []Loop, band int) []Layer {
	for _, l := range loops {
		switch {
		case l.Area() > 0:
			out = append(out, Layer{l, band, band - 1})
		case band == 0 || slices.Contains(l.Border, false):
			out = append(out, Layer{l, band - 1, band - 1})
		}
	}
	return out
}

// Line is a line of equal value.
type Line struct {
	At     []plane.Point
	Closed bool
}

// Length of the line.
func (l Line) Length() float64 {
	sum := 0.0
	for i := 1; i < len(l.At); i++ {
		sum += l.At[i].Dist(l.At[i-1])
	}
	if l.Closed && len(l.At) > 0 {
		sum += l.At[0].Dist(l.At[len(l.At)-1])
	}
	return sum
}

// Lines returns the runs of the loop that follow the level.
func (l Loop) Lines() []Line {
	var out []Line
	for _, r := range l.runs() {
		if !r.border {
			out = append(out, Line{r.at, r.closed})
		}
	}
	return out
}

type run struct {
	at     []plane.Point // both ends; a closed one ends before its first point comes again
	border bool
	closed bool
}

// runs cuts the loop where it turns from the border to the level or back.
func (l Loop) runs() []run {
	n := len(l.At)
	start := -1
	for i := range n {
		if l.Border[i] != l.Border[(i+n-1)%n] {
			start = i
			break
		}
	}
	if start < 0 {
		return []run{{l.At, l.Border[0], true}}
	}
	var out []run
	for i := 0; i < n; {
		r := run{border: l.Border[(start+i)%n]}
		for ; i < n && l.Border[(start+i)%n] == r.border; i++ {
			r.at = append(r.at, l.At[(start+i)%n])
		}
		r.at = append(r.at, l.At[(start+i)%n])
		out = append(out, r)
	}
	return out
}

// Simplify returns the loop with fewer points: what is left out lies within tol of what remains, and the places where the loop
// turns from the border to the level stay.
func (l Loop) Simplify(tol float64) Loop {
	var out Loop
	for _, r := range l.runs() {
		pts := r.at
		if r.closed { // cut at the point farthest from the first, so that both halves have a length
			far := 0
			for i, p := range pts {
				if p.Dist(pts[0]) > pts[far].Dist(pts[0]) {
					far = i
				}
			}
			if far == 0 {
				return l
			}
			back := append(slices.Clone(pts[far:]), pts[0])
			pts = append(thin(pts[:far+1], tol), thin(back, tol)[1:]...)
		} else {
			pts = thin(pts, tol)
		}
		for _, p := range pts[:len(pts)-1] { // the last is the next run's first
			out.At, out.Border = append(out.At, p), append(out.Border, r.border)
		}
	}
	return out
}

// thin leaves out what lies within tol of the line between what remains: the farthest point stays, then both sides are looked
// at alike.
func thin(pts []plane.Point, tol float64) []plane.Point {
	keep := make([]bool, len(pts))
	keep[0], keep[len(pts)-1] = true, true
	open := [][2]int{{0, len(pts) - 1}}
	for len(open) > 0 {
		a, b := open[len(open)-1][0], open[len(open)-1][1]
		open = open[:len(open)-1]
		far, most := -1, tol
		for i := a + 1; i < b; i++ {
			if _, d, _ := plane.Open(pts[a], pts[b]).Nearest(pts[i]); d > most {
				far, most = i, d
			}
		}
		if far >= 0 {
			keep[far] = true
			open = append(open, [2]int{a, far}, [2]int{far, b})
		}
	}
	var out []plane.Point
	for i, p := range pts {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}
