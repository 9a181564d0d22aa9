package plate

import (
	"fmt"
	"math"
	"slices"

	"panelwright/internal/sparse"
)

// Interface is a panel seen from its interface points alone: S·w = f̂ + forces there, exactly. It is safe for use by several
// goroutines at once.
type Interface struct {
	System *System
	S      []float64 // N/mm, m×m, symmetric: the panel's stiffness at Model.Points, everything else left free. Singular when only they hold it

	factor *sparse.Factor
}

// Points returns the number of interface points m.
func (it *Interface) Points() int { return len(it.System.Model.Points) }

// Condense eliminates all unknowns but the w of the interface points. workers is the number of goroutines, 0 for one for each
// processor; the answer does not depend on it. It fails with *NotHeld when the panel could move even with every interface
// point held still, and with a wrapped *sparse.NotPositive when stiffnesses lie too far apart for the arithmetic.
func (s *System) Condense(workers int) (*Interface, error) {
	if err := s.held(); err != nil {
		return nil, err
	}
	factor, err := s.plan.Factor(s.k, sparse.Options{Workers: workers})
	if err != nil {
		return nil, fmt.Errorf("condense the panel to its %d interface points: %w", len(s.Model.Points), err)
	}
	it := &Interface{System: s, S: factor.Schur(), factor: factor}
	it.free()
	return it, nil
}

// free takes out of S what rounding makes it resist rigid motions that nothing resists: on soft supports a panel moves far, and
// would be held by that.
func (it *Interface) free() {
	s, n := it.System, it.Points()
	var basis [][]float64
	for _, x := range s.modesRigid(nil) {
		v := make([]float64, n)
		for i, p := range s.Model.Points {
			v[i] = x[s.Deflection(p)]
		}
		for range 2 {
			for _, q := range basis {
				contactAdd(-contactDot(v, q), q, v)
			}
		}
		if l := math.Sqrt(contactDot(v, v)); l > 0 {
			for i := range v {
				v[i] /= l
			}
			basis = append(basis, v)
		}
	}
	before := condenseMost(it.S)
	for _, q := range basis { // S ← (1 − q·qᵀ)·S·(1 − q·qᵀ)
		sq := make([]float64, n)
		for i := range n {
			sq[i] = contactDot(it.S[i*n:i*n+n], q)
		}
		qsq := contactDot(q, sq)
		for i := range n {
			row := it.S[i*n : i*n+n]
			for j := range row {
				row[j] += q[i]*q[j]*qsq - (q[i]*sq[j] + sq[i]*q[j])
			}
		}
	}
	const rounding = 1e-12
	if condenseMost(it.S) < rounding*before { // three points can move in no other way
		clear(it.S)
	}
}

func condenseMost(v []float64) (most float64) {
	for _, x := range v {
		most = max(most, math.Abs(x))
	}
	return most
}

// Reduced holds load cases condensed to the interface points.
type Reduced struct {
	F [][]float64 // N, for each case the load at each interface point; readers must not change it

	half [][]float64 // half-solved load vectors, what Field needs
	load [][]float64 // load vectors
}

// Reduce condenses load cases to the interface points. With every point held still, −F are the forces that hold them there.
func (it *Interface) Reduce(loads []Load) *Reduced {
	s := it.System
	n := s.Unknowns()
	all := make([]float64, n*len(loads))
	for c, l := range loads {
		copy(all[c*n:], s.Load(l))
	}
	r := &Reduced{F: make([][]float64, len(loads)), half: make([][]float64, len(loads)), load: make([][]float64, len(loads))}
	for c := range loads {
		r.load[c] = slices.Clone(all[c*n : (c+1)*n])
	}
	it.factor.Forward(all, len(loads))
	for c := range loads {
		x := all[c*n : (c+1)*n : (c+1)*n]
		f := make([]float64, it.Points())
		for i, p := range s.Model.Points {
			f[i] = x[s.Deflection(p)]
		}
		r.F[c], r.half[c] = f, x
	}
	return r
}

// Field returns the whole panel in case c of r when its interface points stand at w (mm): each other node where loads and w
// put it. The caller owns it.
func (it *Interface) Field(r *Reduced, c int, w []float64) *Field {
	x, _ := it.sheet(r, c, w, 0)
	return it.System.Expand(x)
}

// Field is a deflected panel.
type Field struct {
	W, TX, TY []float64 // of each node: deflection (mm), rotation vector (rad) along x and y
}

// Expand turns a solution over the free unknowns into a field over the nodes: fixed unknowns are zero, turned axes are turned
// back. The caller owns it.
func (s *System) Expand(x []float64) *Field {
	if len(x) != s.Unknowns() {
		panic("plate: len(x) != number of unknowns")
	}
	n := s.Nodes()
	f := &Field{W: make([]float64, n), TX: make([]float64, n), TY: make([]float64, n)}
	for i := range n {
		var v [perNode]float64
		for u := range perNode {
			if at := s.number[perNode*i+u]; at >= 0 {
				v[u] = x[at]
			}
		}
		f.W[i], f.TX[i], f.TY[i] = v[unknownW], v[unknownX], v[unknownY]
		if s.axes != nil {
			c, g := s.axes[i][0], s.axes[i][1]
			f.TX[i], f.TY[i] = c*v[unknownX]-g*v[unknownY], g*v[unknownX]+c*v[unknownY]
		}
	}
	return f
}

// element returns the field's values at the corners of triangle t, as the element's unknowns.
func (f *Field) element(tri [3]int32) (u [elementSize]float64) {
	for i, n := range tri {
		u[perNode*i+unknownW], u[perNode*i+unknownX], u[perNode*i+unknownY] = f.W[n], f.TX[n], f.TY[n]
	}
	return u
}
