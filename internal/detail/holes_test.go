package detail

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, got, want, tol)
	}
}

func TestRPM(t *testing.T) {
	const ft = 0.3048
	for _, c := range []struct {
		what       string
		v, d, want float64 // m/min, mm, rev/min
		tol        float64
	}{
		{"80 sfm, 1/2 in", 80 * ft, 12.7, 611, 0.5},                                        // seen
		{"300 sfm, 1/4 in", 300 * ft, 6.35, 4583.7, 0.05},                                  // seen, with 12/π
		{"100 m/min, 3.3 mm", 100, 3.3, 9645.8, 0.05},                                      // computed
		{"60 m/min, 5 mm", 60, 5, 3819.7, 0.05},                                            // computed
		{"200 sfm, 1/8 in", 200 * ft, 3.175, 6111.5, 0.05},                                 // computed, with 12/π
		{"80 sfm, 3/8 in: 3.82·80/0.375, not the 813 printed", 80 * ft, 9.525, 814.9, 0.1}, // trap, seen
	} {
		near(t, c.what, RPM(c.v, c.d), c.want, c.tol)
	}
	defer func() {
		if recover() == nil {
			t.Error("a tool without diameter has no speed")
		}
	}()
	RPM(60, 0)
}

// h = (D − d)/(2·tan(A/2)): computed values, and the growth of D for 0.1 mm more depth.
func TestCountersinkDepth(t *testing.T) {
	for _, c := range []struct{ surface, hole, angle, want float64 }{
		{9, 5, 82, 2.3007}, {9, 5, 90, 2.0000}, {9, 5, 100, 1.6782}, {9, 5, 120, 1.1547},
		{8, 4.5, 82, 2.0131}, {8, 4.5, 90, 1.7500}, {8, 4.5, 100, 1.4684},
	} {
		near(t, "depth", setout.SinkDepth(c.surface, c.hole, c.angle), c.want, 5e-5)
	}
	for _, c := range []struct{ angle, grow float64 }{{82, 0.1739}, {90, 0.2}, {100, 0.2384}} {
		d := setout.SinkDepth(8, 4.5, c.angle)
		near(t, "growth of D", 2*math.Tan(c.angle*math.Pi/360)*(d+0.1)+4.5-8, c.grow, 1e-4)
	}
	// 100° flush heads, head depth from (A − D)/2/tan 50 (by geometry, from memory and checked), inches.
	for _, c := range []struct{ d, head, depth float64 }{{3.0 / 32, .179, .0358}, {1.0 / 8, .225, .0420}, {5.0 / 32, .286, .0544}, {3.0 / 16, .353, .0694}} {
		near(t, "flush head", setout.SinkDepth(c.head, c.d, 100), c.depth, 1e-4)
	}
	if setout.SinkDepth(3, 4, 90) != 0 {
		t.Error("a countersink narrower than its hole has no depth")
	}
}

func TestHandDrillRoundsDown(t *testing.T) {
	for _, c := range []struct{ n, want float64 }{{611, 600}, {599, 500}, {3000, 3000}, {9645, 3000}, {100, 100}, {40, 100}} {
		if got, _ := handDrill(c.n); got != c.want {
			t.Errorf("%.0f rev/min: set %.0f, want %.0f", c.n, got, c.want)
		}
	}
	for _, n := range []float64{40, 9645} {
		if _, remark := handDrill(n); remark == "" {
			t.Errorf("%.0f rev/min cannot be set, and nothing says so", n)
		}
	}
}

func TestHoleDrillTakesTheSmallestThatFits(t *testing.T) {
	owned := worked.Drills()
	for lo := 1.0; lo < 9.5; lo += 0.05 {
		d, why := holeDrill(owned, lo, lo+0.2)
		if d == nil {
			t.Fatalf("%.2f to %.2f: %s", lo, lo+0.2, why)
		}
		for _, o := range owned {
			if o.Diameter >= lo-holeRounding && o.Diameter < d.Diameter {
				t.Errorf("%.2f: %s taken, %s is nearer", lo, d.Name, o.Name)
			}
		}
	}
	if d, why := holeDrill(nil, 3.3, 3.4); d != nil || why == "" {
		t.Error("no drills, and one was found")
	}
	if _, why := holeDrill(owned, 31.01, 31.02); !strings.Contains(why, "no drill on sale") {
		t.Errorf("an odd size: %q", why)
	}
}

func TestPilot(t *testing.T) {
	owned := worked.Drills()
	for _, c := range []struct{ final, want float64 }{{9, 3}, {3.3, 3}, {3, 2.95}, {2, 0}, {1.5, 0}} {
		got := 0.0
		if d := holePilot(owned, c.final); d != nil {
			got = d.Diameter
		}
		if got != c.want {
			t.Errorf("hole of %.1f: pilot %.2f, want %.2f", c.final, got, c.want)
		}
	}
}

func TestHoleTool(t *testing.T) {
	for _, c := range []struct {
		f    stock.Family
		d, t float64
		tool string
		oil  string
	}{
		{stock.Aluminium, 3.3, 1.5, "twist drill", "light oil"},
		{stock.Aluminium, 9, 1.5, "step drill or sheet punch", "light oil"},
		{stock.Aluminium, 9, 6, "twist drill", "light oil"},
		{stock.Steel, 12.7, 1.2, "step drill or sheet punch", "light oil"},
		{stock.GlassFibre, 3.3, 2.5, "carbide drill with backing board", "no oil"},
		{stock.CarbonFibre, 12.7, 2.5, "abrasive hole cutter with backing board", "no oil"},
	} {
		tool, note := holeTool(c.f, c.d, c.t)
		if tool != c.tool || !strings.Contains(note, c.oil) {
			t.Errorf("%s %.1f in %.1f: %q, %q; want %q, %q", c.f, c.d, c.t, tool, note, c.tool, c.oil)
		}
	}
}

// Turning or moving a whole panel turns and moves its holes, and changes nothing else.
func TestHolesFollowThePanel(t *testing.T) {
	want := settled(worked.Job()).Panels[0].Holes
	for _, turn := range []float64{0.3, math.Pi / 2, 2} {
		j := worked.Job()
		m := plane.Turn(turn, plane.Point{X: 100, Y: -50})
		pan := j.Panels[0]
		pan.Outline = pan.Outline.Transform(m)
		p := settled(j)
		for i, st := range p.Panels[0].Stations {
			old := worked.Places[i]
			st.At = m.Apply(old)
			st.Dir = turn
			if old.X < 100 || old.X > 700 {
				st.Dir += math.Pi / 2
			}
		}
		Holes(p)
		got := p.Panels[0].Holes
		if len(got) != len(want) {
			t.Fatalf("%d holes, want %d", len(got), len(want))
		}
		for i := range got {
			if d := got[i].At.Dist(m.Apply(want[i].At)); d > 1e-9 {
				t.Errorf("turned by %.2f: hole %d is %.2g mm off", turn, i+1, d)
			}
			if got[i].Drill.Name != want[i].Drill.Name || got[i].Purpose != want[i].Purpose || got[i].Layer != want[i].Layer {
				t.Errorf("turned by %.2f: hole %d is another", turn, i+1)
			}
		}
	}
}

// The order of work: no stage, and within it no layer, comes back after another.
func TestHoleOrder(t *testing.T) {
	j := worked.Job()
	j.Range.Plates[0].Rivets = []stock.Hole{{At: plane.Point{X: -26}}, {At: plane.Point{X: 26}}}
	j.Range.Plates[0].Length = 64
	holes := settled(j).Panels[0].Holes
	done := map[string]bool{}
	last := ""
	relief := 0
	for i, h := range holes {
		if h.No != i+1 {
			t.Errorf("row %d has number %d", i+1, h.No)
		}
		if h.Purpose == setout.PurposeRelief {
			relief++
			if h.Stage != setout.StageRelief || h.Layer != "inner" {
				t.Errorf("relief hole in stage %d of %s", h.Stage, h.Layer)
			}
		}
		key := string(rune('0'+h.Stage)) + h.Layer + h.Purpose
		if key != last && done[key] {
			t.Errorf("row %d: %s comes back", i+1, key)
		}
		done[key], last = true, key
	}
	if relief != 16 {
		t.Errorf("%d relief holes for 16 plate rivets", relief)
	}
}

// A relief hole and the rivet hole above it share one pilot through both sheets; holes that have no partner are not clamped.
func TestClampedHolesSharePlaces(t *testing.T) {
	for _, v := range worked.Variants {
		j := worked.Job()
		v.Set(j)
		holes := settled(j).Panels[0].Holes
		for _, h := range holes {
			partner := false
			for _, o := range holes {
				partner = partner || o.Station == h.Station && o.Layer != h.Layer && o.Pilot != nil && o.At.Dist(h.At) < holeSamePlace
			}
			if h.Clamped != (partner && h.Pilot != nil) {
				t.Errorf("%s: hole %d, %s in %s: clamped %v, partner %v", v.Name, h.No, h.Purpose, h.Layer, h.Clamped, partner)
			}
		}
	}
}

// H = F + T1 + T2 and its turns [asmey145, App. B]: examples A and B seen, C from memory.
func TestFixedAndFloatingFasteners(t *testing.T) {
	near(t, "A, floating", FloatingFastenerZone(8.5, 8.0), 0.5, 1e-12)
	near(t, "A, fixed", FixedFastenerZone(8.5, 8.0, 0), 0.25, 1e-12)
	near(t, "B, floating", FloatingFastenerZone(9.0, 8.0), 1.0, 1e-12)
	near(t, "C, floating", FloatingFastenerZone(6.44, 6.00), 0.44, 1e-12)
	near(t, "C, fixed", FixedFastenerZone(6.44, 6.00, 0), 0.22, 1e-12)
	near(t, "a floating stud counts as a larger hole", FixedFastenerZone(8.5, 8.0, 0.3), FixedFastenerZone(8.8, 8.0, 0), 1e-12)
	for _, h := range []float64{8.1, 8.5, 9.3} {
		z := FixedFastenerZone(h, 8, 0)
		near(t, "H = F + T1 + T2", FixedFastenerHole(8, z, z), h, 1e-12)
	}
}

// Where the clearance takes both zones the panel always drops on; just below, simulation says nearly always, and it falls
// from there as the zone grows.
func TestDropOnFallsWithTheZone(t *testing.T) {
	last := 2.0
	for i, zone := range []float64{0.175, 0.18, 0.3, 0.5, 0.8} { // the hole leaves 0.35 mm
		j := worked.Job()
		j.Conditions.MatchZone = job.Setting{Value: zone}
		d := settled(j).Panels[0].DropOn
		near(t, "clearance", d.Clear, 0.35, 1e-9)
		if i == 0 && (d.Chance != 1 || d.Samples != 0) {
			t.Errorf("zone %.3f: %+v; want certainty without simulation", zone, d)
		}
		if i == 1 && d.Lo < 0.99 {
			t.Errorf("zone %.3f: %+v; want nearly always", zone, d)
		}
		if d.Chance > last || d.Lo > d.Chance || d.Hi < d.Chance {
			t.Errorf("zone %.3f: chance %.3f in %.3f to %.3f after %.3f", zone, d.Chance, d.Lo, d.Hi, last)
		}
		last = d.Chance
	}
	if last > 0.5 {
		t.Errorf("zones of 0.8 mm in 0.35 mm of clearance: %.3f", last)
	}
}

func BenchmarkHoles(b *testing.B) {
	p := settled(worked.Job())
	for b.Loop() {
		Holes(p)
	}
}

func BenchmarkDropOn(b *testing.B) {
	j := worked.Job()
	j.Conditions.Marking = "jig"
	p := settled(j)
	for b.Loop() {
		dropOnOf(j, p.Panels[0])
	}
}

// A welded receptacle stands where its weld holds it: whether the panel drops on is then not known, and nothing is simulated.
func TestDropOnOfWeldedIsNotKnown(t *testing.T) {
	for _, v := range worked.Variants {
		j := worked.Job()
		v.Set(j)
		if j.Range.Receptacles[0].Fixing != stock.Welded {
			continue
		}
		pan := settled(j).Panels[0]
		if k := checkNamed(t, pan.Checks, "drop-on"); pan.DropOn != nil || k.Verdict != setout.NotKnown || !strings.Contains(k.Cure, "before welding") {
			t.Errorf("%s: %+v, %+v", v.Name, pan.DropOn, k)
		}
		return
	}
	t.Error("no variant is welded")
}

// A cut-out near the edge says what becomes of the layer there; by hand, on a sheet of 100 × 60 mm.
func TestCutOutWeb(t *testing.T) {
	pan := &setout.Panel{Job: &job.Panel{Outline: plane.Region{Outer: plane.Rectangle(100, 60)}}}
	for _, c := range []struct {
		x, y, dir float64
		want      string
	}{
		{50, 30, 0, ""}, {20.5, 30, 0, "strip of 2.5 mm"}, {17, 30, 0, "out over the edge"}, {50, 12, 0, "strip of 2.0 mm"},
		{50, 19, math.Pi / 2, "strip of 1.0 mm"}, {20.5, 30, math.Pi / 2, ""},
	} {
		b := &holeBench{jointSite: jointSite{pan: pan, st: &setout.Station{At: plane.Point{X: c.x, Y: c.y}}}}
		if got := b.web(setout.Hole{Length: 36, Width: 20, Dir: c.dir}); got != c.want && (c.want == "" || !strings.Contains(got, c.want)) {
			t.Errorf("at %g, %g turned %.2f: %q, want %q", c.x, c.y, c.dir, got, c.want)
		}
	}
}
