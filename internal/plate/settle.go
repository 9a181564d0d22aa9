package plate

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// Uncertain says that an answer was found whose figures are not worth stating: stiffnesses lie so far apart, or the panel stands so
// far off on so little, that rounding is what is left of its forces.
type Uncertain struct {
	Left float64 // what of the forces is out of balance, relative
	Why  string
	Far  float64 // greatest deflection over the panel's size, where it is beyond SettleFar: what it stands off by means nothing then
}

// SettleFar is the deflection over the panel's size beyond which figures may run out for that reason alone: stiffness times so great a
// deflection is rounded by more than the small forces that it rests on, and no panel bends by ten times its size.
const SettleFar = 10

// Error says it in words.
func (e *Uncertain) Error() string {
	s := fmt.Sprintf("figures run out: %s; %.2g of the forces is out of balance", e.Why, e.Left)
	if e.Far > 0 {
		s += fmt.Sprintf("; the panel stands off by %.2g times its own size", e.Far)
	}
	return s
}

// The bounds of Settle: relative to the greatest load or force at the interface.
const (
	settleClose  = 1e-11 // what a point may be out of balance by against the sheet itself
	settleWorst  = 2e-10 // where rounding leaves more: several points together must stay within what a certificate allows
	settleWhole  = 5e-10 // what all together may, in force and moment, of all their magnitudes: half of what a certificate allows
	settleNear   = 2e-11 // … and what is near enough not to try for better
	settleNode   = 5e-8  // what any other node may: half of what a certificate allows
	settleRounds = 6
)

// Settle solves case i of r under laws, one for each interface point, and puts the answer right against the sheet itself: forces at
// the points that the condensed stiffness gave, rounded as that is, are compared with those that the whole sheet asks for, and what
// they differ by is solved for again. It returns the answer and the deflected sheet that belongs to it. Errors are Solve's, and
// *Uncertain where no refinement brings loads and forces into balance.
func (it *Interface) Settle(c *Compliance, r *Reduced, i int, laws []Law, start *Answer) (*Answer, *Field, error) {
	n := it.Points()
	f, shut := r.F[i], settleShut(laws)
	var best *Answer
	var sheet []float64
	left, node, whole, miss := math.Inf(1), math.Inf(1), math.Inf(1), math.Inf(1)
	for range settleRounds {
		a, err := c.Solve(f, laws, start)
		if err != nil && best == nil {
			return nil, nil, err
		}
		if err != nil {
			break
		}
		x, off := it.sheet(r, i, a.W, shut)
		wanted, scale := it.wanted(r.load[i], x)
		scale = max(scale, shut)
		worst := 0.0
		for k, v := range wanted {
			worst = max(worst, math.Abs(v-a.Force[k]))
		}
		if scale > 0 {
			worst /= scale
		}
		// A small force with a long lever counts for the whole panel long before it does beside the greatest force.
		all := it.whole(r.load[i], a, laws)
		last := miss
		if now := max(worst/settleWorst, all/settleWhole); now < miss {
			best, sheet, left, node, whole, miss = a, x, worst, off, all, now
		}
		if worst <= settleClose && all <= settleNear || miss > 0.5*last {
			break
		}
		// The load for which the condensed panel asks for the same forces as the sheet, here.
		next := make([]float64, n)
		for k := range next {
			next[k] = contactDot(it.S[k*n:k*n+n], a.W) - wanted[k]
		}
		f, start = next, a
	}
	bad := func(left float64, why string) (*Answer, *Field, error) {
		e := &Uncertain{Left: left, Why: why}
		box := plane.EmptyBox()
		for _, n := range it.System.Model.Mesh.Nodes {
			box = box.Include(n)
		}
		if far := contactMost(it.System.Expand(sheet).W) / math.Hypot(box.Width(), box.Height()); far > SettleFar {
			e.Far = far
		}
		return nil, nil, e
	}
	switch {
	case left > settleWorst:
		return bad(left, "at the supports and stations")
	case node > settleNode:
		return bad(node, "within the sheet")
	case whole > settleWhole:
		return bad(whole, "of the panel as a whole")
	}
	return best, it.System.Expand(sheet), nil
}

// whole is what loads and forces together do along each rigid motion that nothing but the interface stops, as a share of what each
// of them does.
func (it *Interface) whole(load []float64, a *Answer, laws []Law) float64 {
	s := it.System
	worst := 0.0
	for _, v := range s.modesRigid(nil) {
		left, all := 0.0, 0.0
		for j, f := range load {
			left, all = left+f*v[j], all+math.Abs(f*v[j])
		}
		for i, p := range s.Model.Points {
			least, high := laws[i].finite(0)
			d := v[s.Deflection(p)]
			left += a.Force[i] * d
			all += math.Abs(a.Force[i]*d) + max(math.Abs(least), math.Abs(high))*math.Abs(d)
		}
		if left != 0 {
			worst = max(worst, math.Abs(left)/all)
		}
	}
	return worst
}

// settleShut is the greatest force that a law gives where the panel is shut.
func settleShut(laws []Law) (most float64) {
	for _, l := range laws {
		least, high := l.finite(0)
		most = max(most, math.Abs(least), math.Abs(high))
	}
	return most
}

// wanted returns the forces (N) that the sheet x asks for at the interface points under load, and the greatest of them and of the
// loads.
func (it *Interface) wanted(load, x []float64) (forces []float64, scale float64) {
	s := it.System
	res := make([]float64, len(x))
	s.k.MulAdd(res, x)
	forces = make([]float64, it.Points())
	for i, p := range s.Model.Points {
		u := s.Deflection(p)
		forces[i] = res[u] - load[u]
		scale = max(scale, math.Abs(forces[i]), math.Abs(load[u]))
	}
	return forces, scale
}

// sheet returns the unknowns of the whole panel in case c of r when its interface points stand at w, refined until what is left out
// of balance elsewhere is nothing beside the greatest load or force, those included that balance at the points while the panel is shut;
// off is what is left, as a share of it.
func (it *Interface) sheet(r *Reduced, c int, w []float64, shut float64) (x []float64, off float64) {
	s := it.System
	if len(w) != it.Points() {
		panic("plate: len(w) != number of interface points")
	}
	x = append([]float64(nil), r.half[c]...)
	for i, p := range s.Model.Points {
		x[s.Deflection(p)] = w[i]
	}
	it.factor.Backward(x, 1)
	last := math.Inf(1)
	for range settleRounds {
		res, worst := it.rest(r.load[c], x, shut)
		if worst <= settleClose || worst > 0.5*last {
			return x, min(worst, last)
		}
		last = worst
		it.factor.Forward(res, 1)
		for _, p := range s.Model.Points {
			res[s.Deflection(p)] = 0
		}
		it.factor.Backward(res, 1)
		for i, d := range res {
			x[i] += d
		}
	}
	return x, last
}

// rest returns what is out of balance at all unknowns but the interface's, and its greatest as a share of scale or the greatest load or
// force: of moments, with a mean triangle's edge for lever.
func (it *Interface) rest(load, x []float64, scale float64) (res []float64, worst float64) {
	s := it.System
	res = make([]float64, len(x))
	s.k.MulAdd(res, x)
	for i := range res {
		res[i] = load[i] - res[i]
	}
	force := make([]bool, len(x))
	for n := range s.Nodes() {
		if u := s.Deflection(int32(n)); u >= 0 {
			force[u] = true
			scale = max(scale, math.Abs(load[u]))
		}
	}
	for _, p := range s.Model.Points {
		u := s.Deflection(p)
		scale = max(scale, math.Abs(res[u])) // what acts there
		res[u] = 0
	}
	edge := s.edge()
	for i, v := range res {
		if force[i] {
			worst = max(worst, math.Abs(v))
		} else {
			worst = max(worst, math.Abs(v)/edge)
		}
	}
	if scale > 0 {
		worst /= scale
	}
	return res, worst
}

// edge is the edge of a triangle of mean area, mm.
func (s *System) edge() float64 {
	m := s.Model.Mesh
	area := 0.0
	for _, t := range m.Tris {
		a := m.Nodes[t[0]]
		area += m.Nodes[t[1]].Sub(a).Cross(m.Nodes[t[2]].Sub(a)) / 2
	}
	return math.Sqrt(2 * area / float64(len(m.Tris)))
}

// contactMost is the greatest magnitude in v.
func contactMost(v []float64) (most float64) {
	for _, x := range v {
		most = max(most, math.Abs(x))
	}
	return most
}
