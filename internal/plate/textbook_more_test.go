package plate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// textbookOdd is a unit square, n × n, whose inner nodes are moved about by up to a fifth of the pitch.
func textbookOdd(n int) *mesh.Mesh {
	g := mesh.Grid(1, 1, n, n, "x")
	r := rand.New(rand.NewPCG(7, uint64(n)))
	for i, p := range g.Nodes {
		if p.X > 0 && p.X < 1 && p.Y > 0 && p.Y < 1 {
			g.Nodes[i] = plane.Point{X: p.X + (r.Float64()-0.5)*0.4/float64(n), Y: p.Y + (r.Float64()-0.5)*0.4/float64(n)}
		}
	}
	return g
}

func textbookMesh(n int, diagonal string) *mesh.Mesh {
	if diagonal == "odd" {
		return textbookOdd(n)
	}
	return mesh.Grid(1, 1, n, n, diagonal)
}

// textbookSine solves the unit square under p = 4π⁴·sin πx·sin πy, whose deflection is (1 + 2π²·D/S)·sin πx·sin πy by theory,
// and returns the root mean square errors of w, θ, M and Q, each over the greatest value.
func textbookSine(t testing.TB, g *mesh.Mesh, section Section) (w, rot, mom, shear float64) {
	edge := textbookHard
	m := &Model{Mesh: g, Sections: []Section{section}, Fixed: textbookFix(g, 1, 1, [4]int{edge, edge, edge, edge})}
	ss := func(x, y float64) float64 { return math.Sin(math.Pi*x) * math.Sin(math.Pi*y) }
	cs := func(x, y float64) float64 { return math.Cos(math.Pi*x) * math.Sin(math.Pi*y) }
	p := make([]float64, len(g.Tris))
	for t, tri := range g.Tris {
		for k := range 3 {
			a, b := g.Nodes[tri[k]], g.Nodes[tri[(k+1)%3]]
			p[t] += 4 * math.Pow(math.Pi, 4) / 3 * ss((a.X+b.X)/2, (a.Y+b.Y)/2)
		}
	}
	s, f := textbookSolve(t, m, Load{PressureOf: p})
	st := s.Stress(f)
	factor := 1.0
	if !section.thin() {
		factor += 2 * math.Pi * math.Pi / section.S[0][0]
	}
	square := func(sum *float64, got, want float64) { *sum += (got - want) * (got - want) / float64(len(g.Nodes)) }
	pi2, pi3 := math.Pi*math.Pi, math.Pi*math.Pi*math.Pi
	for i, q := range g.Nodes {
		square(&w, f.W[i]/factor, ss(q.X, q.Y))
		square(&rot, f.TY[i]/math.Pi, -cs(q.X, q.Y))
		square(&mom, st.M[i][0]/(1.3*pi2), ss(q.X, q.Y))
		square(&shear, st.Q[i][0]/(2*pi3), cs(q.X, q.Y))
	}
	return math.Sqrt(w), math.Sqrt(rot), math.Sqrt(mom), math.Sqrt(shear)
}

// Each halving of the edges divides the error of w and of the rotations by four, on even and uneven meshes, thin and with
// shear. Between the two, where φ goes from 0 to above 1 as the mesh is refined, the slope dips to 1.5 and comes back.
// Moments, which are of first order on edges, gain faster than the edge length, shear forces as it.
func TestConvergence(t *testing.T) {
	for _, c := range []struct {
		shear    float64
		diagonal string
		least    float64 // slope of w
	}{
		{0, "/", 1.9}, {0, "x", 1.9}, {0, "odd", 1.9}, {20, "/", 1.9}, {20, "x", 1.9}, {20, "odd", 1.9}, {1e4, "/", 1.5}, {1e4, "odd", 1.9},
	} {
		section := textbookUnit()
		section.S = [2][2]float64{{c.shear, 0}, {0, c.shear}}
		w0, r0, m0, q0 := textbookSine(t, textbookMesh(16, c.diagonal), section)
		w1, r1, m1, q1 := textbookSine(t, textbookMesh(32, c.diagonal), section)
		slope := func(a, b float64) float64 { return math.Log2(a / b) }
		if v := slope(w0, w1); v < c.least {
			t.Errorf("S %g, %s: slope of w %.2f", c.shear, c.diagonal, v)
		}
		if v := slope(r0, r1); v < 1.85 {
			t.Errorf("S %g, %s: slope of the rotations %.2f", c.shear, c.diagonal, v)
		}
		if v := slope(m0, m1); v < 1.1 {
			t.Errorf("S %g, %s: slope of the moments %.2f", c.shear, c.diagonal, v)
		}
		if v := slope(q0, q1); v < 1 {
			t.Errorf("S %g, %s: slope of the shear forces %.2f", c.shear, c.diagonal, v)
		}
		// 32 elements to a half wave.
		if w1 > 1.5e-3 || r1 > 1.5e-3 || m1 > 0.02 || q1 > 0.1 {
			t.Errorf("S %g, %s: errors %.2e %.2e %.2e %.2e", c.shear, c.diagonal, w1, r1, m1, q1)
		}
	}
}

// No locking: at a span of 10 to 100,000 thicknesses the simply supported square is as close to the theory of Mindlin and
// Reissner (closed form: Navier's series for bending, w·D/(q·a⁴) = 0.00406235, and q·a²·0.0736713/S for shear) as a thin one.
func TestNoLocking(t *testing.T) {
	const thinError = 0.004
	for _, diagonal := range []string{"/", "\\", "x"} {
		g := mesh.Grid(0.5, 0.5, 16, 16, diagonal)
		for _, ratio := range []float64{1e-1, 1e-2, 1e-3, 1e-4, 1e-5} {
			section := Sheet(1e7, 0.3, ratio, 0)
			m := &Model{Mesh: g, Sections: []Section{section}, Fixed: textbookFix(g, 0.5, 0.5, [4]int{textbookHard, textbookHard, textbookMirror, textbookMirror})}
			_, f := textbookSolve(t, m, Load{Pressure: 1})
			want := 0.00406235/section.D[0][0] + 0.0736713/section.S[0][0]
			if got := f.W[len(f.W)-1]; math.Abs(got/want-1) > thinError {
				t.Errorf("%s, t/a %g: w %.6g, want %.6g", diagonal, ratio, got, want)
			}
			// Clamped: the thin value is the least; shear adds to it, and nothing is below it.
			m.Fixed = textbookFix(g, 0.5, 0.5, [4]int{textbookClamp, textbookClamp, textbookMirror, textbookMirror})
			_, f = textbookSolve(t, m, Load{Pressure: 1})
			if got := f.W[len(f.W)-1] * section.D[0][0]; ratio <= 1e-2 && math.Abs(got/0.00126532-1) > 2*thinError {
				t.Errorf("%s, t/a %g, clamped: w·D %.6g", diagonal, ratio, got)
			} else if ratio == 1e-1 && (got < 0.0014 || got > 0.0016) {
				t.Errorf("%s, t/a %g, clamped: w·D %.6g", diagonal, ratio, got)
			}
		}
	}
}

// Closed forms and computed values of thin plates, as w·D/(q·a⁴), M/(q·a²) or w·D/(P·a²). Simply supported: Navier's and Levy's
// series. Clamped and corner-held: Legendre–Ritz of 16 and 24 terms, computed. Allowances are what the mesh is known to be off
// by.
func TestTextbookSquares(t *testing.T) {
	four := func(g *mesh.Mesh) (out []Fix) {
		for i, p := range g.Nodes {
			if (p.X == 0 || p.X == 1) && (p.Y == 0 || p.Y == 1) {
				out = append(out, Fix{Node: int32(i), W: true})
			}
		}
		return out
	}
	edge := func(kind int) func(g *mesh.Mesh) []Fix {
		return func(g *mesh.Mesh) []Fix { return textbookFix(g, 1, 1, [4]int{kind, kind, kind, kind}) }
	}
	const n = 32
	middle, side := n/2*(n+1)+n/2, n/2
	for _, c := range []struct {
		name  string
		fix   func(g *mesh.Mesh) []Fix
		force float64
		at    int
		w, m  float64 // m along x; 0: not compared
		allow float64 // relative, of w
	}{
		{"simply supported", edge(textbookHard), 0, middle, 0.00406235, 0.0478863, 0.003},
		{"simply supported, soft", edge(textbookSoft), 0, middle, 0.00406235, 0.0478863, 0.006},
		{"clamped", edge(textbookClamp), 0, middle, 0.00126532, 0.0229051, 0.004},
		{"clamped, at the edge", edge(textbookClamp), 0, n / 2 * (n + 1), 0, -0.0513338, 0},
		{"simply supported, central force", edge(textbookHard), 1, middle, 0.0116008, 0, 0.003},
		{"clamped, central force", edge(textbookClamp), 1, middle, 0.005612, 0, 0.003},
		{"four corners", four, 0, middle, 0.0255065, 0.111711, 0.001},
		{"four corners, at the edge", four, 0, side, 0.0177474, 0.150440, 0.0015},
	} {
		g := mesh.Grid(1, 1, n, n, "x")
		m := &Model{Mesh: g, Sections: []Section{textbookUnit()}, Fixed: c.fix(g)}
		l := Load{Pressure: 1}
		if c.force != 0 {
			l = Load{Points: []PointLoad{{Node: int32(middle), Force: c.force}}}
		}
		s, f := textbookSolve(t, m, l)
		if math.Abs(f.W[c.at]-c.w) > c.allow*c.w {
			t.Errorf("%s: w %.7f, want %.7f", c.name, f.W[c.at], c.w)
		}
		if got := s.Stress(f).M[c.at][0]; c.m != 0 && math.Abs(got/c.m-1) > 0.012 {
			t.Errorf("%s: M %.6f, want %.6f", c.name, got, c.m)
		}
	}
}

// textbookDisc is a disc of radius 1 in rings of triangles, 6·r nodes on ring r.
func textbookDisc(rings int) *mesh.Mesh {
	m := &mesh.Mesh{Nodes: []plane.Point{{}}}
	first := func(r int) int32 { return int32(1 + 3*r*(r-1)) }
	for r := 1; r <= rings; r++ {
		for k := range 6 * r {
			a := 2 * math.Pi * float64(k) / float64(6*r)
			d := float64(r) / float64(rings)
			m.Nodes = append(m.Nodes, plane.Point{X: d * math.Cos(a), Y: d * math.Sin(a)})
		}
		in := func(k int) int32 {
			if r == 1 {
				return 0
			}
			return first(r-1) + int32(k%(6*(r-1)))
		}
		out := func(k int) int32 { return first(r) + int32(k%(6*r)) }
		for sector := range 6 {
			for k := range r {
				o, i := sector*r+k, sector*(r-1)+k
				m.Tris = append(m.Tris, [3]int32{in(i), out(o), out(o + 1)})
				if k < r-1 {
					m.Tris = append(m.Tris, [3]int32{in(i), out(o + 1), in(i + 1)})
				}
			}
		}
	}
	return m
}

// Circular plates, radius a, D = 1, ν = 0.3: closed forms of thin plates, from memory, checked by the plate equation. Edge
// nodes have axes along and across the edge.
func TestTextbookDiscs(t *testing.T) {
	const rings = 24
	const nu = 0.3
	for _, c := range []struct {
		name  string
		clamp bool
		force float64
		w, m  float64
	}{
		{"simple edge, even load", false, 0, (5 + nu) / (1 + nu) / 64, (3 + nu) / 16},
		{"clamped edge, even load", true, 0, 1. / 64, (1 + nu) / 16},
		{"simple edge, central force", false, 1, (3 + nu) / (1 + nu) / (16 * math.Pi), 0},
		{"clamped edge, central force", true, 1, 1 / (16 * math.Pi), 0},
	} {
		g := textbookDisc(rings)
		m := &Model{Mesh: g, Sections: []Section{textbookUnit()}}
		for i := len(g.Nodes) - 6*rings; i < len(g.Nodes); i++ {
			// Across is the radius: about it nothing turns, since the whole edge stays at w = 0.
			m.Fixed = append(m.Fixed, Fix{Node: int32(i), W: true, Cross: true, Along: c.clamp, Dir: math.Atan2(g.Nodes[i].Y, g.Nodes[i].X) + math.Pi/2})
		}
		l := Load{Pressure: 1}
		if c.force != 0 {
			l = Load{Points: []PointLoad{{Force: c.force}}}
		}
		s, f := textbookSolve(t, m, l)
		// 24 rings: measured within 0.35 %, of which 0.2 % is the polygon's smaller area.
		if math.Abs(f.W[0]/c.w-1) > 0.005 {
			t.Errorf("%s: w %.7f, want %.7f", c.name, f.W[0], c.w)
		}
		if got := s.Stress(f).M[0][0]; c.m != 0 && math.Abs(got/c.m-1) > 0.005 {
			t.Errorf("%s: M %.6f, want %.6f", c.name, got, c.m)
		}
	}
}

// Morley's rhombus of 30°, w = 0 on its edges, computed by separate code with the discrete Kirchhoff triangle and lumped load:
// to its seven figures. The limit, 4.078e-4, is far off on such meshes, since moments in the corners of 150° are unbounded.
func TestMorleyRhombus(t *testing.T) {
	for _, c := range []struct {
		n        int
		diagonal string
		want     float64
	}{
		{8, "/", .0004999}, {8, "\\", .0004242}, {16, "/", .0004382}, {16, "\\", .0004193}, {32, "/", .0004191}, {32, "\\", .0004166},
		{64, "/", .0004128}, {64, "\\", .0004145},
	} {
		g := mesh.Grid(1, 1, c.n, c.n, c.diagonal)
		m := &Model{Mesh: g, Sections: []Section{textbookUnit()}, Fixed: textbookFix(g, 1, 1, [4]int{textbookSoft, textbookSoft, textbookSoft, textbookSoft})}
		for i, p := range g.Nodes {
			g.Nodes[i] = plane.Point{X: p.X + p.Y*math.Sqrt(3)/2, Y: p.Y / 2}
		}
		_, f := textbookSolveVector(t, m, func(s *System) []float64 { return s.load(Load{Pressure: 1}, textbookLumped) })
		if got := f.W[c.n/2*(c.n+1)+c.n/2]; math.Abs(got-c.want) > 0.51e-7 {
			t.Errorf("%d %s: w %.7f, want %.7f", c.n, c.diagonal, got, c.want)
		}
	}
}

// A sandwich of 0.5 / 10 / 0.5 mm, 1 m square, on hard supports under 1 kPa: bending 1.90816 mm and shear 0.22274 mm in closed
// form (Navier, Poisson's equation), 2.1304 mm by an outside program's solids. In the middle of a face M·z·E/((1−ν²)·D); the
// usual 9.1212 MPa, M/(d·t), leaves out what the core and the face's own bending carry, 0.4 %.
func TestSandwich(t *testing.T) {
	face := Layer{E: 70000, Nu: 0.3, Thickness: 0.5, Density: 2.7e-9}
	section := Sandwich(face, Layer{E: 78, Nu: 0.3, Thickness: 10, Density: 6e-11}, 30)
	if math.Abs(section.D[0][0]-2128937.73) > 0.01 || math.Abs(section.S[0][0]-330.75) > 1e-9 || math.Abs(section.Mass-(2.7e-9+6e-10)) > 1e-20 {
		t.Fatalf("D %v, S %v, mass %v", section.D[0][0], section.S[0][0], section.Mass)
	}
	const n = 32
	for _, diagonal := range []string{"/", "x"} {
		g := mesh.Grid(500, 500, n, n, diagonal)
		hard := [4]int{textbookHard, textbookHard, textbookMirror, textbookMirror}
		m := &Model{Mesh: g, Sections: []Section{section}, Fixed: textbookFix(g, 500, 500, hard)}
		s, f := textbookSolve(t, m, Load{Pressure: 1e-3})
		middle := len(f.W) - 1
		if math.Abs(f.W[middle]/2.13089975-1) > 0.001 {
			t.Errorf("%s: w %.5f mm, want 2.13090", diagonal, f.W[middle])
		}
		st := s.Stress(f)
		// From the outer face to the middle of the face sheet.
		want := 47.8863783 * 5.25 * 70000 / 0.91 / section.D[0][0]
		if got := st.At(middle, 0)[0] * 5.25 / 5.5; math.Abs(got/want-1) > 0.001 || math.Abs(want/9.12121492-1) > 0.005 {
			t.Errorf("%s: stress in the face %.4f MPa, want %.4f", diagonal, got, want)
		}
		// Soft supports are really softer: 2.365 mm by the outside program's solids, whose coarse mesh is within 1 %.
		soft := [4]int{textbookSoft, textbookSoft, textbookMirror, textbookMirror}
		m = &Model{Mesh: g, Sections: []Section{section}, Fixed: textbookFix(g, 500, 500, soft)}
		_, f = textbookSolve(t, m, Load{Pressure: 1e-3})
		if w := f.W[middle]; w < 2.3 || w > 2.40 {
			t.Errorf("%s: w %.5f mm on soft supports", diagonal, w)
		}
	}
}

// Two sections side by side: a place for each on the line between them, moments continuous across it and stresses not.
func TestStressPlaces(t *testing.T) {
	g := mesh.Grid(200, 100, 20, 10, "/")
	m := &Model{Mesh: g, Sections: []Section{Sheet(70000, 0.3, 2, 0), Sheet(70000, 0.3, 3, 0)}, Of: make([]int32, len(g.Tris))}
	m.Fixed = textbookFix(g, 200, 100, [4]int{textbookHard, textbookMirror, textbookHard, textbookMirror})
	for i, tri := range g.Tris {
		if g.Nodes[tri[0]].X+g.Nodes[tri[1]].X+g.Nodes[tri[2]].X > 300 {
			m.Of[i] = 1
		}
	}
	s, f := textbookSolve(t, m, Load{Pressure: 0.01})
	st := s.Stress(f)
	if want := len(g.Nodes) + 11; len(st.Node) != want || len(st.M) != want {
		t.Fatalf("%d places, want %d", len(st.Node), want)
	}
	seen := map[string]float64{}
	for p, node := range st.Node {
		if at := g.Nodes[node]; at == (plane.Point{X: 100, Y: 50}) {
			seen[fmt.Sprint("M", st.Of[p])] = st.M[p][0]
			seen[fmt.Sprint("s", st.Of[p])] = st.At(p, 0)[0]
		}
	}
	// A strip that bends cylindrically: M = q·L²/8 in the middle. Mises with ν·M across: 66.7 MPa.
	for of, thick := range []float64{2, 3} {
		if got := seen[fmt.Sprint("M", of)]; math.Abs(got/50-1) > 0.03 {
			t.Errorf("section %d: M %.3f N, want 50", of, got)
		}
		if got, want := seen[fmt.Sprint("s", of)], 6*50/(thick*thick); math.Abs(got/want-1) > 0.03 {
			t.Errorf("section %d: %.3f MPa, want %.3f", of, got, want)
		}
	}
	for t0, places := range st.Place {
		for c, p := range places {
			if st.Node[p] != g.Tris[t0][c] || st.Of[p] != m.Of[t0] {
				t.Fatalf("triangle %d corner %d stands at place %d of node %d, section %d", t0, c, p, st.Node[p], st.Of[p])
			}
		}
	}
	p, _, mises := st.Worst()
	if st.Of[p] != 0 || mises < 66 || mises > 68 {
		t.Errorf("worst %.2f MPa in section %d", mises, st.Of[p])
	}
}
