package spread

import "math"

// maxCorners bounds the terms of byCorners.
const maxCorners = 512

// corner is one term c·E[(x − at)₊ᴺ]/N! of the distribution function.
type corner struct {
	at, c float64
	order int
}

// corners writes the density of a part as integrals of point impulses: a rectangle is two impulses integrated once, a
// triangle three integrated twice, and one with its mode at an end has a once-integrated step among them.
func corners(p Part) []corner {
	if p.Kind == Rectangular {
		w := p.B - p.A
		return []corner{{p.A, 1 / w, 1}, {p.B, -1 / w, 1}}
	}
	u, v, w := p.B-p.A, p.C-p.B, p.C-p.A
	switch {
	case u == 0:
		return []corner{{p.A, 2 / w, 1}, {p.A, -2 / w / w, 2}, {p.C, 2 / w / w, 2}}
	case v == 0:
		return []corner{{p.A, 2 / w / w, 2}, {p.C, -2 / w / w, 2}, {p.C, -2 / w, 1}}
	}
	return []corner{{p.A, 2 / w / u, 2}, {p.B, -2 / u / v, 2}, {p.C, 2 / w / v, 2}}
}

// byCorners returns the chance to be at most x (measured from the mean) and a bound of its rounding error. With every part
// written as corners, the sum is the product of their terms: Σ c·I_N((x − at)/σ)·σᴺ, where I_N is the N-fold integral of the
// normal density, or (x − at)₊ᴺ/N! without normal parts. This is exact in exact arithmetic; the terms cancel, which the bound
// reports (+Inf when there are too many terms to try).
func (l *law) byCorners(x float64) (p, bound float64) {
	unit := max(l.sigma, l.below+l.above)
	var buf [maxCorners]corner
	terms := append(buf[:0], corner{0, 1, 0})
	for _, part := range l.wide {
		cs := corners(part.Scaled(1 / unit))
		n := len(terms)
		if n*len(cs) > maxCorners {
			return 0, math.Inf(1)
		}
		for k := len(cs) - 1; k >= 0; k-- {
			for i := range n {
				t := corner{terms[i].at + cs[k].at, terms[i].c * cs[k].c, terms[i].order + cs[k].order}
				if k == 0 {
					terms[i] = t
				} else {
					terms = append(terms, t)
				}
			}
		}
	}
	x, sigma := x/unit, l.sigma/unit
	upper := x > 0
	order := 0
	for _, t := range terms {
		order = max(order, t.order)
	}
	for _, t := range terms {
		d := x - t.at
		c := t.c
		if upper {
			// The far side's terms are fewer and smaller: 1 − CDF is the same sum mirrored, where a term of order N takes
			// the sign (−1)ᴺ.
			d = -d
			if t.order%2 == 1 {
				c = -c
			}
		}
		v, m := ramp(d, sigma, t.order)
		p += c * v
		bound += math.Abs(c) * m
	}
	bound *= float64(order+4) * 0x1p-52
	if upper {
		p = 1 - p
	}
	return p, bound
}

// ramp returns E[(d + σZ)₊ᴺ]/N! for standard normal Z, and a value of the size that its rounding error is relative to. It is
// built by n·I_n = z·I_{n−1} + I_{n−2} from I_{−1} = φ and I_0 = Φ.
func ramp(d, sigma float64, order int) (v, size float64) {
	if sigma == 0 {
		if d < 0 {
			return 0, 0
		}
		v = 1
		for n := 1; n <= order; n++ {
			v *= d / float64(n)
		}
		return v, v
	}
	z := d / sigma
	prev, cur := math.Exp(-z*z/2)/math.Sqrt(2*math.Pi), math.Erfc(-z/math.Sqrt2)/2
	prevSize, curSize := prev*(1+z*z), cur*(1+z*z)
	scale := 1.0
	for n := 1; n <= order; n++ {
		prev, cur = cur, (z*cur+prev)/float64(n)
		prevSize, curSize = curSize, (math.Abs(z)*curSize+prevSize)/float64(n)
		scale *= sigma
	}
	return cur * scale, curSize * scale
}
