package plate

import "math"

// way is the motion from a place to w, its greatest being 1.
func (r *contactRun) way(from []float64) []float64 {
	d := make([]float64, r.c.n)
	for i, w := range r.w {
		d[i] = w - from[i]
	}
	contactToOne(d)
	return d
}

// contactToOne scales d so that its greatest is 1.
func contactToOne(d []float64) {
	most := 0.0
	for _, v := range d {
		most = max(most, math.Abs(v))
	}
	for i := range d {
		d[i] /= most
	}
}

const (
	contactStill = 1e-6 // share of the farthest point's way below which a point stands still
	contactFlat  = 1e-9 // stiffness of a rigid motion, as a share of the panel's, that is rounding
)

// endless says whether motion d goes on for ever: no point that moves in it comes to a stop or a slope, the loads, with the
// forces where the laws end, drive it, and the panel does not resist it.
func (r *contactRun) endless(d []float64) bool {
	drive := 0.0
	for i, v := range d {
		if !(math.Abs(v) <= 1) {
			return false
		}
		if math.Abs(v) <= contactStill {
			continue
		}
		p := &r.pieces[i][0]
		if v > 0 {
			p = &r.pieces[i][len(r.pieces[i])-1]
		}
		if p.stop || p.k > 0 {
			return false
		}
		drive += v * (r.f[i] + p.c)
	}
	if !(drive > 0) {
		return false
	}
	n := r.c.n
	resist, square := 0.0, 0.0
	for i, v := range d {
		square += v * v
		resist += v * contactDot(r.c.s[i*n:i*n+n], d)
	}
	return resist <= contactFlat*max(r.c.norm, r.c.hold/contactHold)*square
}

// extreme looks for an endless rigid motion among those that turn about two points, or about one where all stand on one line; nil
// when there is none. On motions that move each point one way or not at all the drive is linear, so if any is endless, one of these
// is. Work grows with the cube of the points, most of it saved where supports or wires are met at once.
func (r *contactRun) extreme() []float64 {
	d := make([]float64, r.c.n)
	try := func(m [3]float64) bool {
		for i, p := range r.c.at {
			d[i] = m[0] + m[1]*p[0] + m[2]*p[1]
		}
		for range 2 {
			contactToOne(d)
			if r.endless(d) {
				return true
			}
			for i := range d {
				d[i] = -d[i]
			}
		}
		return false
	}
	if len(r.c.at) > 0 && try([3]float64{1, 0, 0}) {
		return d
	}
	for i, p := range r.c.at {
		if try([3]float64{-p[0], 1, 0}) || try([3]float64{-p[1], 0, 1}) {
			return d
		}
		for _, q := range r.c.at[:i] {
			if try([3]float64{p[0]*q[1] - q[0]*p[1], p[1] - q[1], q[0] - p[0]}) {
				return d
			}
		}
	}
	return nil
}
