package bearing

import (
	"fmt"
	"math"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// openGap is how far (mm) a seat must have opened to count as open: below what a feeler gauge tells.
const openGap = 1e-3

// caseOf gathers what one case tells.
func (r *run) caseOf(name string, load plate.Load, a *plate.Answer, f *plate.Field) setout.BearingCase {
	b := r.b
	cert := r.proof.Certify(r.laws, load, a, f)
	c := setout.BearingCase{
		Name: name, Load: cert.Load, Reaction: cert.Reaction, Balance: cert.Balance, Moment: cert.Moment,
		CertificateFaults: cert.Faults(), Iterations: a.Iterations, W: f.W,
	}
	c.Certified = len(c.CertificateFaults) == 0
	c.WMax = math.Inf(-1)
	for n, w := range f.W {
		if w > c.WMax {
			c.WMax, c.WMaxAt = w, b.model.Mesh.Nodes[n]
		}
	}
	c.Sag = r.sag(f.W, a.W)
	c.Valid, c.Reason = rangeReason(c.Sag, r.out.Thickness)
	if m := r.pan.Job.Outer.Material; load.Accel != 0 && m.Rho <= 0 {
		c.Valid, c.Reason = false, "the density of "+m.ID+" is not known, so the panel's own mass is left out: give it"
	}
	for s, w := range r.wires {
		z := a.W[b.station[s]]
		c.Wire = append(c.Wire, b.pull(w, z))
		c.Open = append(c.Open, z > openGap)
		c.Prying += c.Wire[s]
	}
	c.Prying -= c.Load
	r.pushes(a, &c)
	c.Gap, c.GapMax, c.GapSeam, c.GapAt = r.gaps(a.W)
	r.stress(f, &c)
	return c
}

// pushes works out what each support point pushes: all that acts there less the wires and the seal.
func (r *run) pushes(a *plate.Answer, c *setout.BearingCase) {
	push := append([]float64(nil), a.Force...)
	for p, s := range r.b.push {
		push[p] -= s
		c.Prying -= s
	}
	for s := range r.wires {
		push[r.b.station[s]] += c.Wire[s]
	}
	for s := range r.wires {
		// Two stations on one spot share its seat as they share the pull.
		p, pull := r.b.station[s], 0.0
		for k := range r.wires {
			if r.b.station[k] == p {
				pull += c.Wire[k]
			}
		}
		held := c.Wire[s]
		if pull > 0 {
			held -= push[p] * c.Wire[s] / pull
		}
		c.Held = append(c.Held, held)
	}
	touch, all := 0, 0
	for p, on := range r.b.support {
		if !on {
			continue
		}
		c.Push = append(c.Push, push[p])
		if all++; a.W[p] <= openGap {
			touch++
		}
	}
	if all > 0 {
		c.InTouch = float64(touch) / float64(all)
	}
}

// gaps reads w along the seams.
func (r *run) gaps(w []float64) (gap [][]float64, most float64, seam int, at plane.Point) {
	most = math.Inf(-1)
	for k, s := range r.b.seams {
		line := make([]float64, len(s.point))
		for i, p := range s.point {
			line[i] = w[p]
			if w[p] > most {
				most, seam, at = w[p], k, s.seam.At[i]
			}
		}
		gap = append(gap, line)
	}
	return gap, most, seam, at
}

// tiltMost is the slope from which a panel that turns as a whole has come off: wires have let go by then.
const tiltMost = 0.1

// swinging is a panel that loads turn off its supports, with nothing but the width of these against it. In theory the wires hold it
// still, drawn by many times what any wire can be.
type swinging struct {
	slope float64
}

func (e *swinging) Error() string {
	return fmt.Sprintf("the panel is not held: loads turn it off its supports, with nothing but their width against it; the wires would have to let it lean by 1 in %s", measure.Fixed(1/e.slope, 2))
}

// settle finds where load i, with these laws, leaves the panel and the whole sheet, forces put right against the sheet itself. Errors
// are solve's, which comes first: a panel that turns off its supports goes so far that figures may run out there; and *plate.Uncertain.
func (r *run) settle(i int, laws []plate.Law, from *plate.Answer) (*plate.Answer, *plate.Field, error) {
	a, err := r.solve(i, laws, from)
	if err != nil {
		return nil, nil, err
	}
	return r.b.face.Settle(r.c, r.reduced, i, laws, a)
}

// solve finds where load i, with these laws, leaves the interface. A panel that turns off its supports is an error, as one that nothing
// holds at all: bending is not what lets it go, so thickness and stretch have no say in it.
func (r *run) solve(i int, laws []plate.Law, from *plate.Answer) (*plate.Answer, error) {
	a, err := r.c.Solve(r.reduced.F[i], laws, from)
	if err == nil {
		err = r.swings(a)
	}
	return a, err
}

// swings is the error of a panel that turns as a whole; nil where it does not.
func (r *run) swings(a *plate.Answer) error {
	const bends = 0.1 // of the way that it goes: less than that is bending
	m, ok := fitPlane(r.b.at, a.W)
	slope := math.Hypot(m[1], m[2])
	if !ok || slope <= tiltMost {
		return nil
	}
	lo, hi, off := math.Inf(1), math.Inf(-1), 0.0
	for k, p := range r.b.at {
		z := m[0] + m[1]*p[0] + m[2]*p[1]
		lo, hi, off = min(lo, z), max(hi, z), max(off, math.Abs(a.W[k]-z))
	}
	if off <= bends*(hi-lo) {
		return &swinging{slope}
	}
	return nil
}

// sag is how far the sheet bows, either way, off the plane that lies best through the points on which it is held.
func (r *run) sag(w, held []float64) float64 {
	m, ok := fitPlane(r.b.at, held)
	if !ok {
		m = [3]float64{}
	}
	sag := 0.0
	for n, p := range r.b.model.Mesh.Nodes {
		sag = max(sag, math.Abs(w[n]-m[0]-m[1]*p.X-m[2]*p.Y))
	}
	return sag
}

// fitPlane fits m0 + m1·x + m2·y to values at places by least squares, about the middle of the places.
func fitPlane(at [][2]float64, v []float64) (m [3]float64, ok bool) {
	if len(at) == 0 {
		return m, false
	}
	n := float64(len(at))
	var cx, cy, cv float64
	for i, p := range at {
		cx, cy, cv = cx+p[0]/n, cy+p[1]/n, cv+v[i]/n
	}
	var xx, xy, yy, xv, yv float64
	for i, p := range at {
		x, y := p[0]-cx, p[1]-cy
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
		xv, yv = xv+x*(v[i]-cv), yv+y*(v[i]-cv)
	}
	det := xx*yy - xy*xy
	if !(det > 1e-9*(xx+yy)*(xx+yy)) { // all in one line
		return m, false
	}
	a, b := (xv*yy-yv*xy)/det, (yv*xx-xv*xy)/det
	return [3]float64{cv - a*cx - b*cy, a, b}, true
}

// headReach is how far (mm) from a station's middle stress is left out where its head is not known.
const headReach = 8.0

// stress finds the greatest stress, but under the heads: at the point where a force acts plate theory has no bound, and the head
// spreads it.
func (r *run) stress(f *plate.Field, c *setout.BearingCase) {
	st := r.b.system.Stress(f)
	nodes := r.b.model.Mesh.Nodes
	under := make([]bool, len(nodes))
	for _, s := range r.pan.Stations {
		reach := headReach
		if s.Choice != nil && s.Choice.Stud != nil && s.Choice.Stud.HeadDiameter > 0 {
			reach = s.Choice.Stud.HeadDiameter / 2
		}
		for n, p := range nodes {
			under[n] = under[n] || p.Dist(s.At) <= reach
		}
	}
	laminate := false
	if m := r.pan.Job.Outer.Material; m != nil {
		laminate = m.Family == stock.GlassFibre || m.Family == stock.CarbonFibre
	}
	c.StressKind = "Von Mises"
	if laminate {
		c.StressKind = "greatest principal"
	}
	for place, n := range st.Node {
		if under[n] {
			continue
		}
		for k := range st.Fibres(place) {
			v := st.Mises(place, k)
			if laminate {
				most, least := st.Principal(place, k)
				v = math.Max(math.Abs(most), math.Abs(least))
			}
			if v > c.Stress {
				c.Stress, c.StressAt = v, nodes[n]
			}
		}
	}
}
