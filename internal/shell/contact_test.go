package shell

import (
	"context"
	"math"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plate"
)

// flanged is the panel of 1200 × 800 mm whose outer 40 mm lie on supports that only push, held by eight stations of 150 N/mm that are
// drawn by 0.5 mm when shut, and in the plane at the stations.
func flanged(t *testing.T, thick, inPlane, step float64) (*Model, []int32, []plate.Law, []int) {
	t.Helper()
	m := &Model{Mesh: mesh.Grid(1200, 800, int(1200/step), int(800/step), "x"), Sections: []plate.Section{plate.Sheet(7000, 0.35, thick, 1.5e-9)}}
	var points []int32
	var laws []plate.Law
	var stations []int
	lo, hx, hy := step, 1200-step, 800-step // stations stand a step from the edges
	at := map[[2]float64]bool{{lo, lo}: true, {600, lo}: true, {hx, lo}: true, {lo, 400}: true, {hx, 400}: true, {lo, hy}: true, {600, hy}: true, {hx, hy}: true}
	for i, p := range m.Mesh.Nodes {
		x, y := math.Round(p.X), math.Round(p.Y)
		onFlange := x <= 40 || y <= 40 || x >= 1160 || y >= 760
		grid := math.Abs(math.Remainder(p.X, step)) < 1e-6 && math.Abs(math.Remainder(p.Y, step)) < 1e-6
		if !onFlange || !grid {
			continue
		}
		l := plate.Rigid()
		if at[[2]float64{x, y}] {
			l = plate.Station(150, 0.5, math.Inf(1))
			stations = append(stations, len(points))
			if inPlane > 0 {
				m.Springs = append(m.Springs, Spring{int32(i), U, inPlane}, Spring{int32(i), V, inPlane})
			}
		}
		points, laws = append(points, int32(i)), append(laws, l)
	}
	if inPlane == 0 { // nothing holds it in the plane: one node and one direction do, without force
		m.Fixed = []Fix{{Node: points[0], At: [perNode]bool{U: true, V: true}}, {Node: points[1], At: [perNode]bool{U: true}}, {Node: points[2], At: [perNode]bool{V: true}}}
	}
	return m, points, laws, stations
}

// At loads so small that nothing stretches, the sheet stands as the plate of package plate does, on the same laws.
func TestContactAsPlate(t *testing.T) {
	m, points, laws, _ := flanged(t, 12, 0, 20)
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	c, err := NewContact(s, points, laws)
	if err != nil {
		t.Fatal(err)
	}
	const q = 2e-6
	a, err := c.Solve(context.Background(), s.Load(Load{Pressure: q}), nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := &plate.Model{Mesh: m.Mesh, Sections: m.Sections, Points: points}
	sys, err := plate.Assemble(p)
	if err != nil {
		t.Fatal(err)
	}
	face, err := sys.Condense(0)
	if err != nil {
		t.Fatal(err)
	}
	flat, err := plate.NewCompliance(face.S, laws, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := face.Reduce([]plate.Load{{Pressure: q}})
	want, err := flat.Solve(r.F[0], laws, nil)
	if err != nil {
		t.Fatal(err)
	}
	most := 0.0
	for i := range points {
		most = max(most, math.Abs(want.Force[i]))
	}
	w := s.Expand(a.X)[W]
	for i, n := range points {
		if math.Abs(w[n]-want.W[i]) > 1e-6 || math.Abs(a.Force[i]-want.Force[i]) > 1e-3*most {
			t.Fatalf("point %d: w %.9f, force %.6f N; as a plate %.9f mm, %.6f N", i, w[n], a.Force[i], want.W[i], want.Force[i])
		}
	}
}

// The thin panel on its flange at 2 kPa: loads and forces balance, supports only push, and the sheet bows by stretching what linear theory
// would have bow a third of a metre.
func TestContactThinPanel(t *testing.T) {
	m, points, laws, stations := flanged(t, 2.5, 1000, 40)
	s, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	c, err := NewContact(s, points, laws)
	if err != nil {
		t.Fatal(err)
	}
	const q = 0.002
	a, err := c.Solve(context.Background(), s.Load(Load{Pressure: q}), nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	sum := q * 1200 * 800
	for i, f := range a.Force {
		sum += f
		if f < -1e-6 {
			station := false
			for _, k := range stations {
				station = station || k == i
			}
			if !station {
				t.Errorf("support point %d pulls with %g N", i, f)
			}
		}
	}
	if math.Abs(sum) > 1e-6*q*1200*800 {
		t.Errorf("%g N are out of balance", sum)
	}
	f := s.Expand(a.X)
	centre := 0.0
	for _, w := range f[W] {
		centre = max(centre, w)
	}
	if centre < 15 || centre > 40 {
		t.Errorf("it bows %.2f mm", centre)
	}
}
