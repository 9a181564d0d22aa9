package outline

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// bspline is a rational B-spline: control points in homogeneous coordinates.
type bspline struct {
	degree int
	knots  []float64
	w      []float64     // weights
	p      []plane.Point // times their weights
}

// spline reads SPLINE by its control points, knots and weights. Fit points alone leave its shape open.
func (r *dxfReader) spline(e *dxfEntity, at dxfAt) error {
	s, closed, err := dxfSpline(e)
	if s == nil || err != nil {
		return err
	}
	k := r.pen(at.m)
	spans := s.spans()
	k.start(s.at(spans[0][0], spans[0]))
	for _, g := range spans {
		if s.degree == 1 {
			k.line(s.at(g[1], g))
			continue
		}
		k.curve(curve{
			func(t float64) plane.Point { return s.at(g[0]+t*(g[1]-g[0]), g) },
			func(t float64) plane.Point { return s.slope(g[0]+t*(g[1]-g[0]), g).Scale(g[1] - g[0]) },
		})
	}
	ends := k.path.V
	meets := ends[0].Point.Dist(ends[len(ends)-1].Point) <= CurveTol
	if closed && !meets {
		return &Fault{Line: e.line, What: e.kind, Text: "a closed spline whose ends lie apart", Hint: "draw it again, or save it as a polyline"}
	}
	return r.add(e, at, k, meets)
}

func dxfSpline(e *dxfEntity) (s *bspline, closed bool, err error) {
	bad := func(text, hint string) (*bspline, bool, error) {
		return nil, false, &Fault{Line: e.line, What: e.kind, Text: text, Hint: hint}
	}
	s = &bspline{degree: e.whole(71)}
	fits := 0
	for _, g := range e.groups {
		switch g.code {
		case 10, 20, 40, 41:
		case 11:
			fits++
			continue
		default:
			continue
		}
		v, err := dxfNumber(e.kind, g)
		if err != nil {
			return nil, false, err
		}
		switch n := len(s.p) - 1; {
		case g.code == 10:
			s.p = append(s.p, plane.Point{X: v})
		case g.code == 20 && n >= 0:
			s.p[n].Y = v
		case g.code == 40:
			s.knots = append(s.knots, v)
		case g.code == 41:
			s.w = append(s.w, v)
		}
	}
	switch {
	case len(s.p) == 0 && fits > 0:
		return bad(fmt.Sprintf("a spline given by %d fit points alone, which leave its shape open", fits), "save it with control points, or as a polyline")
	case s.degree < 1 || s.degree > 15:
		return bad(fmt.Sprintf("a spline of degree %d; accepted: 1 to 15", s.degree), "draw it again")
	case len(s.p) <= s.degree:
		return bad(fmt.Sprintf("%d control points for a spline of degree %d; accepted: at least %d", len(s.p), s.degree, s.degree+1), "draw it again")
	case len(s.knots) != len(s.p)+s.degree+1:
		return bad(fmt.Sprintf("%d knots for %d control points of degree %d; accepted: %d", len(s.knots), len(s.p), s.degree, len(s.p)+s.degree+1), "save the drawing again")
	case len(s.w) == 0:
		for range s.p {
			s.w = append(s.w, 1)
		}
	case len(s.w) != len(s.p):
		return bad(fmt.Sprintf("%d weights for %d control points; accepted: one for each", len(s.w), len(s.p)), "save the drawing again")
	}
	for i := range s.knots {
		if i > 0 && s.knots[i] < s.knots[i-1] {
			return bad(fmt.Sprintf("knot %d, %g, after %g; accepted: knots that do not fall", i+1, s.knots[i], s.knots[i-1]), "save the drawing again")
		}
	}
	for i, w := range s.w {
		if !(w > 0) {
			return bad(fmt.Sprintf("weight %d is %g; accepted: more than 0", i+1, w), "draw it again")
		}
		s.p[i] = s.p[i].Scale(w)
	}
	if len(s.spans()) == 0 {
		return bad("knots that leave no piece of curve", "draw it again")
	}
	const closedFlag = 1
	return s, e.whole(70)&closedFlag != 0, nil
}

// spans are the knot intervals that hold the curve, each with some length.
func (s *bspline) spans() [][2]float64 {
	lo, hi := s.degree, len(s.knots)-s.degree-1
	var out [][2]float64
	whole := s.knots[hi] - s.knots[lo]
	const none = 1e-12 // of the whole: two knots that rounding parts
	for i := lo; i < hi; i++ {
		if a, b := s.knots[i], s.knots[i+1]; b-a > none*whole {
			out = append(out, [2]float64{a, b})
		}
	}
	return out
}

// boor evaluates the homogeneous point at u and, by the last step's difference, its derivative, in the span g [piegl97].
func (s *bspline) boor(u float64, g [2]float64) (p, dp plane.Point, w, dw float64) {
	k := s.degree
	for k+1 < len(s.knots)-s.degree-1 && s.knots[k+1] <= g[0] {
		k++
	}
	n := s.degree
	ps, ws := make([]plane.Point, n+1), make([]float64, n+1)
	copy(ps, s.p[k-n:k+1])
	copy(ws, s.w[k-n:k+1])
	for r := 1; r <= n; r++ {
		if r == n {
			h := s.knots[k+1] - s.knots[k]
			if n > 0 && h > 0 {
				dp = ps[n].Sub(ps[n-1]).Scale(float64(n) / h)
				dw = (ws[n] - ws[n-1]) * float64(n) / h
			}
		}
		for j := n; j >= r; j-- {
			lo, hi := s.knots[k-n+j], s.knots[k+j-r+1]
			a := 0.0
			if hi > lo {
				a = (u - lo) / (hi - lo)
			}
			ps[j] = ps[j-1].Lerp(ps[j], a)
			ws[j] = ws[j-1] + a*(ws[j]-ws[j-1])
		}
	}
	return ps[n], dp, ws[n], dw
}

func (s *bspline) at(u float64, g [2]float64) plane.Point {
	p, _, w, _ := s.boor(u, g)
	return p.Scale(1 / w)
}

func (s *bspline) slope(u float64, g [2]float64) plane.Point {
	p, dp, w, dw := s.boor(u, g)
	if w == 0 || math.IsNaN(w) {
		return plane.Point{}
	}
	return dp.Sub(p.Scale(dw / w)).Scale(1 / w)
}
