package validation

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/sparse"
)

const (
	timoshenko = "Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 1959"
	levy       = timoshenko + ", table 8, by Lévy's series"
	clampedBy  = timoshenko + ", table 35, by 16 × 16 Legendre–Ritz"
	ritz       = "24 × 24 Ritz solution; " + timoshenko + ", ch. 6, agrees within 1 %"
	dkt        = "a fresh discrete Kirchhoff triangle [batoz80], by other code"
)

// quarter solves a quarter of a rectangle of sides a × b, simply supported or clamped on two edges, by symmetry on the others.
func quarter(a, b float64, n int, nu float64, clamped bool, diagonal string, l func(centre int32) plate.Load) solution {
	m := mesh.Grid(a/2, b/2, n, max(n, int(math.Round(float64(n)*b/a))), diagonal)
	f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
		ex, ey := at(p.X, 0), at(p.Y, 0)
		if ex || ey {
			w, tx, ty = true, ex || clamped, ey || clamped
		}
		return w, tx || at(p.Y, b/2), ty || at(p.X, a/2)
	})
	return solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(nu)}, Fixed: f}, l(int32(len(m.Nodes)-1)))
}

func even(int32) plate.Load { return plate.Load{Pressure: 1} }

// centred is a force of 1 at the middle, a quarter of it on the quarter.
func centred(c int32) plate.Load {
	return plate.Load{Points: []plate.PointLoad{{Node: c, Force: 0.25}}}
}

const mesh32 = "mesh of 32 cells to the half side: second order, twice as fine halves it twice"

// rectangles are simply supported and clamped rectangles.
func rectangles() []Row {
	var out []Row
	add := func(what, source, status string, want, got, allow float64, why string) {
		out = append(out, Row{What: what, Source: source, Status: status, Expected: want, Got: got, Allow: allow, Reason: why})
	}
	for _, c := range []struct{ b, w, mx, my float64 }{{1, 0.004062, 0.047886, 0.047886}, {1.2, 0.005651, 0.062682, 0.050081}, {1.5, 0.007724, 0.081160, 0.049843}, {2, 0.010129, 0.101683, 0.046350}, {3, 0.012233, 0.118861, 0.040627}} {
		s := quarter(1, c.b, 32, 0.3, false, "x", even)
		what := fmt.Sprintf("rectangle b/a = %g, simply supported, even load", c.b)
		add(what+": w/(q·a⁴/D)", levy, Computed, c.w, s.w(0.5, c.b/2), 0.001, mesh32)
		if c.b == 1.5 || c.b == 1 {
			add(what+": Mx/(q·a²)", levy, Computed, c.mx, s.moment(0.5, c.b/2, 0), 0.005, "moments are smoothed over the triangles round a node")
		}
		if c.b == 2 {
			add(what+": My/(q·a²)", levy, Computed, c.my, s.moment(0.5, c.b/2, 1), 0.005, "moments are smoothed over the triangles round a node")
		}
	}
	s := quarter(1, 1, 48, 0.3, false, "x", even)
	add("square, simply supported, even load: force that holds a corner down /(q·a²)", levy, Computed, 0.0650, 2*s.twist(), 0.02, "twisting moment at the corner node, of first order there: 48 cells")
	s = quarter(1, 1.6, 32, 0.3, false, "x", even)
	add("rectangle b/a = 1.6, simply supported: σ·t²/(q·a²)", "Roark's Formulas for Stress and Strain, table 11.4, case 1a", Seen, 0.5172, 6*s.moment(0.5, 0.8, 0), 0.005, "moments are smoothed; the table has four figures")
	add("rectangle b/a = 1.6, simply supported: w·E·t³/(q·a⁴)", "Roark's Formulas for Stress and Strain, table 11.4, case 1a", Seen, 0.0906, 12*0.91*s.w(0.5, 0.8), 0.002, "the table has three figures")
	s = quarter(1, 1, 48, 0.3, false, "x", centred)
	add("square, simply supported, force at the middle: w/(P·a²/D)", timoshenko+", table 23", Computed, 0.0116008, s.w(0.5, 0.5), 0.001, "mesh of 48 cells; at the force the order is lower")
	for _, c := range []struct{ b, w, long, short float64 }{{1, 0.001265, -0.05135, -0.05135}, {1.5, 0.002197, -0.07571, -0.05703}, {2, 0.002533, -0.08294, -0.05699}} {
		s := quarter(1, c.b, 32, 0.3, true, "x", even)
		what := fmt.Sprintf("rectangle b/a = %g, clamped, even load", c.b)
		add(what+": w/(q·a⁴/D)", clampedBy, Computed, c.w, s.w(0.5, c.b/2), 0.004, mesh32)
		add(what+": M at the middle of the long edge /(q·a²)", clampedBy, Computed, c.long, s.moment(0, c.b/2, 0), 0.05, "on an edge moments are of first order")
	}
	s = quarter(1, 1, 48, 0.3, true, "x", centred)
	add("square, clamped, force at the middle: w/(P·a²/D)", timoshenko+", table 37; Ritz", Computed, 0.005612, s.w(0.5, 0.5), 0.004, "mesh of 48 cells; at the force the order is lower")
	d := quarter(500, 500, 32, 0.33, false, "x", even) // D = 1, q = 1
	bend := 68900 * 1.5 * 1.5 * 1.5 / 12 / (1 - 0.33*0.33)
	add("6061 sheet 500 × 500 × 1.5 mm, simply supported, 600 Pa", "CHECKS worked panel: Navier's series", Computed, 7.005, d.w(250, 250)*600e-6/bend, 0.001, mesh32)
	out[len(out)-1].Unit, out[len(out)-1].Source = "mm", "worked panel, by Navier's series"
	return out
}

// twist is −Mxy at the corner (0, 0): the corner's force is twice that.
func (s solution) twist() float64 { return math.Abs(s.moment(0, 0, 2)) }

// elements are checks of the element alone, to the last figure that is printed.
func elements() []Row {
	var out []Row
	for _, c := range []struct {
		diagonal string
		clamped  bool
		n        int
		want     float64
	}{{"/", false, 4, 0.0116343}, {"\\", false, 4, 0.0119995}, {"/", true, 8, 0.0056410}, {"\\", true, 8, 0.0057078}, {"/", false, 16, 0.0116053}} {
		s := quarter(1, 1, c.n, 0.3, c.clamped, c.diagonal, centred)
		edge := "simply supported"
		if c.clamped {
			edge = "clamped"
		}
		out = append(out, Row{What: fmt.Sprintf("quarter square in %d × %d cells cut by %q, %s, force at the middle: w/(P·a²/D)", c.n, c.n, c.diagonal, edge), Source: dkt, Status: Computed,
			Expected: c.want, Got: s.w(0.5, 0.5), AllowAbs: 1e-7, Reason: "the same element: all figures of the table"})
	}
	return append(out, patch()...)
}

// patch is a sheet of ten uneven triangles with w = 10⁻³·(x² + xy + y²)/2 imposed on its four outer nodes: the four inner ones
// must follow, and moments be even.
func patch() []Row {
	m := &mesh.Mesh{Nodes: []plane.Point{{}, {X: 0.24}, {X: 0.24, Y: 0.12}, {Y: 0.12}, {X: 0.04, Y: 0.02}, {X: 0.18, Y: 0.03}, {X: 0.16, Y: 0.08}, {X: 0.08, Y: 0.08}},
		Tris: [][3]int32{{0, 1, 4}, {1, 5, 4}, {1, 2, 5}, {2, 6, 5}, {2, 3, 6}, {3, 7, 6}, {3, 0, 7}, {0, 4, 7}, {4, 5, 6}, {4, 6, 7}}}
	const outer, size = 4, 8
	model := &plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(1e6, 0.25, 0.001, 1)}}
	loose, err := plate.Assemble(model)
	if err != nil {
		panic("validation: " + err.Error())
	}
	given, push := make([]float64, 3*size), make([]float64, 3*size)
	for i, p := range m.Nodes[:outer] {
		given[3*i], given[3*i+1], given[3*i+2] = 1e-3*(p.X*p.X+p.X*p.Y+p.Y*p.Y)/2, 1e-3*(p.X+2*p.Y)/2, -1e-3*(2*p.X+p.Y)/2
	}
	loose.Stiffness().MulAdd(push, given)
	held := *model
	for i := range outer {
		held.Fixed = append(held.Fixed, plate.Fix{Node: int32(i), W: true, Along: true, Cross: true})
	}
	s, err := plate.Assemble(&held)
	if err != nil {
		panic("validation: " + err.Error())
	}
	f, err := s.Plan().Factor(s.Stiffness(), sparse.Options{})
	if err != nil {
		panic("validation: " + err.Error())
	}
	inner := push[3*outer:]
	for i := range inner {
		inner[i] = -inner[i]
	}
	if err := f.Solve(inner); err != nil {
		panic("validation: " + err.Error())
	}
	copy(given[3*outer:], inner)
	st := loose.Stress(loose.Expand(given))
	const source = "MacNeal & Harder, Finite Elem. Anal. Des. 1 (1985) 3–20"
	out := []Row{{What: "patch of uneven triangles, even curvature imposed outside: w at an inner node (0.16, 0.08)", Source: source, Status: Closed, Expected: 2.24e-5, Got: given[3*6], Allow: 1e-6, Reason: "the element is exact here"}}
	for k, want := range []float64{1.1111e-7, 1.1111e-7, 3.3333e-8} {
		out = append(out, Row{What: "the same: M" + []string{"x", "y", "xy"}[k] + " at an inner node", Source: source, Status: Memory + " (checked)",
			Expected: want, Got: math.Abs(st.M[4][k]), Allow: 1e-4, Reason: "the list has five figures; the element is exact here"})
	}
	for k, want := range []float64{0.6667, 0.6667, 0.2000} {
		out = append(out, Row{What: "the same: " + []string{"σx", "σy", "τxy"}[k] + " on the surface", Source: source, Status: Memory + " (checked)",
			Expected: want, Got: math.Abs(st.At(6, 0)[k]), Allow: 1e-4, Reason: "the list has four figures; the element is exact here"})
	}
	return out
}

// corners are square and rectangular sheets held at points.
func corners() []Row {
	var out []Row
	add := func(what, source string, want, got, allow float64, why string) {
		out = append(out, Row{What: what, Source: source, Status: Computed, Expected: want, Got: got, Allow: allow, Reason: why})
	}
	const n = 64
	for _, c := range []struct{ b, nu, w, edge float64 }{{1, 0.25, 0.025669, 0.017458}, {1, 0.30, 0.025507, 0.017747}, {1.5, 0.3, 0.07983, 0.08007}, {2, 0.3, 0.23116, 0.24184}} {
		s := pointed(1, c.b, n, c.nu, func(p plane.Point) bool { return at(p.X, 0) && at(p.Y, 0) })
		what := fmt.Sprintf("rectangle b/a = %g held at its corners, ν = %g", c.b, c.nu)
		add(what+": w in the middle /(q·a⁴/D)", ritz, c.w, s.w(0.5, c.b/2), 0.003, "64 cells to the half side; point supports converge slowly")
		add(what+": w in the middle of the long edge", ritz, c.edge, s.w(0, c.b/2), 0.004, "64 cells to the half side; point supports converge slowly")
	}
	s := pointed(1, 1, n, 0.3, func(p plane.Point) bool { return at(p.X, 0) && at(p.Y, 0) })
	add("square held at its corners: M in the middle /(q·a²)", ritz, 0.11171, s.moment(0.5, 0.5, 0), 0.004, "as above")
	add("square held at its corners: M along the middle of the edge", ritz, 0.1504, s.moment(0.5, 0, 0), 0.02, "on an edge moments are of first order")
	const eight = "Ritz n = 16 … 28, extrapolated; no published source"
	s = pointed(1, 1, n, 0.3, func(p plane.Point) bool {
		return at(p.X, 0) && at(p.Y, 0) || at(p.X, 0.5) && at(p.Y, 0) || at(p.X, 0) && at(p.Y, 0.5)
	})
	add("square on 8 points, corners and mid-sides: w in the middle", eight, 0.00489, s.w(0.5, 0.5), 0.006, "the source is good to 0.4 %")
	f := s.reactions()
	add("square on 8 points: force at a mid-side /(q·a²)", eight, 0.225, 2*f[node(s.m, plane.Point{X: 0.5})], 0.006, "the source has three figures")
	out = append(out, Row{What: "square on 8 points: force at a corner /(q·a²), a fifth of an even share", Source: eight, Status: Computed, Expected: 0.025, Got: f[node(s.m, plane.Point{})], AllowAbs: 0.001, Reason: "the source has two figures"})
	s = pointed(1, 1, 60, 0.3, func(p plane.Point) bool {
		return at(p.X, 0) && at(p.Y, 0) || at(p.X, 1.0/3) && at(p.Y, 0) || at(p.X, 0) && at(p.Y, 1.0/3)
	})
	f = s.reactions()
	out = append(out, Row{What: "square on 12 points, corners and thirds: a corner pulls the other way /(q·a²)", Source: eight, Status: Computed, Expected: -0.017, Got: f[node(s.m, plane.Point{})], AllowAbs: 0.001, Reason: "the source has two figures"})
	return out
}

// pointed solves a quarter of a rectangle with free edges, held where on says so.
func pointed(a, b float64, n int, nu float64, on func(p plane.Point) bool) solution {
	m := mesh.Grid(a/2, b/2, n, int(math.Round(float64(n)*b/a)), "x")
	f := fixed(m, func(p plane.Point) (w, tx, ty bool) { return on(p), at(p.Y, b/2), at(p.X, a/2) })
	return solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(nu)}, Fixed: f}, plate.Load{Pressure: 1})
}

// reactions are the forces that hold each held node down, under an even load of 1.
func (s solution) reactions() map[int32]float64 {
	r := plate.NewCertifier(s.s.Model).Reactions(plate.Load{Pressure: 1}, s.f)
	for n := range r {
		r[n] = -r[n]
	}
	return r
}

// grids are endless sheets on a grid of point supports: a quarter of a bay.
func grids() []Row {
	const source = timoshenko + ", sec. 54; closed form by lattice sums"
	var out []Row
	const n = 48
	s := pointedBay(1, 1, n, 0.3)
	add := func(what string, status string, want, got, allow float64, why string) {
		out = append(out, Row{What: what, Source: source, Status: status, Expected: want, Got: got, Allow: allow, Reason: why})
	}
	add("endless sheet on a square grid of points: w in the middle of a bay: G·q·a⁴/(16π²·D)", Closed, 0.00580042, s.w(0.5, 0.5), 0.004, "48 cells to the half bay; at the support moments have no bound")
	add("the same: w midway between neighbours", Closed, 0.00435031, s.w(0.5, 0), 0.005, "as above")
	add("the same: M in the middle of a bay, (1+ν)·ln2·q·a²/8π", Closed, 0.035853, s.moment(0.5, 0.5, 0), 0.005, "as above")
	s = pointedBay(1, 1, n, 0.2)
	add("the same, ν = 0.2: M in the middle of a bay", Closed, 0.033095, s.moment(0.5, 0.5, 0), 0.005, "as above")
	for _, c := range []struct{ ratio, w float64 }{{1.2, 0.004273}, {1.5, 0.003384}, {2, 0.002914}} {
		s := pointedBay(1/c.ratio, 1, n, 0.2)
		add(fmt.Sprintf("endless sheet on points, bays of b/a = %g: w in the middle /(q·b⁴/D)", c.ratio), Computed, c.w, s.w(0.5/c.ratio, 0.5), 0.006, "as above")
	}
	return out
}

func pointedBay(a, b float64, n int, nu float64) solution {
	m := mesh.Grid(a/2, b/2, n, int(math.Round(float64(n)*b/a)), "x")
	f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
		return at(p.X, 0) && at(p.Y, 0), at(p.Y, 0) || at(p.Y, b/2), at(p.X, 0) || at(p.X, a/2)
	})
	return solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(nu)}, Fixed: f}, plate.Load{Pressure: 1})
}
