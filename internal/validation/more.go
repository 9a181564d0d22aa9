package validation

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// discs are circular plates on meshes of whole discs, so that arcs are checked with them.
func discs() []Row {
	const source = "Roark's Formulas for Stress and Strain, table 11.2; " + timoshenko + ", ch. 3"
	var out []Row
	for _, c := range []struct {
		what    string
		clamped bool
		point   bool
		nu      float64
		w, m    float64
	}{
		{"disc, simply supported, even load", false, false, 0.3, (5 + 0.3) / (1 + 0.3) / 64, (3 + 0.3) / 16},
		{"disc, clamped, even load", true, false, 0.3, 1.0 / 64, (1 + 0.3) / 16},
		{"disc, simply supported, force at the middle", false, true, 0.3, (3 + 0.3) / (1 + 0.3) / (16 * math.Pi), 0},
		{"disc, clamped, force at the middle", true, true, 0.33, 1 / (16 * math.Pi), 0},
		{"disc, simply supported, even load, ν = 0.33", false, false, 0.33, (5 + 0.33) / (1 + 0.33) / 64, (3 + 0.33) / 16},
	} {
		s := disc(c.clamped, c.point, c.nu)
		out = append(out, Row{What: c.what + ": w in the middle", Source: source, Status: Closed, Expected: c.w, Got: s.w(0, 0) / (discR * discR) * discScale(c.point), Allow: 0.004,
			Reason: "edges of a fiftieth of the radius, the rim of chords"})
		if c.m != 0 {
			out = append(out, Row{What: c.what + ": M in the middle /(q·a²)", Source: source, Status: Closed, Expected: c.m, Got: s.moment(0, 0, 0) / (discR * discR), Allow: 0.01, Reason: "moments on an uneven mesh are of first order"})
		}
	}
	return out
}

const discR = 100.0

// discScale turns w/a² into the coefficient of q·a⁴/D or P·a²/D.
func discScale(point bool) float64 {
	if point {
		return 1
	}
	return 1 / (discR * discR)
}

func disc(clamped, point bool, nu float64) solution {
	m, err := mesh.Build(mesh.Domain{Region: plane.Region{Outer: plane.CircleAt(plane.Point{}, discR)}, Points: []plane.Point{{}}, Size: mesh.Size{Max: discR / 25, Edge: discR / 50, Flat: 0.05}})
	if err != nil {
		panic("validation: " + err.Error())
	}
	var f []plate.Fix
	for _, e := range m.Border {
		p := m.Nodes[e.From]
		f = append(f, plate.Fix{Node: e.From, W: true, Along: clamped, Cross: true, Dir: math.Atan2(p.X, -p.Y)})
	}
	// Simply supported: w and the slope along the rim, the rotation about the radius; free to turn about the rim.
	l := plate.Load{Pressure: 1}
	if point {
		l = plate.Load{Points: []plate.PointLoad{{Node: m.Points[0], Force: 1}}}
	}
	return solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(nu)}, Fixed: f}, l)
}

// skews are rhombic plates, simply supported by w alone: their obtuse corners are where elements go wrong.
func skews() []Row {
	var out []Row
	for _, c := range []struct {
		deg, w, allow float64
		source        string
		status        string
	}{
		{80, 3.8691e-3, 0.004, "a public solver manual has as much in three figures; by other code", Computed}, {60, 2.5601e-3, 0.006, "a public solver manual has as much in three figures; by other code", Computed},
		{40, 0.95823e-3, 0.012, "a public solver manual has as much in three figures; by other code", Computed}, {30, 4.07845e-4, 0.02, "Morley, Skew Plates and Structures, 1963, has 0.408e-3; by other code", Computed},
	} {
		s := rhombus(c.deg, 64, unit(0.3), 1)
		a := c.deg * math.Pi / 180
		out = append(out, Row{What: fmt.Sprintf("rhombus with corners of %g°, simply supported: w/(q·L⁴/D)", c.deg), Source: c.source, Status: c.status,
			Expected: c.w, Got: s.w((1+math.Cos(a))/2, math.Sin(a)/2), Allow: c.allow, Reason: "64 × 64 cells; the singular obtuse corners slow it down, the sharper the more"})
	}
	s := rhombus(30, 64, plate.Sheet(210e3, 0.3, 10, 1).Thin(), 1000)
	s = scaled(s, 700e-6)
	n := node(s.m, plane.Point{X: 933.0127, Y: 250})
	got := 0.0
	for place, at := range s.t.Node {
		if at == n {
			most, _ := s.t.Principal(place, 1)
			first, _ := s.t.Principal(place, 0)
			got = math.Max(math.Abs(most), math.Abs(first))
		}
	}
	out = append(out, Row{What: "skew plate of 30°, even load: greatest principal stress on the lower face in the middle", Source: "NAFEMS LE6 (0.802; thin plate theory 0.8006)", Status: Seen, Unit: "MPa",
		Expected: 0.802, Got: got, Allow: 0.02, Reason: "64 × 64 cells, singular corners"})
	return out
}

// scaled is a solution under q instead of 1.
func scaled(s solution, q float64) solution {
	f := &plate.Field{}
	for i := range s.f.W {
		f.W, f.TX, f.TY = append(f.W, q*s.f.W[i]), append(f.TX, q*s.f.TX[i]), append(f.TY, q*s.f.TY[i])
	}
	s.f, s.t = f, s.s.Stress(f)
	return s
}

func rhombus(deg float64, n int, sec plate.Section, side float64) solution {
	m := mesh.Grid(1, 1, n, n, "/")
	a := deg * math.Pi / 180
	f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
		return at(p.X, 0) || at(p.X, 1) || at(p.Y, 0) || at(p.Y, 1), false, false
	})
	for i, p := range m.Nodes {
		m.Nodes[i] = plane.Point{X: side * (p.X + p.Y*math.Cos(a)), Y: side * p.Y * math.Sin(a)}
	}
	return solve(&plate.Model{Mesh: m, Sections: []plate.Section{sec}, Fixed: f}, plate.Load{Pressure: 1})
}

// strips are narrow sheets with ν = 0, which are beams.
func strips() []Row {
	var out []Row
	const width, span = 10.0, 200.0
	for _, c := range []struct {
		spans int
		w     float64
	}{{1, 5.0 / 384}, {2, 0.005416}, {3, 0.006884}, {4, 0.006460}} {
		m := mesh.Grid(span*float64(c.spans), width, 40*c.spans, 2, "x")
		f := fixed(m, func(p plane.Point) (w, tx, ty bool) { return at(math.Mod(p.X+span/2, span), span/2), false, false })
		s := solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(0)}, Fixed: f}, plate.Load{Pressure: 1})
		most := 0.0
		for i, p := range m.Nodes {
			if p.X <= span {
				most = max(most, s.f.W[i])
			}
		}
		out = append(out, Row{What: fmt.Sprintf("beam over %d equal spans, even load: greatest deflection of the end span /(w·L⁴/EI)", c.spans), Source: "three-moment equation", Status: Computed,
			Expected: c.w, Got: most / math.Pow(span, 4), Allow: 0.003, Reason: "40 cells to the span; the greatest is read at nodes"})
	}
	return append(append(out, hetenyi()), tee()...)
}

// hetenyi is a long beam on an elastic foundation under a force in its middle.
func hetenyi() Row {
	const width, long, cells = 100.0, 4000.0, 200
	m := mesh.Grid(long, width, cells, 2, "x")
	model := &plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(15000, 0, 20, 1).Thin()}}
	var laws []plate.Law
	for j := range 3 {
		for i := range cells + 1 {
			model.Points = append(model.Points, int32(j*(cells+1)+i))
			k := long / cells / 4
			if j == 1 {
				k *= 2
			}
			if i == 0 || i == cells {
				k /= 2
			}
			laws = append(laws, plate.Spring(k)) // 1 N/mm² in all
		}
	}
	var p []plate.PointLoad
	for j, f := range []float64{250, 500, 250} {
		p = append(p, plate.PointLoad{Node: int32(j*(cells+1) + cells/2), Force: f})
	}
	a := touch(model, laws, plate.Load{Points: p})
	return Row{What: "long beam on an elastic foundation, force in the middle: deflection there", Source: "Hetényi, Beams on Elastic Foundation, 1946, ch. 2", Status: Memory + " (checked)", Unit: "mm",
		Expected: 1.988177, Got: a.W[cells+1+cells/2], Allow: 0.003, Reason: "foundation at points every 20 mm"}
}

// touch solves the contact of a model in one case.
func touch(m *plate.Model, laws []plate.Law, l plate.Load) *plate.Answer {
	a, _ := touchAll(m, laws, []plate.Load{l})
	return a[0]
}

// touchAll solves the contact of a model in several cases, with the deflected sheets. Every answer must be certified.
func touchAll(m *plate.Model, laws []plate.Law, loads []plate.Load) ([]*plate.Answer, []*plate.Field) {
	fail := func(err error) {
		if err != nil {
			panic("validation: " + err.Error())
		}
	}
	s, err := plate.Assemble(m)
	fail(err)
	it, err := s.Condense(0)
	fail(err)
	r := it.Reduce(loads)
	c, err := plate.NewCompliance(it.S, laws, nil)
	fail(err)
	proof := plate.NewCertifier(m)
	var answers []*plate.Answer
	var fields []*plate.Field
	for i := range loads {
		a, err := c.Solve(r.F[i], laws, nil)
		fail(err)
		f := it.Field(r, i, a.W)
		if faults := proof.Certify(laws, loads[i], a, f).Faults(); len(faults) > 0 {
			panic("validation: no certificate: " + faults[0])
		}
		answers, fields = append(answers, a), append(fields, f)
	}
	return answers, fields
}

// tee is a strip pulled in its middle, held by a spring on either side, whose ends rest on rigid supports: the ends pry. With P half
// the pull, b from the middle to a spring, a from there to the end, the heel's force is Q = P·(a·b²/2 − EI/k)/(a²·b + a³/3 + EI/k).
func tee() []Row {
	const width, a, b, k, pull = 10.0, 40.0, 60.0, 500.0, 100.0
	const cell = 5.0
	nx := int(2 * (a + b) / cell)
	m := mesh.Grid(2*(a+b), width, nx, 2, "x")
	sec := plate.Sheet(200e3, 0, 4, 1).Thin()
	ei := sec.D[0][0] * width
	model := &plate.Model{Mesh: m, Sections: []plate.Section{sec}}
	var laws []plate.Law
	var load []plate.PointLoad
	var heel, spring []int
	for j := range 3 {
		share := []float64{0.25, 0.5, 0.25}[j]
		row := j * (nx + 1)
		load = append(load, plate.PointLoad{Node: int32(row + nx/2), Force: 2 * pull * share})
		for _, x := range []float64{0, a, 2*b + a, 2 * (a + b)} {
			model.Points = append(model.Points, int32(row+int(math.Round(x/cell))))
			if x == 0 || x == 2*(a+b) {
				heel = append(heel, len(laws))
				laws = append(laws, plate.Rigid())
				continue
			}
			spring = append(spring, len(laws))
			laws = append(laws, plate.Spring(k*share))
		}
	}
	ans := touch(model, laws, plate.Load{Points: load})
	sum := func(list []int) float64 {
		f := 0.0
		for _, i := range list {
			f += ans.Force[i] / 2
		}
		return f
	}
	q := pull * (a*b*b/2 - ei/k) / (a*a*b + a*a*a/3 + ei/k)
	const source = "beam statics, deflections set equal"
	return []Row{
		{What: "strip pulled in its middle between springs, heels on rigid supports: force at a heel", Source: source, Status: Closed, Unit: "N", Expected: q, Got: sum(heel), Allow: 0.005, Reason: "strip of two cells' width"},
		{What: "the same: pull of a spring, prying in it", Source: source, Status: Closed, Unit: "N", Expected: pull + q, Got: -sum(spring), Allow: 0.005, Reason: "strip of two cells' width"},
	}
}

// sections are sheets that shear.
func sections() []Row {
	face := plate.Layer{E: 70000, Nu: 0.3, Thickness: 0.5, Density: 1}
	core := plate.Layer{E: 78, Nu: 0.3, Thickness: 10, Density: 1}
	sec := plate.Sandwich(face, core, 30)
	m := mesh.Grid(500, 500, 32, 32, "x")
	f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
		ex, ey := at(p.X, 0), at(p.Y, 0)
		return ex || ey, ex || at(p.Y, 500), ey || at(p.X, 500)
	})
	s := solve(&plate.Model{Mesh: m, Sections: []plate.Section{sec}, Fixed: f}, plate.Load{Pressure: 0.001})
	return []Row{
		{What: "sandwich 0.5/10/0.5 mm, G = 30 MPa, 1 m square, 1 kPa, hard support: w in the middle, bending and shear", Source: "Navier's and Poisson's series, S = G·(h+t)²/h", Status: Closed, Unit: "mm",
			Expected: 2.13090, Got: s.w(500, 500), Allow: 0.002, Reason: "32 cells to the half side"},
		{What: "the same, by solids", Source: "CalculiX 2.20, layered solids", Status: Program, Unit: "mm", Expected: 2.1304, Got: s.w(500, 500), Allow: 0.002, Reason: "32 cells to the half side"},
	}
}

// frequencies are natural frequencies of squares, as λ = ω·a²·√(ρ·t/D), and of a panel on springs.
func frequencies() []Row {
	const leissa = "Leissa, Vibration of Plates, NASA SP-160, 1969; by 16–20 term Ritz"
	var out []Row
	const n = 40
	for _, c := range []struct {
		what string
		nu   float64
		held hold
		want []float64 // 0: not looked at
	}{
		{"square, simply supported", 0.3, func(p plane.Point) (w, tx, ty bool) {
			x, y := at(p.X, 0) || at(p.X, 1), at(p.Y, 0) || at(p.Y, 1)
			return x || y, x, y
		}, []float64{19.7392, 49.3480, 0, 78.9568}},
		{"square, clamped", 0.3, func(p plane.Point) (w, tx, ty bool) {
			e := at(p.X, 0) || at(p.X, 1) || at(p.Y, 0) || at(p.Y, 1)
			return e, e, e
		}, []float64{35.9852, 73.3938, 0, 108.2165}},
		{"square, free (after three rigid motions)", 0.3, func(plane.Point) (w, tx, ty bool) { return false, false, false }, []float64{0, 0, 0, 13.4682, 19.5961, 24.2702}},
		{"square, free, ν = 0.225", 0.225, func(plane.Point) (w, tx, ty bool) { return false, false, false }, []float64{0, 0, 0, 14.1161, 20.3868}},
		{"square on its four corners", 0.3, func(p plane.Point) (w, tx, ty bool) {
			return (at(p.X, 0) || at(p.X, 1)) && (at(p.Y, 0) || at(p.Y, 1)), false, false
		}, []float64{7.11088, 15.77024, 0, 19.59614, 38.43154}},
	} {
		m := mesh.Grid(1, 1, n, n, "x")
		sec := unit(c.nu)
		sec.Mass = 1
		s, err := plate.Assemble(&plate.Model{Mesh: m, Sections: []plate.Section{sec}, Fixed: fixed(m, c.held)})
		if err != nil {
			panic("validation: " + err.Error())
		}
		modes, err := s.Modes(nil, len(c.want), false)
		if err != nil {
			panic("validation: " + err.Error())
		}
		for k, want := range c.want {
			if want > 0 {
				out = append(out, Row{What: fmt.Sprintf("%s: frequency %d", c.what, k+1), Source: leissa, Status: Computed, Expected: want, Got: modes[k].Omega, Allow: 0.002, Reason: "40 cells to the side"})
			}
		}
	}
	model, laws, _ := flange(12, false, 20)
	s, err := plate.Assemble(model)
	if err != nil {
		panic("validation: " + err.Error())
	}
	k := make([]float64, len(laws))
	for i := range k {
		k[i] = 150
	}
	modes, err := s.Modes(k, 5, false)
	if err != nil {
		panic("validation: " + err.Error())
	}
	for i, want := range []float64{21.51, 32.00, 40.51, 44.30, 60.62} {
		out = append(out, Row{What: fmt.Sprintf("panel 1200 × 800 × 12 mm on 8 springs: frequency %d", i+1), Source: "CalculiX 2.20, quadratic shells", Status: Program, Unit: "Hz", Expected: want, Got: modes[i].Hz, Allow: 0.006,
			Reason: "a thick shell with a three-dimensional edge: thin theory gives 0.2–0.4 % more"})
	}
	return out
}
