package plate

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// The certificate shares no code with the elements, the assembly, the condensation or the contact: it writes the element down
// once more, by what it does to a unit of each unknown at sample points, and the laws by their distance in the plane.

// Certifier certifies answers of one model.
type Certifier struct {
	m    *Model
	unit []certifyTriangle
	edge float64 // mm, about the length of an edge
	mid  plane.Point
}

// certifyTriangle is the element of one triangle: forces over its nine unknowns, and the forces of a unit of pressure.
type certifyTriangle struct {
	k    [9][9]float64
	load [9]float64
	mass float64
}

// NewCertifier prepares a model that Check finds nothing wrong with.
func NewCertifier(m *Model) *Certifier {
	c := &Certifier{m: m, unit: make([]certifyTriangle, len(m.Mesh.Tris))}
	area := 0.0
	for t, v := range m.Mesh.Tris {
		s := m.Sections[0]
		if m.Of != nil {
			s = m.Sections[m.Of[t]]
		}
		c.unit[t] = certifyElement([3]plane.Point{m.Mesh.Nodes[v[0]], m.Mesh.Nodes[v[1]], m.Mesh.Nodes[v[2]]}, &s)
		area += m.Mesh.Nodes[v[1]].Sub(m.Mesh.Nodes[v[0]]).Cross(m.Mesh.Nodes[v[2]].Sub(m.Mesh.Nodes[v[0]]))
	}
	c.edge = math.Sqrt(area / float64(len(c.unit)))
	for _, p := range m.Mesh.Nodes {
		c.mid = c.mid.Add(p.Scale(1 / float64(len(m.Mesh.Nodes))))
	}
	return c
}

// Certify is NewCertifier and its Certify, for a single answer.
func Certify(m *Model, laws []Law, l Load, a *Answer, f *Field) Certificate {
	return NewCertifier(m).Certify(laws, l, a, f)
}

// certifyElement works out the forces of each unit of unknown by virtual work at three points inside, which is exact for the
// products of the linear curvatures and shears.
func certifyElement(p [3]plane.Point, s *Section) (out certifyTriangle) {
	area := p[1].Sub(p[0]).Cross(p[2].Sub(p[0])) / 2
	var grad [3]plane.Point
	for i := range 3 {
		e := p[(i+2)%3].Sub(p[(i+1)%3])
		grad[i] = e.Perp().Scale(1 / (2 * area))
	}
	stiff := s.S != [2][2]float64{}
	var strain [3][9][5]float64 // at each point, of each unit: κx, κy, κxy, γx, γy
	for u := range 9 {
		var q [9]float64
		q[u] = 1
		var side [3]float64 // bubble of each side, from corner i to i+1
		var gamma [3]float64
		for i := range 3 {
			j := (i + 1) % 3
			e := p[j].Sub(p[i])
			long := e.Len()
			t := e.Scale(1 / long)
			beta := func(n int) plane.Point { return plane.Point{X: q[3*n+2], Y: -q[3*n+1]} }
			phi := 0.0
			if stiff {
				v := [3]float64{t.X * t.X, t.Y * t.Y, 2 * t.X * t.Y}
				d := 0.0
				for a := range 3 {
					for b := range 3 {
						d += v[a] * s.D[a][b] * v[b]
					}
				}
				g := t.X*t.X*s.S[0][0] + t.X*t.Y*(s.S[0][1]+s.S[1][0]) + t.Y*t.Y*s.S[1][1]
				phi = 12 * d / (g * long * long)
			}
			side[i] = -1.5 / (1 + phi) * ((q[3*j]-q[3*i])/long + (beta(i).Dot(t)+beta(j).Dot(t))/2)
			gamma[i] = -2.0 / 3 * phi * side[i]
		}
		out.load[u] = certifyPush(p, q, gamma) * area
		for n := range 3 {
			l := [3]float64{1.0 / 6, 1.0 / 6, 1.0 / 6}
			l[n] = 2.0 / 3
			strain[n][u] = certifyStrain(p, grad, l, q, side, gamma)
		}
	}
	for n := range 3 {
		for u := range 9 {
			m := certifyStress(s, strain[n][u])
			for v := range 9 {
				for k := range 5 {
					out.k[v][u] += area / 3 * m[k] * strain[n][v][k]
				}
			}
		}
	}
	out.mass = s.Mass
	return out
}

// certifyPush is the mean deflection of the triangle: the mean of the ten control values of its cubic.
func certifyPush(p [3]plane.Point, q [9]float64, gamma [3]float64) float64 {
	corners := q[0] + q[3] + q[6]
	sides := 0.0
	for i := range 3 {
		j := (i + 1) % 3
		e := p[j].Sub(p[i])
		slopeI := gamma[i]*e.Len() - (q[3*i+2]*e.X - q[3*i+1]*e.Y)
		slopeJ := gamma[i]*e.Len() - (q[3*j+2]*e.X - q[3*j+1]*e.Y)
		sides += q[3*i] + slopeI/3 + q[3*j] - slopeJ/3
	}
	return (corners + sides + sides/4 - corners/6) / 10
}

// certifyStrain is curvature and shear at the area coordinates l.
func certifyStrain(p, grad [3]plane.Point, l [3]float64, q [9]float64, side, gamma [3]float64) (out [5]float64) {
	for i := range 3 {
		j := (i + 1) % 3
		bx, by := q[3*i+2], -q[3*i+1]
		out[0] += bx * grad[i].X
		out[1] += by * grad[i].Y
		out[2] += bx*grad[i].Y + by*grad[i].X
		e := p[j].Sub(p[i])
		t := e.Unit()
		g := grad[j].Scale(l[i]).Add(grad[i].Scale(l[j])).Scale(4 * side[i])
		out[0] += t.X * g.X
		out[1] += t.Y * g.Y
		out[2] += t.X*g.Y + t.Y*g.X
		w := grad[j].Scale(l[i]).Sub(grad[i].Scale(l[j])).Scale(gamma[i] * e.Len())
		out[3] += w.X
		out[4] += w.Y
	}
	return out
}

// certifyStress is moment and shear force of a strain.
func certifyStress(s *Section, e [5]float64) (m [5]float64) {
	for a := range 3 {
		for b := range 3 {
			m[a] += s.D[a][b] * e[b]
		}
	}
	for a := range 2 {
		for b := range 2 {
			m[3+a] += s.S[a][b] * e[3+b]
		}
	}
	return m
}

// certifyRounding is the share of its parts that an element force may be off by: those of the condensed panel are no better. It counts
// where a panel stands far off without bending, and next to nothing holds it.
const certifyRounding = 0x1p-40

// certifyBalance gathers nodal forces and moments, and how large their parts were.
type certifyBalance struct {
	f    [][3]float64 // out of balance at each node: force, moments about x and y
	sum  [][3]float64 // of the magnitudes that element forces there are made of, which are good to rounding
	most [2]float64   // greatest force and moment that any element or load gave
}

func (b *certifyBalance) add(node int32, force, mx, my float64) {
	v := &b.f[node]
	v[0], v[1], v[2] = v[0]+force, v[1]+mx, v[2]+my
	b.most[0] = max(b.most[0], math.Abs(force))
	b.most[1] = max(b.most[1], math.Abs(mx), math.Abs(my))
}

// Certify works out the evidence that a and f are the answer to load l under laws, one for each of the model's points.
func (c *Certifier) Certify(laws []Law, l Load, a *Answer, f *Field) Certificate {
	m := c.m
	b := &certifyBalance{f: make([][3]float64, len(m.Mesh.Nodes)), sum: make([][3]float64, len(m.Mesh.Nodes))}
	var out Certificate
	sum := certifySum{mid: c.mid}
	c.gather(l, f, b, &sum, &out)
	for i, n := range m.Points {
		b.add(n, a.Force[i], 0, 0)
		sum.add(m.Mesh.Nodes[n], a.Force[i], 0, 0)
		out.Reaction += a.Force[i]
		pull := certifyShut(laws[i]) // wire and seat, which press on each other, are forces that balance too
		sum.size(m.Mesh.Nodes[n], pull)
		b.most[0], b.most[1] = max(b.most[0], pull), max(b.most[1], pull*c.edge)
	}
	c.fixed(b, &sum, &out)
	out.Balance, out.Moment = sum.relative()
	for n, v := range b.f {
		for k, most := range [3]float64{b.most[0], b.most[1], b.most[1]} {
			out.Residual = max(out.Residual, certifyShare(max(math.Abs(v[k])-certifyRounding*b.sum[n][k], 0), most))
		}
	}
	c.law(laws, a, f, &out)
	return out
}

// gather adds up what the elements and the load do to each node.
func (c *Certifier) gather(l Load, f *Field, b *certifyBalance, sum *certifySum, out *Certificate) {
	m := c.m
	for t, v := range m.Mesh.Tris {
		e := &c.unit[t]
		p := l.Pressure + l.Accel*e.mass
		if l.PressureOf != nil {
			p += l.PressureOf[t]
		}
		var q [9]float64
		for i, n := range v {
			q[3*i], q[3*i+1], q[3*i+2] = f.W[n], f.TX[n], f.TY[n]
		}
		for i, n := range v {
			var r [3]float64
			for k := range 3 {
				for u := range 9 {
					part := e.k[3*i+k][u] * q[u]
					r[k] -= part
					b.sum[n][k] += math.Abs(part)
				}
			}
			b.add(n, r[0], r[1], r[2])
			g := [3]float64{p * e.load[3*i], p * e.load[3*i+1], p * e.load[3*i+2]}
			b.add(n, g[0], g[1], g[2])
			sum.add(m.Mesh.Nodes[n], g[0], g[1], g[2])
			out.Load += g[0]
		}
	}
	for _, p := range l.Points {
		b.add(p.Node, p.Force, 0, 0)
		sum.add(m.Mesh.Nodes[p.Node], p.Force, 0, 0)
		out.Load += p.Force
	}
}

// fixed takes what fixed nodes carry off the forces out of balance: it is a reaction.
func (c *Certifier) fixed(b *certifyBalance, sum *certifySum, out *Certificate) {
	for _, x := range c.m.Fixed {
		v := &b.f[x.Node]
		at := c.m.Mesh.Nodes[x.Node]
		if x.W {
			sum.add(at, -v[0], 0, 0)
			out.Reaction -= v[0]
			v[0] = 0
		}
		for turn, fixed := range []bool{x.Along, x.Cross} {
			if !fixed {
				continue
			}
			dir := x.Dir + float64(turn)*math.Pi/2
			d := plane.Point{X: math.Cos(dir), Y: math.Sin(dir)}
			r := v[1]*d.X + v[2]*d.Y
			sum.add(at, 0, -r*d.X, -r*d.Y)
			v[1], v[2] = v[1]-r*d.X, v[2]-r*d.Y
		}
	}
}

// Reactions returns the outward force (N) that each node with a fixed w gets from what holds it, by node: load and element forces
// worked out anew.
func (c *Certifier) Reactions(l Load, f *Field) map[int32]float64 {
	b := &certifyBalance{f: make([][3]float64, len(c.m.Mesh.Nodes)), sum: make([][3]float64, len(c.m.Mesh.Nodes))}
	sum := certifySum{mid: c.mid}
	var out Certificate
	c.gather(l, f, b, &sum, &out)
	r := map[int32]float64{}
	for _, x := range c.m.Fixed {
		if x.W {
			r[x.Node] = -b.f[x.Node][0]
		}
	}
	return r
}

// certifySum adds up forces and their moments about axes through the middle of the panel, and their magnitudes.
type certifySum struct {
	mid                    plane.Point
	force, mx, my          float64
	forceAll, mxAll, myAll float64
}

// add counts a force at a place and a moment vector there; a force F at (x, y) turns with (F·y, −F·x).
func (s *certifySum) add(at plane.Point, force, mx, my float64) {
	at = at.Sub(s.mid)
	s.force += force
	s.mx += force*at.Y + mx
	s.my += my - force*at.X
	s.forceAll += math.Abs(force)
	s.mxAll += math.Abs(force*at.Y) + math.Abs(mx)
	s.myAll += math.Abs(force*at.X) + math.Abs(my)
}

// size counts a force as one of the magnitudes only.
func (s *certifySum) size(at plane.Point, force float64) {
	at = at.Sub(s.mid)
	s.forceAll += math.Abs(force)
	s.mxAll += math.Abs(force * at.Y)
	s.myAll += math.Abs(force * at.X)
}

// relative returns what is out of balance over the magnitudes; both moments over the greater, for forces on one axis have none
// about it.
func (s *certifySum) relative() (force, moment float64) {
	return certifyShare(s.force, s.forceAll), certifyShare(max(math.Abs(s.mx), math.Abs(s.my)), max(s.mxAll, s.myAll))
}

// certifyShare is |part| of whole, 0 where both are nothing.
func certifyShare(part, whole float64) float64 {
	if part == 0 {
		return 0
	}
	return math.Abs(part) / whole
}

// law measures how far points stand off their laws, and off the field.
func (c *Certifier) law(laws []Law, a *Answer, f *Field, out *Certificate) {
	for i := range a.W {
		out.ScaleW, out.ScaleF = max(out.ScaleW, math.Abs(a.W[i])), max(out.ScaleF, math.Abs(a.Force[i]), certifyShut(laws[i]))
	}
	// Where nothing moves or nothing pushes, any length or force would do to measure with.
	sw, sf := out.ScaleW, out.ScaleF
	if sw == 0 {
		sw = 1
	}
	if sf == 0 {
		sf = 1
	}
	for i, n := range c.m.Points {
		out.Law = max(out.Law, math.Abs(a.W[i]-f.W[n])/sw, certifyOff(laws[i], a.W[i], a.Force[i], sw, sf))
	}
}

// certifyShut is the magnitude of a law's force at w = 0, without what a stop there adds; a law that has no force there has none
// where it is nearest.
func certifyShut(l Law) float64 {
	if len(l.Knots) == 0 {
		return 0
	}
	first, last := l.Knots[0], l.Knots[len(l.Knots)-1]
	most := 0.0
	switch {
	case first.W >= 0:
		most = math.Abs(first.F)
		if !math.IsInf(l.Before, -1) {
			most = math.Abs(first.F - l.Before*first.W)
		}
	case last.W <= 0:
		most = math.Abs(last.F)
		if !math.IsInf(l.After, -1) {
			most = math.Abs(last.F - l.After*last.W)
		}
	}
	for i, k := range l.Knots {
		if k.W == 0 {
			most = max(most, math.Abs(k.F))
		}
		if i > 0 && l.Knots[i-1].W < 0 && k.W > 0 {
			p := l.Knots[i-1]
			most = math.Abs(p.F + (k.F-p.F)*p.W/(p.W-k.W))
		}
	}
	return most
}

// certifyOff is the distance of (w, force) from the broken line of a law, w in units of sw, force in units of sf.
func certifyOff(l Law, w, force, sw, sf float64) float64 {
	x := plane.Point{X: w / sw, Y: force / sf}
	if len(l.Knots) == 0 {
		return math.Abs(x.Y)
	}
	best := math.Inf(1)
	// The line through k with a slope, from w = from to w = to. Measured from its point at x's own w where it has one there: a knot
	// may be 1e10 times as far off as x.
	try := func(k Knot, slope, from, to float64) {
		base := min(max(w, from), to)
		a := plane.Point{X: base / sw, Y: (k.F + slope*(base-k.W)) / sf}
		d := plane.Point{X: 1, Y: slope * sw / sf}
		t := min(max(x.Sub(a).Dot(d)/d.Dot(d), (from-base)/sw), (to-base)/sw)
		best = min(best, a.Add(d.Scale(t)).Dist(x))
	}
	down := func(w0, least, most float64) { // straight down at w0
		best = min(best, plane.Point{X: w0 / sw, Y: min(max(force, least), most) / sf}.Dist(x))
	}
	for i := 1; i < len(l.Knots); i++ {
		p, q := l.Knots[i-1], l.Knots[i]
		if p.W == q.W {
			down(p.W, q.F, p.F)
			continue
		}
		near := p
		if math.Abs(w-q.W) < math.Abs(w-p.W) {
			near = q
		}
		try(near, (q.F-p.F)/(q.W-p.W), p.W, q.W)
	}
	inf := math.Inf(1)
	if k := l.Knots[0]; math.IsInf(l.Before, -1) {
		down(k.W, k.F, inf)
	} else {
		try(k, l.Before, -inf, k.W)
	}
	if k := l.Knots[len(l.Knots)-1]; math.IsInf(l.After, -1) {
		down(k.W, -inf, k.F)
	} else {
		try(k, l.After, k.W, inf)
	}
	return best
}

// What a certificate may miss by, relative. Equilibrium of the whole is summed up from thousands of parts; the nodes' balance is
// the solver's rounding times how ill a mesh with fine places is conditioned.
const (
	CertifyBalance  = 1e-9
	CertifyResidual = 1e-7
	CertifyLaw      = 1e-8
)

// Faults says in words what the certificate finds wrong; none when it is good.
func (c Certificate) Faults() []string {
	var out []string
	add := func(what string, got, most float64) {
		if !(got <= most) {
			out = append(out, fmt.Sprintf("%s: %.2g, at most %.2g", what, got, most))
		}
	}
	add("loads and reactions out of balance, relative", c.Balance, CertifyBalance)
	add("moments out of balance, relative", c.Moment, CertifyBalance)
	add("a node out of balance, relative", c.Residual, CertifyResidual)
	add("a support, seal or station off its law, relative", c.Law, CertifyLaw)
	return out
}
