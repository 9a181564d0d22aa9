package fem

import (
	"fmt"
	"math"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// ours is what the panel model answers: forces at the interface points, gaps there and then at the looks.
type ours struct {
	force, w [][]float64
	hz       []float64
}

// work works a model out with our own mesh, element, factor and contact.
func (m *model) work(t testing.TB) *ours {
	t.Helper()
	var places []plane.Point
	for _, n := range m.points {
		places = append(places, m.nodes[n])
	}
	places = append(places, m.looks...)
	forces := map[int]int{} // index in places of each loaded node of the outside mesh
	for _, c := range m.cases {
		for n := range c.force {
			forces[n] = len(places)
			places = append(places, m.nodes[n])
		}
	}
	msh, err := mesh.Build(mesh.Domain{Region: m.region, Points: places, Lines: m.lines, Size: m.size})
	if err != nil {
		t.Fatal(err)
	}
	pm := &plate.Model{Mesh: msh, Sections: []plate.Section{plate.Sheet(m.e, m.nu, m.t, m.rho)}, Points: msh.Points[:len(m.points)]}
	if m.holdW {
		for _, b := range msh.Border {
			pm.Fixed = append(pm.Fixed, plate.Fix{Node: b.From, W: true})
		}
	}
	system, err := plate.Assemble(pm)
	if err != nil {
		t.Fatal(err)
	}
	if m.modes > 0 {
		return m.swing(t, system)
	}
	return m.bear(t, system, forces)
}

func (m *model) swing(t testing.TB, system *plate.System) *ours {
	springs := make([]float64, len(m.points))
	for i, l := range m.laws {
		springs[i] = -l.After
	}
	modes, err := system.Modes(springs, m.modes, false)
	if err != nil {
		t.Fatal(err)
	}
	out := &ours{}
	for _, mode := range modes {
		out.hz = append(out.hz, mode.Hz)
	}
	return out
}

func (m *model) bear(t testing.TB, system *plate.System, forces map[int]int) *ours {
	msh := system.Model.Mesh
	var cases []plate.Load
	for _, c := range m.cases {
		l := plate.Load{PressureOf: make([]float64, len(msh.Tris))}
		for i, tri := range msh.Tris {
			a, b, d := msh.Nodes[tri[0]], msh.Nodes[tri[1]], msh.Nodes[tri[2]]
			if c.on == nil || c.on(a.Add(b).Add(d).Scale(1.0/3)) {
				l.PressureOf[i] = c.pressure
			}
		}
		for n, f := range c.force {
			l.Points = append(l.Points, plate.PointLoad{Node: msh.Points[forces[n]], Force: f})
		}
		cases = append(cases, l)
	}
	interf, err := system.Condense(0)
	if err != nil {
		t.Fatal(err)
	}
	reduced := interf.Reduce(cases)
	out := &ours{}
	for i := range cases {
		a := &plate.Answer{}
		if len(m.points) > 0 {
			whole := m.laws
			if m.whole != nil {
				whole = m.whole
			}
			compliance, err := plate.NewCompliance(interf.S, whole, nil)
			if err != nil {
				t.Fatal(err)
			}
			if a, err = compliance.Solve(reduced.F[i], m.laws, nil); err != nil {
				t.Fatal(err)
			}
		}
		field := interf.Field(reduced, i, a.W)
		w := make([]float64, len(m.points)+len(m.looks))
		for k := range w {
			w[k] = field.W[msh.Points[k]]
		}
		out.force, out.w = append(out.force, a.Force), append(out.w, w)
	}
	return out
}

// compare holds the two answers together.
func (m *model) compare(t *testing.T) {
	t.Helper()
	got, want := m.work(t), m.solve(t)
	for _, finding := range m.differ(t, got, want) {
		t.Error(finding)
	}
}

// differ says where two answers are farther apart than allowed.
func (m *model) differ(t *testing.T, got *ours, want *outside) (findings []string) {
	t.Helper()
	hold := func(what, unit string, off, greatest, allowed float64) {
		t.Logf("%s within %.2f %% of %.4g %s", what, 100*off/greatest, greatest, unit)
		if !(off <= allowed*greatest) {
			findings = append(findings, fmt.Sprintf("%s: %.4g %s off, %.2f %% of the greatest, %.4g; allowed %.2f %%", what, off, unit, 100*off/greatest, greatest, 100*allowed))
		}
	}
	for i := range m.cases {
		off, greatest := 0.0, 0.0
		for k := range m.points {
			off, greatest = max(off, math.Abs(got.force[i][k]-want.force[i][k])), max(greatest, math.Abs(want.force[i][k]))
		}
		if len(m.points) > 0 {
			pushing := 0
			for _, f := range want.force[i] {
				if f > 0 {
					pushing++
				}
			}
			t.Logf("case %d: %d of %d points push", i, pushing, len(m.points))
			if !m.linear && pushing == 0 {
				t.Errorf("case %d: no support pushes: it tries no contact", i)
			}
			hold(fmt.Sprintf("case %d: forces", i), "N", off, greatest, m.allow.force[i])
		}
		off, greatest = 0, 0
		for k, w := range got.w[i] {
			n := 0
			if k < len(m.points) {
				n = m.points[k]
			} else {
				n = m.node(m.looks[k-len(m.points)])
			}
			off, greatest = max(off, math.Abs(w-want.w[i][n])), max(greatest, math.Abs(want.w[i][n]))
		}
		hold(fmt.Sprintf("case %d: gaps", i), "mm", off, greatest, m.allow.gap[i])
	}
	for i, hz := range got.hz {
		hold(fmt.Sprintf("frequency %d", i), "Hz", math.Abs(hz-want.hz[i]), want.hz[i], m.allow.hz)
	}
	return findings
}
