package solid

import (
	"fmt"
	"math"
)

// Open says why a shell is none: an edge that is not shared by two triangles that run against each other, a triangle without area,
// or a surface that is inside out.
type Open struct {
	Shell string
	Why   string
}

// Error says it in words.
func (e *Open) Error() string { return fmt.Sprintf("solid %s: %s", e.Shell, e.Why) }

// Check proves from the triangles alone that the shell is closed, runs the right way out, and has no triangle without area. The error
// is *Open.
func (s *Shell) Check() error {
	edges := make(map[[2]int32]int, 3*len(s.Tris))
	for i, t := range s.Tris {
		for k := range t {
			if t[k] < 0 || int(t[k]) >= len(s.At) {
				return &Open{s.Name, fmt.Sprintf("triangle %d has vertex %d of %d", i, t[k], len(s.At))}
			}
			edges[[2]int32{t[k], t[(k+1)%3]}]++
		}
		if !(s.area(t) > 0) {
			return &Open{s.Name, fmt.Sprintf("triangle %d has no area", i)}
		}
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int32{e[1], e[0]}] != 1 {
			a := s.At[min(e[0], e[1])]
			return &Open{s.Name, fmt.Sprintf("it touches itself along an edge only, or gapes, at (%.4g, %.4g, %.4g) mm", a[0], a[1], a[2])}
		}
	}
	if v := s.Volume(); !(v > 0) {
		return &Open{s.Name, fmt.Sprintf("its volume is %g mm³: inside out, or nothing", v)}
	}
	return nil
}

// gate is Check for the writers: a shell that Build made and proved is not proved again.
func (s *Shell) gate() error {
	if s.proved == len(s.Tris)+len(s.At) && s.proved > 0 {
		return nil
	}
	return s.Check()
}

func (s *Shell) area(t [3]int32) float64 {
	n := s.normal(t)
	return math.Sqrt(n[0]*n[0]+n[1]*n[1]+n[2]*n[2]) / 2
}

// normal is the outward normal of a triangle, twice its area long.
func (s *Shell) normal(t [3]int32) (n [3]float64) {
	a, b, c := s.At[t[0]], s.At[t[1]], s.At[t[2]]
	var u, v [3]float64
	for i := range u {
		u[i], v[i] = b[i]-a[i], c[i]-a[i]
	}
	return [3]float64{u[1]*v[2] - u[2]*v[1], u[2]*v[0] - u[0]*v[2], u[0]*v[1] - u[1]*v[0]}
}

// Volume is the enclosed volume, mm³: a sixth of the sum of a·(b × c), each taken from the shell's first vertex.
func (s *Shell) Volume() float64 {
	if len(s.At) == 0 {
		return 0
	}
	o, sum := s.At[0], 0.0
	for _, t := range s.Tris {
		a, n := s.At[t[0]], s.normal(t)
		for i := range n {
			sum += (a[i] - o[i]) * n[i]
		}
	}
	return sum / 6
}

// Bounds are the least and greatest coordinates, mm.
func (s *Shell) Bounds() (lo, hi [3]float64) {
	lo, hi = [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)}, [3]float64{math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	for _, p := range s.At {
		for i := range p {
			lo[i], hi[i] = min(lo[i], p[i]), max(hi[i], p[i])
		}
	}
	return lo, hi
}
