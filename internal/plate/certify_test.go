package plate

import (
	"math"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/mesh"
)

// certifyPanel is a panel of 600 × 400 mm on rigid supports round its edge with stations at corners and mid-sides, in three cases.
func certifyPanel(t *testing.T, s Section) (*Solution, []Load) {
	t.Helper()
	const nx, ny = 12, 8
	g := mesh.Grid(600, 400, nx, ny, "/")
	m := &Model{Mesh: g, Sections: []Section{s}}
	var laws []Law
	for j := range ny + 1 {
		for i := range nx + 1 {
			if i > 0 && i < nx && j > 0 && j < ny {
				continue
			}
			l := Rigid()
			if i%(nx/2) == 0 && j%(ny/2) == 0 {
				l = Sum(l, Station(80, 0.4, math.Inf(1)), Steady(2))
			}
			m.Points, laws = append(m.Points, int32(j*(nx+1)+i)), append(laws, l)
		}
	}
	loads := []Load{
		{Pressure: 2e-3},
		{Accel: 30 * 9810, Points: []PointLoad{{Node: 4*13 + 5, Force: -60}}},
		{PressureOf: make([]float64, len(g.Tris)), Pressure: -1e-4},
	}
	for i := range loads[2].PressureOf {
		loads[2].PressureOf[i] = 4e-3 * float64(i%7) / 7
	}
	sys, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	it, err := sys.Condense(0)
	if err != nil {
		t.Fatal(err)
	}
	out, err := it.Solve(loads, laws)
	if err != nil {
		t.Fatal(err)
	}
	return out, loads
}

// Good answers get a certificate whatever the sheet, and its sums are those of the load.
func TestCertifyGood(t *testing.T) {
	for name, s := range map[string]Section{
		"sheet": Sheet(7000, 0.35, 4, 1.6e-9), "thin": Sheet(7000, 0.35, 4, 1.6e-9).Thin(), "odd": elementOdd(),
		"sandwich": Sandwich(Layer{E: 70000, Nu: 0.3, Thickness: 0.5, Density: 2.7e-9}, Layer{E: 78, Nu: 0.3, Thickness: 10, Density: 1e-10}, 30),
	} {
		sol, loads := certifyPanel(t, s)
		proof := NewCertifier(sol.Interface.System.Model)
		for i, l := range loads {
			c := proof.Certify(sol.Laws, l, sol.Answers[i], sol.Field(i))
			if f := c.Faults(); len(f) > 0 {
				t.Errorf("%s, case %d: %v", name, i, f)
			}
			whole := l.Pressure*600*400 + l.Accel*s.Mass*600*400
			for k, p := range l.PressureOf {
				whole += p * 600 * 400 / float64(len(l.PressureOf)) * float64(min(k+1, 1))
			}
			for _, p := range l.Points {
				whole += p.Force
			}
			if math.Abs(c.Load-whole) > 1e-10*math.Abs(whole) || math.Abs(c.Load+c.Reaction) > 1e-9*math.Abs(whole) {
				t.Errorf("%s, case %d: load %.12g, want %.12g, reactions %.12g", name, i, c.Load, whole, c.Reaction)
			}
		}
	}
}

// certifyTrial is what an error is planted in.
type certifyTrial struct {
	m    Model
	laws []Law
	load Load
	a    Answer
	f    Field
}

// certifyErrors are errors, each with a word of what the certificate must say.
func certifyErrors(other *Field) map[string]struct {
	plant func(c *certifyTrial)
	word  string
} {
	type planted = struct {
		plant func(c *certifyTrial)
		word  string
	}
	most := func(v []float64) int {
		at := 0
		for i := range v {
			if math.Abs(v[i]) > math.Abs(v[at]) {
				at = i
			}
		}
		return at
	}
	return map[string]planted{
		"w of one point moved":            {func(c *certifyTrial) { c.a.W[most(c.a.W)] *= 1 + 1e-6 }, "law"},
		"w of one node moved":             {func(c *certifyTrial) { c.f.W[4*13+6] *= 1 + 1e-4 }, "node"},
		"w of a point and its node moved": {func(c *certifyTrial) { i := most(c.a.W); c.a.W[i] += 1e-4; c.f.W[c.m.Points[i]] += 1e-4 }, "node"},
		"a rotation moved":                {func(c *certifyTrial) { c.f.TX[most(c.f.TX)] *= 1 + 1e-4 }, "node"},
		"rotations swapped":               {func(c *certifyTrial) { c.f.TX, c.f.TY = c.f.TY, c.f.TX }, "node"},
		"a force dropped":                 {func(c *certifyTrial) { c.a.Force[most(c.a.Force)] = 0 }, "loads and reactions"},
		"a force a little off":            {func(c *certifyTrial) { c.a.Force[most(c.a.Force)] *= 1 + 1e-6 }, "loads and reactions"},
		"a force carried elsewhere":       {func(c *certifyTrial) { c.a.Force[0] += 0.01; c.a.Force[5] -= 0.01 }, "moments"},
		"a support that pulls":            {func(c *certifyTrial) { c.a.Force[1] = -5 }, "law"},
		"a station without its preload":   {func(c *certifyTrial) { c.laws[0] = Station(80, 0, math.Inf(1)) }, "law"},
		"a station's rate": {func(c *certifyTrial) {
			c.laws[most(c.a.W)] = Sum(Rigid(), Station(80.001, 0.4, math.Inf(1)), Steady(2))
		}, "law"},
		"another load's field":        {func(c *certifyTrial) { c.f = *other }, "node"},
		"a load a little greater":     {func(c *certifyTrial) { c.load.Pressure *= 1 + 1e-7 }, "loads and reactions"},
		"a force on a node forgotten": {func(c *certifyTrial) { c.load.Points = []PointLoad{{Node: 30, Force: 0.01}} }, "loads and reactions"},
		"another thickness":           {func(c *certifyTrial) { c.m.Sections = []Section{Sheet(7000, 0.35, 4.001, 1.6e-9)} }, "node"},
		"thin instead of thick":       {func(c *certifyTrial) { c.m.Sections = []Section{c.m.Sections[0].Thin()} }, "node"},
		"all doubled":                 {func(c *certifyTrial) { certifyScale(c.f.W, 2); certifyScale(c.f.TX, 2); certifyScale(c.f.TY, 2) }, "node"},
		"all zero":                    {func(c *certifyTrial) { certifyScale(c.f.W, 0); certifyScale(c.a.W, 0); certifyScale(c.a.Force, 0) }, "loads and reactions"},
		"not a number in w":           {func(c *certifyTrial) { c.f.W[7] = math.NaN() }, "node"},
		"not a number in a force":     {func(c *certifyTrial) { c.a.Force[7] = math.NaN() }, "loads and reactions"},
		"endless w":                   {func(c *certifyTrial) { c.f.W[7] = math.Inf(1) }, "node"},
	}
}

func certifyScale(v []float64, f float64) {
	for i := range v {
		v[i] *= f
	}
}

// Each planted error is found, and named.
func TestCertifyPlanted(t *testing.T) {
	sol, loads := certifyPanel(t, Sheet(7000, 0.35, 4, 1.6e-9))
	for name, e := range certifyErrors(sol.Field(1)) {
		f := sol.Field(0)
		a := sol.Answers[0]
		c := &certifyTrial{
			m: *sol.Interface.System.Model, laws: slices.Clone(sol.Laws), load: loads[0], f: *f,
			a: Answer{W: slices.Clone(a.W), Force: slices.Clone(a.Force), Piece: a.Piece},
		}
		e.plant(c)
		got := strings.Join(Certify(&c.m, c.laws, c.load, &c.a, &c.f).Faults(), "; ")
		if !strings.Contains(got, e.word) {
			t.Errorf("%s: %q does not say %q", name, got, e.word)
		}
	}
}

// A two-sided answer is none where supports only push, though it balances.
func TestCertifyTwoSided(t *testing.T) {
	sol, loads := certifyPanel(t, Sheet(7000, 0.35, 4, 1.6e-9))
	held := slices.Clone(sol.Laws)
	for i := range held {
		held[i] = Held()
	}
	two, err := sol.Interface.Solve(loads[:1], held)
	if err != nil {
		t.Fatal(err)
	}
	m := sol.Interface.System.Model
	if f := Certify(m, held, loads[0], two.Answers[0], two.Field(0)).Faults(); len(f) > 0 {
		t.Errorf("its own laws: %v", f)
	}
	f := Certify(m, sol.Laws, loads[0], two.Answers[0], two.Field(0)).Faults()
	if len(f) != 1 || !strings.Contains(f[0], "law") {
		t.Errorf("one-sided laws: %v", f)
	}
}

// What fixed nodes carry counts as reaction: a hinged edge, askew axes too.
func TestCertifyFixed(t *testing.T) {
	g := mesh.Grid(600, 400, 6, 4, "x")
	m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, 4, 1.6e-9)}, Points: []int32{34, 31}}
	for i := range 7 {
		m.Fixed = append(m.Fixed, Fix{Node: int32(i), W: true, Along: i%2 == 0, Dir: 0.3})
	}
	sys, err := Assemble(m)
	if err != nil {
		t.Fatal(err)
	}
	it, err := sys.Condense(0)
	if err != nil {
		t.Fatal(err)
	}
	l := Load{Pressure: 1e-3}
	laws := []Law{Spring(20), Station(10, 1, math.Inf(1))}
	s, err := it.Solve([]Load{l}, laws)
	if err != nil {
		t.Fatal(err)
	}
	f := s.Field(0)
	proof := NewCertifier(m)
	c := proof.Certify(laws, l, s.Answers[0], f)
	if faults := c.Faults(); len(faults) > 0 {
		t.Error(faults)
	}
	sum := s.Answers[0].Force[0] + s.Answers[0].Force[1]
	for _, r := range proof.Reactions(l, f) {
		sum += r
	}
	if math.Abs(sum+240) > 1e-7 || math.Abs(c.Reaction+240) > 1e-7 {
		t.Errorf("reactions %.10g and %.10g of 240 N", sum, c.Reaction)
	}
}

func BenchmarkCertify(b *testing.B) {
	g := mesh.Grid(1200, 800, 60, 40, "x")
	m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, 12, 1.5e-9)}, Points: []int32{0, 60, 2440, 2500}}
	sys, err := Assemble(m)
	if err != nil {
		b.Fatal(err)
	}
	it, err := sys.Condense(0)
	if err != nil {
		b.Fatal(err)
	}
	l := Load{Pressure: 1e-3}
	laws := []Law{Spring(20), Spring(20), Spring(20), Spring(20)}
	s, err := it.Solve([]Load{l}, laws)
	if err != nil {
		b.Fatal(err)
	}
	f := s.Field(0)
	proof := NewCertifier(m)
	b.ReportAllocs()
	for b.Loop() {
		if c := proof.Certify(laws, l, s.Answers[0], f); len(c.Faults()) > 0 {
			b.Fatal(c.Faults())
		}
	}
}
