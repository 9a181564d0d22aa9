package plate

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"panelwright/internal/mesh"
)

// kawPly is the graphite/epoxy ply of the worked examples in [kaw06], table 2.1, from memory.
func kawPly(degrees, t float64) Ply {
	return Ply{E1: 181e3, E2: 10.3e3, Nu12: 0.28, G12: 7.17e3, G13: 7.17e3, G23: 3.6e3, Angle: degrees * math.Pi / 180, Thickness: t}
}

func within(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s: %.6g, published %.6g (allowed %.2g of it)", what, got, want, share)
	}
}

// Kaw 2006, example 4.2 and 4.3: [0/30/−45] of 5 mm plies, A, B, D, and the strains under N_x = N_y = 1000 N/m. From memory, to four
// figures as printed; there z runs downwards from the first ply, so B and the curvatures have the other sign.
func TestLaminateWorkedExample(t *testing.T) {
	s, err := Laminate([]Ply{kawPly(0, 5), kawPly(30, 5), kawPly(-45, 5)})
	if err != nil {
		t.Fatal(err)
	}
	a := [3][3]float64{{1.739e9, 3.884e8, 5.663e7}, {3.884e8, 4.533e8, -1.141e8}, {5.663e7, -1.141e8, 4.525e8}}    // Pa·m
	b := [3][3]float64{{-3.129e6, 9.855e5, -1.072e6}, {9.855e5, 1.158e6, -1.072e6}, {-1.072e6, -1.072e6, 9.855e5}} // Pa·m²
	d := [3][3]float64{{3.343e4, 6.461e3, -5.240e3}, {6.461e3, 9.320e3, -5.596e3}, {-5.240e3, -5.596e3, 7.663e3}}  // Pa·m³
	for i := range 3 {
		for j := range 3 {
			within(t, "A", s.A[i][j], a[i][j]*1e-3, 5e-4)
			within(t, "B", s.B[i][j], -b[i][j], 5e-4)
			within(t, "D", s.D[i][j], d[i][j]*1e3, 5e-4)
		}
	}
	strain, curvature, err := s.Strains([3]float64{1, 1, 0}, [3]float64{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range [3]float64{3.123e-7, 3.492e-6, -7.598e-7} {
		within(t, "strain", strain[i], want, 1e-3)
	}
	for i, want := range [3]float64{2.971e-5, -3.285e-4, 4.101e-4} {
		within(t, "curvature", curvature[i], -want*1e-3, 1e-3)
	}
}

// Kaw 2006, examples 2.16 to 2.18: a ply at 60° under σ_x = 2S, σ_y = −3S, τ = 4S fails at S = 16.33 MPa by the greatest strain (shear),
// 10.94 MPa by Tsai and Hill with the strengths of pulling alone, 16.06 MPa with each by its sign. From memory, as printed.
func TestFirstPlyWorkedExample(t *testing.T) {
	ply := kawPly(60, 1)
	own := Strength{AlongPull: 1500, AlongPush: 1500, AcrossPull: 40, AcrossPush: 246, Shear: 68}
	pull := own
	pull.AcrossPush = own.AcrossPull
	s, err := Laminate([]Ply{ply})
	if err != nil {
		t.Fatal(err)
	}
	strain, curvature, err := s.Strains([3]float64{2, -3, 4}, [3]float64{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name     string
		strength Strength
		by       Criterion
		want     float64
	}{{"greatest strain", own, GreatestStrain, 16.33}, {"Tsai–Hill, pulling strengths", pull, TsaiHill, 10.94}, {"Tsai–Hill by sign", own, TsaiHill, 16.06}} {
		got, err := Fails([]Ply{ply}, []Strength{c.strength}, strain, curvature, c.by)
		if err != nil {
			t.Fatal(err)
		}
		within(t, c.name, got.Factor, c.want, 1e-3)
		if c.by == GreatestStrain && got.Mode != "shear" {
			t.Errorf("fails in %s", got.Mode)
		}
	}
	for _, bad := range [][]Strength{nil, {{}}, {{1500, 1500, 40, 4000, 68}}} {
		if _, err := Fails([]Ply{ply}, bad, strain, curvature, TsaiHill); err == nil {
			t.Errorf("%v: not refused", bad)
		}
	}
}

// One isotropic ply must be the homogeneous sheet, 5/6·G·t of shear included [reissner45]; a sandwich of thin stiff faces its core.
func TestLaminateKnownSections(t *testing.T) {
	const e, nu = 70e3, 0.33
	g := e / (2 * (1 + nu))
	metal := Ply{E1: e, E2: e, Nu12: nu, G12: g, G13: g, G23: g, Thickness: 0.5, Density: 2.7e-9, Angle: 0.3}
	want := Sheet(e, nu, 1.5, 2.7e-9)
	for _, n := range []int{1, 3} {
		m := metal
		m.Thickness = 1.5 / float64(n)
		plies := make([]Ply, n)
		for i := range plies {
			plies[i] = m
		}
		got, err := Laminate(plies)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 3 {
			for j := range 3 {
				if math.Abs(got.A[i][j]-want.A[i][j]) > 1e-12*want.A[0][0] || math.Abs(got.D[i][j]-want.D[i][j]) > 1e-12*want.D[0][0] {
					t.Errorf("%d plies: A or D %d %d differs", n, i, j)
				}
			}
		}
		within(t, "S", got.S[0][0], want.S[0][0], 1e-12)
		within(t, "S", got.S[1][1], want.S[1][1], 1e-12)
		within(t, "mass", got.Mass, want.Mass, 1e-12)
	}
	core := Ply{E1: 10, E2: 10, Nu12: 0.3, G12: 4, G13: 30, G23: 18, Thickness: 12}
	faces := metal
	got, err := Laminate([]Ply{faces, core, faces})
	if err != nil {
		t.Fatal(err)
	}
	d := core.Thickness + faces.Thickness
	within(t, "sandwich, along", got.S[0][0], 30*d*d/12, 2e-3) // [plantema66]
	within(t, "sandwich, across", got.S[1][1], 18*d*d/12, 2e-3)
	if got.B != ([3][3]float64{}) {
		t.Error("a stack alike from both faces has B")
	}
}

// A laminate turned as a whole is the section turned, B and all (S by its own assumption is not quite); energy of any stretching and bending is positive.
func TestLaminateTurned(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 5))
	for range 300 {
		plies := make([]Ply, 1+r.IntN(6))
		for i := range plies {
			plies[i] = kawPly(r.Float64()*180, 0.1+r.Float64())
		}
		by := r.Float64() * 7
		turned := append([]Ply(nil), plies...)
		for i := range turned {
			turned[i].Angle += by
		}
		a, err := Laminate(plies)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Laminate(turned)
		if err != nil {
			t.Fatal(err)
		}
		a = a.Turned(by)
		for i := range 3 {
			for j := range 3 {
				if math.Abs(a.A[i][j]-b.A[i][j]) > 1e-9*a.A[0][0] || math.Abs(a.D[i][j]-b.D[i][j]) > 1e-9*a.D[0][0] ||
					math.Abs(a.B[i][j]-b.B[i][j]) > 1e-9*a.A[0][0]*a.Thickness {
					t.Fatalf("turned by %g: A, B or D %d %d differs", by, i, j)
				}
			}
		}
		m := [3]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		n := [3]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		strain, curvature, err := b.Strains(n, m)
		if err != nil {
			t.Fatal(err)
		}
		work := 0.0
		for i := range 3 {
			work += n[i]*strain[i] + m[i]*curvature[i]
			back := [2]float64{}
			for j := range 3 {
				back[0] += b.A[i][j]*strain[j] + b.B[i][j]*curvature[j]
				back[1] += b.B[i][j]*strain[j] + b.D[i][j]*curvature[j]
			}
			if math.Abs(back[0]-n[i]) > 1e-8 || math.Abs(back[1]-m[i]) > 1e-8 {
				t.Fatalf("forces come back as %v, not %g, %g", back, n[i], m[i])
			}
		}
		if !(work > 0) {
			t.Fatalf("work %g", work)
		}
	}
}

func TestLaminateRefuses(t *testing.T) {
	good := kawPly(0, 1)
	for name, change := range map[string]func(*Ply){
		"E1": func(p *Ply) { p.E1 = 0 }, "nu": func(p *Ply) { p.Nu12 = 4.3 }, "G": func(p *Ply) { p.G23 = math.NaN() },
		"angle": func(p *Ply) { p.Angle = math.Inf(1) }, "thickness": func(p *Ply) { p.Thickness = -1 }, "density": func(p *Ply) { p.Density = -1 },
	} {
		p := good
		change(&p)
		var bad *Unsound
		if _, err := Laminate([]Ply{good, p}); !errors.As(err, &bad) || bad.Place != "ply 2 from outside" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Laminate(nil); err == nil {
		t.Error("no plies: not refused")
	}
}

func BenchmarkLaminate(b *testing.B) {
	plies := []Ply{kawPly(0, 0.3), kawPly(45, 0.3), kawPly(-45, 0.3), kawPly(90, 0.3), kawPly(90, 0.3), kawPly(-45, 0.3), kawPly(45, 0.3), kawPly(0, 0.3)}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Laminate(plies); err != nil {
			b.Fatal(err)
		}
	}
}

// Closed forms of four laminates, and two of them as simply supported squares under pressure by Navier's series and a Legendre–Ritz
// method, computed outside this project (testdata/laminates.json says how). There plies are listed from z = −h/2.
func TestLaminateTable(t *testing.T) {
	text, err := os.ReadFile("testdata/laminates.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Laminates map[string]struct{ A, B, D [3][3]float64 }
		Plates    map[string]struct {
			A, Q   float64
			Navier struct{ W float64 }
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	stacks := map[string][]float64{"[0/45/-45/90]s": {0, 45, -45, 90, 90, -45, 45, 0}, "[0/90]": {0, 90}, "[0/90]s": {0, 90, 90, 0}, "[0]8": make([]float64, 8)}
	if len(file.Laminates) != len(stacks) || len(file.Plates) != 2 {
		t.Fatalf("%d laminates and %d plates read", len(file.Laminates), len(file.Plates))
	}
	for name, want := range file.Laminates {
		var plies []Ply
		for _, angle := range stacks[name] {
			p := Ply{E1: 135000, E2: 10000, Nu12: 0.3, G12: 5000, G13: 5000, G23: 3500, Angle: angle * math.Pi / 180, Thickness: 0.125}
			plies = append([]Ply{p}, plies...)
		}
		s, err := Laminate(plies)
		if err != nil {
			t.Fatal(name, err)
		}
		for i := range 3 {
			for j := range 3 {
				// The file has nine figures.
				a, d := want.A[0][0], want.D[0][0]
				if math.Abs(s.A[i][j]-want.A[i][j]) > 1e-8*a || math.Abs(s.D[i][j]-want.D[i][j]) > 1e-8*d || math.Abs(s.B[i][j]-want.B[i][j]) > 1e-8*math.Sqrt(a*d) {
					t.Errorf("%s: A, B, D %d %d: %.9g %.9g %.9g, want %.9g %.9g %.9g", name, i, j, s.A[i][j], s.B[i][j], s.D[i][j], want.A[i][j], want.B[i][j], want.D[i][j])
				}
			}
		}
		c, ok := file.Plates[name]
		if !ok {
			continue
		}
		const cells = 24
		m := &Model{Mesh: mesh.Grid(c.A, c.A, cells, cells, "x"), Sections: []Section{s.Thin()}}
		var middle int32
		for i, p := range m.Mesh.Nodes {
			onX, onY := p.X < 1e-9 || p.X > c.A-1e-9, p.Y < 1e-9 || p.Y > c.A-1e-9
			if onX || onY { // no rotation along the edge's normal: Navier's edges stay straight
				m.Fixed = append(m.Fixed, Fix{Node: int32(i), W: true, Along: onX, Cross: onY})
			}
			if math.Hypot(p.X-c.A/2, p.Y-c.A/2) < 1e-9 {
				middle = int32(i)
			}
		}
		m.Points = []int32{middle}
		sys, err := Assemble(m)
		if err != nil {
			t.Fatal(name, err)
		}
		it, err := sys.Condense(0)
		if err != nil {
			t.Fatal(name, err)
		}
		r := it.Reduce([]Load{{Pressure: c.Q}})
		within(t, name+": deflection of the middle", r.F[0][0]/it.S[0], c.Navier.W, 5e-3)
	}
}
