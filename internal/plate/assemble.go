package plate

import (
	"math"
	"runtime"

	"panelwright/internal/plane"
	"panelwright/internal/sparse"
)

// System is a model as equations: stiffness, and which unknown is what. Unknowns are those left free, node after node, in each
// node w, then its rotations: θx, θy, or those about its own axes where a Fix turned them. The w of the model's Points are kept
// to the last by the plan, in the order of Points.
type System struct {
	Model *Model

	plan   *sparse.Plan
	k      *sparse.Matrix
	shape  sparse.Shape
	number []int32      // perNode·node + place → unknown, −1 where fixed
	axes   [][2]float64 // cosine and sine of each node's axes; nil when no node is turned
}

// Assemble builds the equations of a model: Check's errors, nothing else fails. The result does not depend on the number of
// processors.
func Assemble(m *Model) (*System, error) {
	if err := m.Check(); err != nil {
		return nil, err
	}
	s := &System{Model: m}
	s.layOut()
	plan, err := sparse.Analyse(s.shape)
	if err != nil {
		return nil, err
	}
	s.plan = plan
	s.k = s.gather(func(t int, ke *[elementEntries]float64) {
		e, section := s.triangle(t)
		e.stiffness(section, ke)
	})
	return s, nil
}

// layOut numbers the free unknowns and says to the solver where they stand.
func (s *System) layOut() {
	m := s.Model
	n := len(m.Mesh.Nodes)
	s.number = make([]int32, perNode*n)
	s.fix()
	s.shape = sparse.Shape{
		Start: make([]int32, 1, n+1), X: make([]float64, n), Y: make([]float64, n),
		Elements: make([][]int32, len(m.Mesh.Tris)), Keep: make([]int32, len(m.Points)),
	}
	next := int32(0)
	for i, p := range m.Mesh.Nodes {
		s.shape.X[i], s.shape.Y[i] = p.X, p.Y
		for u := perNode * i; u < perNode*(i+1); u++ {
			if s.number[u] == 0 {
				s.number[u] = next
				next++
			}
		}
		s.shape.Start = append(s.shape.Start, next)
	}
	for t := range m.Mesh.Tris {
		s.shape.Elements[t] = m.Mesh.Tris[t][:]
	}
	for i, p := range m.Points {
		s.shape.Keep[i] = s.number[perNode*int(p)+unknownW]
	}
}

// fix marks fixed unknowns with −1 and turns the axes of nodes that need it. Fixes of one node add up: rotations fixed about
// two different axes are both fixed.
func (s *System) fix() {
	const parallel = 1e-9 // rad: axes closer than this are one
	axis := map[int32]float64{}
	for _, f := range s.Model.Fixed {
		at := s.number[perNode*int(f.Node) : perNode*int(f.Node)+perNode]
		if f.W {
			at[unknownW] = -1
		}
		for turn, wanted := range [2]bool{f.Along, f.Cross} {
			if !wanted {
				continue
			}
			dir := f.Dir + float64(turn)*math.Pi/2
			old, ok := axis[f.Node]
			switch {
			case !ok:
				axis[f.Node] = dir
				at[unknownX] = -1
				s.turn(f.Node, dir)
			case math.Abs(math.Sin(dir-old)) > parallel:
				at[unknownY] = -1
			}
		}
	}
}

// turn gives a node axes of its own. Axes along x or y within rounding are taken as such.
func (s *System) turn(node int32, dir float64) {
	c, n := math.Cos(dir), math.Sin(dir)
	const rounding = 1e-15
	if math.Abs(n) < rounding {
		return
	}
	if math.Abs(c) < rounding {
		c, n = 0, math.Copysign(1, n)
	}
	if s.axes == nil {
		s.axes = make([][2]float64, len(s.Model.Mesh.Nodes))
		for i := range s.axes {
			s.axes[i] = [2]float64{1, 0}
		}
	}
	s.axes[node] = [2]float64{c, n}
}

// triangle returns the element of triangle t and its section.
func (s *System) triangle(t int) (elementShape, *Section) {
	m := s.Model
	section := &m.Sections[0]
	if m.Of != nil {
		section = &m.Sections[m.Of[t]]
	}
	var p [elementNodes]plane.Point
	for i, n := range m.Mesh.Tris[t] {
		p[i] = m.Mesh.Nodes[n]
	}
	return newElementShape(&p, section), section
}

// gatherBlock is the number of triangles whose matrices one worker makes before it hands them on.
const gatherBlock = 128

// gather adds up element matrices. Workers make them, block by block; they are added in the order of the triangles, so the
// sums are the same bits for any number of workers.
func (s *System) gather(fill func(t int, ke *[elementEntries]float64)) *sparse.Matrix {
	a := s.plan.NewMatrix()
	n := len(s.Model.Mesh.Tris)
	blocks := (n + gatherBlock - 1) / gatherBlock
	workers := max(1, min(runtime.GOMAXPROCS(0), blocks))
	type made struct {
		ke   [gatherBlock][elementEntries]float64
		size [gatherBlock]int
	}
	ready, free := make([]chan *made, workers), make([]chan *made, workers)
	for w := range workers {
		ready[w], free[w] = make(chan *made, 2), make(chan *made, 2)
		free[w] <- new(made)
		free[w] <- new(made)
		go func() {
			for b := w; b < blocks; b += workers {
				block := <-free[w]
				for i := range min(gatherBlock, n-b*gatherBlock) {
					t := b*gatherBlock + i
					fill(t, &block.ke[i])
					block.size[i] = s.release(t, &block.ke[i])
				}
				ready[w] <- block
			}
		}()
	}
	for b := range blocks {
		block := <-ready[b%workers]
		for i := range min(gatherBlock, n-b*gatherBlock) {
			a.AddElement(b*gatherBlock+i, block.ke[i][:block.size[i]*block.size[i]])
		}
		free[b%workers] <- block
	}
	return a
}

// release turns the matrix of triangle t to the axes of its nodes, takes out what is fixed, and returns how many unknowns are
// left, packed to the front.
func (s *System) release(t int, ke *[elementEntries]float64) int {
	var keep [elementSize]int
	n := 0
	for i, node := range s.Model.Mesh.Tris[t] {
		if s.axes != nil {
			if ax := s.axes[node]; ax[1] != 0 {
				elementTurn(ke, perNode*i+unknownX, perNode*i+unknownY, ax)
			}
		}
		for u := range perNode {
			if s.number[perNode*int(node)+u] >= 0 {
				keep[n] = perNode*i + u
				n++
			}
		}
	}
	if n == elementSize {
		return n
	}
	for i := range n {
		for j := range n {
			ke[i*n+j] = ke[keep[i]*elementSize+keep[j]]
		}
	}
	return n
}

// elementTurn replaces unknowns x and y by those along axes with the given cosine and sine: Rᵀ·K·R.
func elementTurn(ke *[elementEntries]float64, x, y int, ax [2]float64) {
	c, n := ax[0], ax[1]
	for i := range elementSize {
		a, b := ke[i*elementSize+x], ke[i*elementSize+y]
		ke[i*elementSize+x], ke[i*elementSize+y] = c*a+n*b, c*b-n*a
	}
	for i := range elementSize {
		a, b := ke[x*elementSize+i], ke[y*elementSize+i]
		ke[x*elementSize+i], ke[y*elementSize+i] = c*a+n*b, c*b-n*a
	}
}

// Unknowns returns the number of free unknowns.
func (s *System) Unknowns() int { return int(s.shape.Start[len(s.shape.Start)-1]) }

// Nodes returns the number of nodes.
func (s *System) Nodes() int { return len(s.Model.Mesh.Nodes) }

// Plan returns the elimination plan of the stiffness and of every matrix of this system.
func (s *System) Plan() *sparse.Plan { return s.plan }

// Stiffness returns K. The system owns it; it must not be changed.
func (s *System) Stiffness() *sparse.Matrix { return s.k }

// Deflection returns the unknown that is w of a node, −1 where it is fixed.
func (s *System) Deflection(node int32) int { return int(s.number[perNode*int(node)+unknownW]) }

// Mass returns the mass matrix (tonne): consistent with the cubic deflection of each triangle, or lumped, a third of each
// triangle's mass on the w of its corners and none on rotations. Rotary inertia is in neither. The caller owns it.
func (s *System) Mass(lumped bool) *sparse.Matrix {
	a := s.gather(func(t int, me *[elementEntries]float64) {
		e, section := s.triangle(t)
		if !lumped {
			e.mass(section.Mass, me)
			return
		}
		*me = [elementEntries]float64{}
		for i := range elementNodes {
			u := perNode*i + unknownW
			me[u*elementSize+u] = section.Mass * e.area / 3
		}
	})
	for _, m := range s.Model.Masses {
		if u := s.Deflection(m.Node); u >= 0 {
			a.Add(u, u, m.Mass)
		}
	}
	return a
}

// Load returns the load vector (N, N·mm) over the free unknowns: pressure and inertia consistent with the cubic deflection of
// each triangle, so that their work on any quadratic deflection is exact, and point forces. What falls on fixed unknowns goes
// straight into their supports and is not in it.
func (s *System) Load(l Load) []float64 { return s.load(l, (*elementShape).load) }

// load adds up a load case, with fill putting an even pressure on a triangle's unknowns.
func (s *System) load(l Load, fill func(e *elementShape, p float64, fe *[elementSize]float64)) []float64 {
	m := s.Model
	if l.PressureOf != nil && len(l.PressureOf) != len(m.Mesh.Tris) {
		panic("plate: len(PressureOf) != number of triangles")
	}
	f := make([]float64, s.Unknowns())
	for t := range m.Mesh.Tris {
		e, section := s.triangle(t)
		p := l.Pressure + l.Accel*section.Mass
		if l.PressureOf != nil {
			p += l.PressureOf[t]
		}
		if p == 0 {
			continue
		}
		var fe [elementSize]float64
		fill(&e, p, &fe)
		for i, node := range m.Mesh.Tris[t] {
			s.addNode(f, node, fe[perNode*i:perNode*i+perNode])
		}
	}
	for _, p := range l.Points {
		if u := s.Deflection(p.Node); u >= 0 {
			f[u] += p.Force
		}
	}
	return f
}

// addNode adds a force and a moment vector at a node to f.
func (s *System) addNode(f []float64, node int32, v []float64) {
	x, y := v[unknownX], v[unknownY]
	if s.axes != nil {
		c, n := s.axes[node][0], s.axes[node][1]
		x, y = c*x+n*y, c*y-n*x
	}
	for u, value := range [perNode]float64{v[unknownW], x, y} {
		if at := s.number[perNode*int(node)+u]; at >= 0 {
			f[at] += value
		}
	}
}
