package outline

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"panelwright/internal/plane"
)

// Developed says how a closed edge in space came out flat.
type Developed struct {
	Off      float64 // mm: greatest distance of a point from the best plane
	Ruled    float64 // mm: greatest distance of a point from the cylinder that was unrolled
	Space    float64 // mm: length round the edge, point to point, in space
	Flat     float64 // mm: the same, developed
	Step     float64 // mm: greatest difference of one step's length, flat less space
	StepAt   int     // the point, from 1, at which that step begins
	Slope    float64 // greatest slope of the cylinder's profile against the best plane
	Degree   int     // of the profile's polynomial
	RulingXY float64 // rad: direction of the cylinder's rulings, seen along z
}

// String says it in a sentence.
func (d Developed) String() string {
	return fmt.Sprintf("the edge lies up to %.2f mm off a plane and up to %.2f mm off the cylinder that was unrolled (rulings at %.0f° in plan): round it %.2f mm in space, %.2f mm flat; the worst step, from point %d, came out %+.2f mm. What stands off the cylinder cannot be laid flat true, and an edge does not tell how the sheet bulges within it: check the template against a tape",
		d.Off, d.Ruled, math.Mod(d.RulingXY*180/math.Pi+360, 180), d.Space, d.Flat, d.StepAt, d.Step)
}

// vec is a point or direction in space.
type vec [3]float64

func (a vec) sub(b vec) vec       { return vec{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a vec) add(b vec) vec       { return vec{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a vec) scale(k float64) vec { return vec{k * a[0], k * a[1], k * a[2]} }
func (a vec) dot(b vec) float64   { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec) cross(b vec) vec {
	return vec{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}
func (a vec) len() float64 { return math.Sqrt(a.dot(a)) }
func (a vec) unit() vec    { return a.scale(1 / a.len()) }
func (a vec) turn(b vec, t float64) vec { // a towards b, square to it
	s, c := math.Sincos(t)
	return a.scale(c).add(b.scale(s))
}

// develop unrolls a closed edge: the general cylinder that comes nearest to its points, a profile swept along straight rulings, is
// found by least squares, and lengths along its profile and along its rulings are laid out flat. What lies on a cylinder or a plane
// keeps its lengths; what does not is off by what Developed says.
//
// The first point keeps its x and y, the farthest from it keeps its direction in plan.
func develop(points [][3]float64) ([]plane.Point, Developed, error) {
	var d Developed
	n := len(points)
	var centre vec
	for _, p := range points {
		centre = centre.add(vec(p).scale(1 / float64(n)))
	}
	pts := make([]vec, n)
	size := 0.0
	for i, p := range points {
		pts[i] = vec(p).sub(centre)
		size = max(size, pts[i].len())
	}
	normal, ok := newell(pts, size)
	if !ok {
		return nil, d, errors.New("the points lie in one line, or the edge's areas cancel: no outline")
	}
	x := vec{1, 0, 0}
	if math.Abs(normal[0]) > 0.9 {
		x = vec{0, 1, 0}
	}
	x = x.sub(normal.scale(x.dot(normal))).unit()
	y := normal.cross(x)
	best := developFit(pts, x, y, normal, size)
	for _, p := range pts {
		d.Off = max(d.Off, math.Abs(p.dot(normal)))
	}
	d.Ruled, d.Degree, d.Slope = best.worst, len(best.coef)-1, best.slope()
	d.RulingXY = math.Atan2(best.ruling[1], best.ruling[0])
	const steepest = 2.0 // a profile that goes steeper than this is no graph over its chord
	if d.Slope > steepest {
		return nil, d, fmt.Errorf("a profile that slopes by %.0f° against its plane; accepted: up to %.0f°", math.Atan(d.Slope)*180/math.Pi, math.Atan(steepest)*180/math.Pi)
	}
	flat := make([]plane.Point, n)
	for i, p := range pts {
		flat[i] = plane.Point{X: best.along(p.dot(best.u)), Y: p.dot(best.ruling)}
	}
	flat = developPlace(flat, points)
	for i := range flat {
		k := (i + 1) % n
		s, f := distance3(points[i], points[k]), flat[i].Dist(flat[k])
		d.Space, d.Flat = d.Space+s, d.Flat+f
		if math.Abs(f-s) > math.Abs(d.Step) {
			d.Step, d.StepAt = f-s, i+1
		}
	}
	d.StepAt = max(d.StepAt, 1)
	return flat, d, nil
}

// newell is the unit normal of the area that a loop encloses [sutherland74], upwards where it tells, ok when there is one.
func newell(p []vec, size float64) (vec, bool) {
	var a vec
	for i := range p {
		a = a.add(p[i].cross(p[(i+1)%len(p)]))
	}
	const thin = 1e-9
	if !(a.len() > thin*size*size) {
		return vec{}, false
	}
	a = a.unit()
	if a[2] < 0 {
		a = a.scale(-1)
	}
	return a, true
}

// profile is a cylinder: points at v·u along its chord stand at h(v·u) over it; v·ruling is free.
type profile struct {
	ruling, u, up vec
	half          float64 // of the chord: the polynomial's argument is −1 to 1
	coef          []float64
	rms, worst    float64 // rms is raised for every term, as leastSquares says
}

// developFit finds the ruling, two angles, for which one profile serves all points best: from the best of many directions in the
// plane of x and y on by a pattern search that halves its step.
func developFit(pts []vec, x, y, normal vec, size float64) profile {
	try := func(turn, tilt float64) profile {
		r := x.turn(y, turn)
		u := normal.cross(r).scale(-1) // r, u, up: right-handed with up = r × u
		r = r.turn(normal, tilt)
		return developProfile(pts, r, u, r.cross(u), size)
	}
	const directions = 36
	at := [2]float64{}
	best := try(0, 0)
	for i := 1; i < directions; i++ {
		turn := math.Pi * float64(i) / directions
		if p := try(turn, 0); p.rms < best.rms {
			best, at = p, [2]float64{turn, 0}
		}
	}
	// At each length of step so many gains at most: what creeps on is no valley that a shorter step would not find too.
	const finest, gainsMost = 1e-10, 24
	gains := 0
	for step := math.Pi / directions; step > finest; {
		better := false
		for _, move := range [][2]float64{{step, 0}, {-step, 0}, {0, step}, {0, -step}, {step, step}, {-step, -step}, {step, -step}, {-step, step}} {
			to := [2]float64{at[0] + move[0], at[1] + move[1]}
			if math.Abs(to[1]) > math.Pi/4 {
				continue
			}
			if p := try(to[0], to[1]); p.rms < best.rms*(1-1e-12) {
				best, at, better = p, to, true
				break
			}
		}
		if gains++; !better || gains > gainsMost {
			step, gains = step/2, 0
		}
	}
	return best
}

// developProfile fits the profile's polynomial in Legendre's form for one ruling, by orthogonalising its columns.
func developProfile(pts []vec, r, u, up vec, size float64) profile {
	p := profile{ruling: r, u: u, up: up}
	n := len(pts)
	v, h := make([]float64, n), make([]float64, n)
	for i, q := range pts {
		v[i], h[i] = q.dot(u), q.dot(up)
		p.half = max(p.half, math.Abs(v[i]))
	}
	if !(p.half > 1e-9*size) {
		p.rms = math.Inf(1)
		return p
	}
	// Half as many coefficients as points, so that what is left over still judges.
	const most = 10
	degree := max(1, min(most, n/2-2))
	cols := make([][]float64, degree+1)
	for k := range cols {
		cols[k] = make([]float64, n)
		for i := range v {
			cols[k][i] = legendre(k, v[i]/p.half)
		}
	}
	p.coef, p.rms = leastSquares(cols, h, 1e-9*size)
	for i := range v {
		p.worst = max(p.worst, math.Abs(h[i]-p.at(v[i])))
	}
	return p
}

// legendre is P_k(t).
func legendre(k int, t float64) float64 {
	a, b := 1.0, t
	if k == 0 {
		return a
	}
	for i := 2; i <= k; i++ {
		a, b = b, (float64(2*i-1)*t*b-float64(i-1)*a)/float64(i)
	}
	return b
}

// leastSquares solves min |Σ x_k·cols_k − rhs| by Gram and Schmidt, twice over, with as many of the columns, from the first on,
// as earn their place: each must lower the root mean square of what is left by the factor earn, unless that is below least
// already. Without this a profile follows the edge of a bowl, or a tape's errors, by waves that no sheet has. rms is what is
// left, raised by earn for every column. A column that the others make up gets 0. cols are overwritten.
func leastSquares(cols [][]float64, rhs []float64, least float64) (x []float64, rms float64) {
	const earn = 1.3 // a circle's arc of 63 degrees to either side gains 1.6 with each
	n := len(cols)
	r := make([][]float64, n) // cols_k = Σ_j≤k r[j][k]·q_j
	for j := range r {
		r[j] = make([]float64, n)
	}
	dead := make([]bool, n)
	dot := func(a, b []float64) (s float64) {
		for i := range a {
			s += a[i] * b[i]
		}
		return s
	}
	for k := range cols {
		was := math.Sqrt(dot(cols[k], cols[k]))
		for range 2 {
			for j := range k {
				if dead[j] {
					continue
				}
				f := dot(cols[j], cols[k])
				r[j][k] += f
				for i := range cols[k] {
					cols[k][i] -= f * cols[j][i]
				}
			}
		}
		size := math.Sqrt(dot(cols[k], cols[k]))
		if !(size > 1e-9*was) {
			dead[k] = true
			continue
		}
		r[k][k] = size
		for i := range cols[k] {
			cols[k][i] /= size
		}
	}
	res, q := slices.Clone(rhs), make([]float64, n)
	rms = math.Inf(1)
	kept := 0
	for k := range cols {
		if !dead[k] {
			q[k] = dot(cols[k], res)
			for i := range res {
				res[i] -= q[k] * cols[k][i]
			}
		}
		left := max(math.Sqrt(dot(res, res)/float64(len(res))), least) * math.Pow(earn, float64(k))
		if k > 0 && left < rms {
			rms, kept = left, k+1
		}
	}
	x = make([]float64, kept)
	for k := kept - 1; k >= 0; k-- {
		if dead[k] {
			continue
		}
		s := q[k]
		for j := k + 1; j < kept; j++ {
			s -= r[k][j] * x[j]
		}
		x[k] = s / r[k][k]
	}
	return x, rms
}

// at is the profile's height at v along the chord, mm.
func (p profile) at(v float64) (h float64) {
	for k, c := range p.coef {
		h += c * legendre(k, v/p.half)
	}
	return h
}

// rise is the profile's slope at v.
func (p profile) rise(v float64) (s float64) {
	t := v / p.half
	// P'_k = Σ (2j+1)·P_j over j = k−1, k−3, …
	for k, c := range p.coef {
		for j := k - 1; j >= 0; j -= 2 {
			s += c * float64(2*j+1) * legendre(j, t)
		}
	}
	return s / p.half
}

func (p profile) slope() (most float64) {
	const places = 64
	for i := range places + 1 {
		most = max(most, math.Abs(p.rise(p.half*(2*float64(i)/places-1))))
	}
	return most
}

// along is the length of the profile from the middle of its chord to v, by Simpson's rule.
func (p profile) along(v float64) float64 {
	const n = 200
	f := func(t float64) float64 { s := p.rise(t); return math.Sqrt(1 + s*s) }
	sum := f(0) + f(v)
	for i := 1; i < n; i++ {
		sum += float64(2+2*(i%2)) * f(v*float64(i)/n)
	}
	return sum * v / n / 3
}

// developPlace turns and moves the flat points so that the first keeps its x and y and the farthest from it its direction in
// plan, in the sense in which the edge runs in plan.
func developPlace(flat []plane.Point, points [][3]float64) []plane.Point {
	plan := func(i int) plane.Point { return plane.Point{X: points[i][0], Y: points[i][1]} }
	far := 0
	for i := range points {
		if plan(i).Dist(plan(0)) > plan(far).Dist(plan(0)) {
			far = i
		}
	}
	seen := make([]plane.Point, len(points))
	for i := range points {
		seen[i] = plan(i)
	}
	if a, b := plane.Polygon(seen...).Area(), plane.Polygon(flat...).Area(); a*b < 0 {
		for i := range flat {
			flat[i].X = -flat[i].X
		}
	}
	turn := 0.0
	if far != 0 {
		a, b := flat[far].Sub(flat[0]), plan(far).Sub(plan(0))
		turn = math.Atan2(a.Cross(b), a.Dot(b))
	}
	out := make([]plane.Point, len(flat))
	for i, p := range flat {
		out[i] = plan(0).Add(p.Sub(flat[0]).Rotate(turn))
	}
	return out
}
