package plate

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
)

// Unsound says what makes a model no model.
type Unsound struct {
	Place  string // "triangle 12", "section 0", "interface node 7"
	Reason string
}

// Error says it in words.
func (e *Unsound) Error() string { return "plate model: " + e.Place + ": " + e.Reason }

// NotModelled says that a model asks for more than the computation knows.
type NotModelled struct {
	Place, What string
}

// Error says it in words.
func (e *NotModelled) Error() string { return "plate model: " + e.Place + ": not modelled: " + e.What }

// Check tells the first thing that is wrong with the model: *Unsound for nonsense, *NotModelled for sheets that stretch when
// they bend (B ≠ 0). It does not tell whether the panel is held; Condense does.
func (m *Model) Check() error {
	if m.Mesh == nil || len(m.Mesh.Tris) == 0 {
		return &Unsound{"mesh", "it has no triangles"}
	}
	if len(m.Sections) == 0 {
		return &Unsound{"sections", "there is none"}
	}
	for i := range m.Sections {
		if err := m.Sections[i].check(fmt.Sprintf("section %d", i)); err != nil {
			return err
		}
	}
	if m.Of != nil && len(m.Of) != len(m.Mesh.Tris) {
		return &Unsound{"sections", fmt.Sprintf("%d triangles have one, of %d", len(m.Of), len(m.Mesh.Tris))}
	}
	for t, s := range m.Of {
		if s < 0 || int(s) >= len(m.Sections) {
			return &Unsound{fmt.Sprintf("triangle %d", t), fmt.Sprintf("there is no section %d", s)}
		}
	}
	if err := checkMesh(m.Mesh); err != nil {
		return err
	}
	return m.checkNodes()
}

// checkMesh checks that triangles have area and that every node has a triangle.
func checkMesh(g *mesh.Mesh) error {
	used := make([]bool, len(g.Nodes))
	for t, tri := range g.Tris {
		for _, n := range tri {
			if n < 0 || int(n) >= len(g.Nodes) {
				return &Unsound{fmt.Sprintf("triangle %d", t), fmt.Sprintf("there is no node %d", n)}
			}
			used[n] = true
		}
		a, b, c := g.Nodes[tri[0]], g.Nodes[tri[1]], g.Nodes[tri[2]]
		twice := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
		if !(twice > 0) || math.IsInf(twice, 0) {
			return &Unsound{fmt.Sprintf("triangle %d", t), fmt.Sprintf("its area is %g mm², corners must run anticlockwise", twice/2)}
		}
	}
	for n, ok := range used {
		if !ok {
			return &Unsound{fmt.Sprintf("node %d", n), "no triangle has it"}
		}
	}
	return nil
}

// checkNodes checks fixed and interface nodes.
func (m *Model) checkNodes() error {
	n := len(m.Mesh.Nodes)
	fixed := make(map[int32]bool, len(m.Fixed))
	for i, f := range m.Fixed {
		place := fmt.Sprintf("fixed node %d", i)
		if f.Node < 0 || int(f.Node) >= n {
			return &Unsound{place, fmt.Sprintf("there is no node %d", f.Node)}
		}
		if math.IsNaN(f.Dir) || math.IsInf(f.Dir, 0) {
			return &Unsound{place, "its direction is no angle"}
		}
		if f.W {
			fixed[f.Node] = true
		}
	}
	seen := make(map[int32]bool, len(m.Points))
	for i, p := range m.Points {
		place := fmt.Sprintf("interface point %d", i)
		switch {
		case p < 0 || int(p) >= n:
			return &Unsound{place, fmt.Sprintf("there is no node %d", p)}
		case seen[p]:
			return &Unsound{place, fmt.Sprintf("node %d is one already", p)}
		case fixed[p]:
			return &Unsound{place, fmt.Sprintf("node %d is fixed, nothing can act on it", p)}
		}
		seen[p] = true
	}
	return nil
}

// check checks one section: finite, D positive definite, S too or zero throughout, B zero.
func (s *Section) check(place string) error {
	all := []float64{s.Mass, s.Thickness}
	for i := range 3 {
		all = append(append(append(all, s.A[i][:]...), s.B[i][:]...), s.D[i][:]...)
	}
	all = append(append(all, s.S[0][:]...), s.S[1][:]...)
	for _, v := range all {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return &Unsound{place, "a stiffness or its mass is not finite"}
		}
	}
	if s.Mass < 0 {
		return &Unsound{place, fmt.Sprintf("its mass is %g", s.Mass)}
	}
	d := &s.D
	const rounding = 1e-12 // of what two ways to the same entry may differ by
	for i := range 3 {
		for j := range i {
			if math.Abs(d[i][j]-d[j][i]) > rounding*math.Sqrt(math.Abs(d[i][i]*d[j][j])) {
				return &Unsound{place, "D is not symmetric"}
			}
		}
	}
	two := d[0][0]*d[1][1] - d[0][1]*d[1][0]
	det := d[0][0]*(d[1][1]*d[2][2]-d[1][2]*d[2][1]) - d[0][1]*(d[1][0]*d[2][2]-d[1][2]*d[2][0]) + d[0][2]*(d[1][0]*d[2][1]-d[1][1]*d[2][0])
	if !(d[0][0] > 0 && two > 0 && det > 0) {
		return &Unsound{place, fmt.Sprintf("D is not positive: its leading minors are %.3g, %.3g, %.3g", d[0][0], two, det)}
	}
	if two := s.S[0][0]*s.S[1][1] - s.S[0][1]*s.S[1][0]; !s.thin() && !(s.S[0][0] > 0 && two > 0 && s.S[0][1] == s.S[1][0]) {
		return &Unsound{place, fmt.Sprintf("S is neither zero nor positive: its leading minors are %.3g, %.3g", s.S[0][0], two)}
	}
	return s.checkBalance(place)
}

// checkBalance refuses a sheet whose bending and stretching are coupled. Rounding is judged against √(A·D), what B could be.
func (s *Section) checkBalance(place string) error {
	const rounding = 1e-9
	top := math.Sqrt(math.Max(s.A[0][0], s.A[1][1]) * math.Max(s.D[0][0], s.D[1][1]))
	for _, row := range s.B {
		for _, b := range row {
			if math.Abs(b) > rounding*top {
				return &NotModelled{place, fmt.Sprintf("a sheet that stretches when it bends (B = %.3g N); stack its layers the same from both faces", b)}
			}
		}
	}
	return nil
}
