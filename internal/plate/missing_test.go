package plate

import (
	"errors"
	"math"
	"slices"
	"sync"
	"testing"

	"panelwright/internal/mesh"
)

// missingFlange is a panel of 1200 × 800 × 12 mm on 384 pads of a flange, with eight preloaded stations, the first points, in five
// levels of suction up to 2 kPa.
var missingFlange = sync.OnceValues(func() (*Solution, error) {
	const nx, ny = 60, 40
	g := mesh.Grid(1200, 800, nx, ny, "x")
	m := &Model{Mesh: g, Sections: []Section{Sheet(7000, 0.35, 12, 1.5e-9)}}
	var laws []Law
	add := func(i, j int, l Law) {
		if n := int32(j*(nx+1) + i); !slices.Contains(m.Points, n) {
			m.Points, laws = append(m.Points, n), append(laws, l)
		}
	}
	for _, p := range [][2]int{{1, 1}, {30, 1}, {59, 1}, {1, 20}, {59, 20}, {1, 39}, {30, 39}, {59, 39}} {
		add(p[0], p[1], Station(150, 0.4, 5000))
	}
	for _, in := range []int{0, 2} {
		for i := in; i <= nx-in; i++ {
			add(i, in, Pad(2000))
			add(i, ny-in, Pad(2000))
		}
		for j := in; j <= ny-in; j++ {
			add(in, j, Pad(2000))
			add(nx-in, j, Pad(2000))
		}
	}
	s, err := Assemble(m)
	if err != nil {
		return nil, err
	}
	it, err := s.Condense(0)
	if err != nil {
		return nil, err
	}
	return it.Solve([]Load{{}, {Pressure: 0.5e-3}, {Pressure: 1e-3}, {Pressure: 1.5e-3}, {Pressure: 2e-3}}, laws)
})

func missingPanel(t testing.TB) *Solution {
	t.Helper()
	s, err := missingFlange()
	if err != nil {
		t.Fatal(err)
	}
	if n := len(s.Laws); n != 392 {
		t.Fatalf("%d interface points", n)
	}
	return s
}

// missingEach leaves each of the eight stations out in turn.
func missingEach() (out [][]Change) {
	for i := range 8 {
		out = append(out, []Change{{Point: i}})
	}
	return out
}

// Each variant has a certificate under its own laws, is what its laws give from nothing, and is the same bits for any number of
// workers.
func TestVariants(t *testing.T) {
	s := missingPanel(t)
	const level = 4
	changes := missingEach()
	changes = append(changes, nil, []Change{{1, Law{}}, {40, Sum(Pad(2000), Station(150, 0.4, 5000))}})
	before := slices.Clone(s.Laws)
	one := s.Variants(level, changes, 1)
	proof := NewCertifier(s.Interface.System.Model)
	for i, v := range one {
		if v.Err != nil {
			t.Fatalf("variant %d: %v", i, v.Err)
		}
		laws := slices.Clone(s.Laws)
		for _, c := range changes[i] {
			laws[c.Point] = c.Law
		}
		f := s.Interface.Field(s.Reduced, level, v.Answer.W)
		if faults := proof.Certify(laws, Load{Pressure: 2e-3}, v.Answer, f).Faults(); len(faults) > 0 {
			t.Errorf("variant %d: %v", i, faults)
		}
		cold, err := s.Compliance.Solve(s.Reduced.F[level], laws, nil)
		if err != nil {
			t.Fatalf("variant %d from nothing: %v", i, err)
		}
		fresh, err := s.Interface.Solve([]Load{{Pressure: 2e-3}}, laws)
		if err != nil {
			t.Fatalf("variant %d from its own compliance: %v", i, err)
		}
		for k, w := range v.Answer.W {
			if math.Abs(cold.W[k]-w) > 1e-9*20 || math.Abs(fresh.Answers[0].W[k]-w) > 1e-9*20 {
				t.Fatalf("variant %d, point %d: %.15g, from nothing %.15g, from its own compliance %.15g", i, k, w, cold.W[k], fresh.Answers[0].W[k])
			}
		}
	}
	for k, w := range one[8].Answer.W {
		if math.Abs(w-s.Answers[level].W[k]) > 1e-10 {
			t.Fatalf("nothing changed, and point %d stands at %g instead of %g", k, w, s.Answers[level].W[k])
		}
	}
	for _, workers := range []int{0, 2, 7, 100} {
		for i, v := range s.Variants(level, changes, workers) {
			if !slices.Equal(v.Answer.W, one[i].Answer.W) || !slices.Equal(v.Answer.Force, one[i].Answer.Force) {
				t.Fatalf("variant %d: %d workers give other digits than one", i, workers)
			}
		}
	}
	if !slices.EqualFunc(before, s.Laws, func(a, b Law) bool {
		return slices.Equal(a.Knots, b.Knots) && a.Before == b.Before && a.After == b.After
	}) {
		t.Error("the laws were changed")
	}
}

// A neighbour pulls more when a station is out, and the whole pull still balances.
func TestVariantsNeighbour(t *testing.T) {
	s := missingPanel(t)
	full := s.Answers[4]
	v := s.Variants(4, [][]Change{{{Point: 1}}}, 0)[0]
	if v.Err != nil {
		t.Fatal(v.Err)
	}
	if !(v.Answer.Force[0] < full.Force[0] && v.Answer.W[1] > full.W[1]) || v.Answer.Force[1] != 0 {
		t.Errorf("corner pulls %g, before %g; the place left stands at %g, before %g, and pulls %g",
			-v.Answer.Force[0], -full.Force[0], v.Answer.W[1], full.W[1], v.Answer.Force[1])
	}
	sum := 0.0
	for _, f := range v.Answer.Force {
		sum += f
	}
	if math.Abs(sum+1920) > 1e-9*1920 {
		t.Errorf("forces add up to %.12g of −1920 N", sum)
	}
}

// A variant that nothing holds says so, beside others that are held: a station in a corner alone holds the panel, by the pads
// about it, though far open.
func TestVariantsNotHeld(t *testing.T) {
	s := missingPanel(t)
	all := make([]Change, 8)
	for i := range all {
		all[i].Point = i
	}
	out := s.Variants(4, [][]Change{all, all[:1], all[1:7], all[1:]}, 0)
	for i, v := range out[1:] {
		if v.Err != nil {
			t.Errorf("variant %d: %v", i+1, v.Err)
		}
	}
	if w := out[3].Answer.W[7]; !(w > 100) {
		t.Errorf("one corner alone holds: the other stands at %g", w)
	}
	var off *NotHeld
	if !errors.As(out[0].Err, &off) || out[0].Answer != nil {
		t.Fatalf("no station left: %v", out[0].Err)
	}
	m := off.Motion
	for _, p := range s.Interface.Places() {
		if !(m[0]+m[1]*p[0]+m[2]*p[1] > 0) {
			t.Errorf("it lifts off by %v, inwards at %v", m, p)
		}
	}
}

func BenchmarkCompliance392(b *testing.B) {
	s := missingPanel(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := NewCompliance(s.Interface.S, s.Laws, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFiveLevels392(b *testing.B) {
	s := missingPanel(b)
	b.ReportAllocs()
	for b.Loop() {
		var from *Answer
		var err error
		for _, f := range s.Reduced.F {
			if from, err = s.Compliance.Solve(f, s.Laws, from); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkOneMissing392(b *testing.B) {
	s := missingPanel(b)
	changes := missingEach()
	b.ReportAllocs()
	for b.Loop() {
		for _, v := range s.Variants(4, changes, 0) {
			if v.Err != nil {
				b.Fatal(v.Err)
			}
		}
	}
}

func BenchmarkOneMoved392(b *testing.B) {
	s := missingPanel(b)
	changes := [][]Change{{{1, Law{}}, {40, Sum(Pad(2000), Station(150, 0.4, 5000))}}}
	b.ReportAllocs()
	for b.Loop() {
		if v := s.Variants(4, changes, 1)[0]; v.Err != nil {
			b.Fatal(v.Err)
		}
	}
}
