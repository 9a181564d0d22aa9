package judge

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"panelwright/internal/detail"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

func TestJudgeAgreesWithTheChecks(t *testing.T) {
	for _, v := range worked.Variants {
		t.Run(v.Name, func(t *testing.T) {
			j := worked.Job()
			v.Set(j)
			p := settled(j)
			Judge(p)
			for _, f := range p.Judge {
				t.Errorf("station %s, %s: %s", f.Station, f.Check, f.Text)
			}
		})
	}
}

// Each spoils one number of a good plan; the judge must notice each.
var judgeSpoils = []struct {
	name  string
	spoil func(p *setout.Plan)
}{
	{"station moved into a keep-out", func(p *setout.Plan) { spoilStation(p).At = plane.Point{X: 410, Y: 250} }},
	{"station moved 0.1 mm", func(p *setout.Plan) { spoilStation(p).At.X += 0.1 }},
	{"station off the panel", func(p *setout.Plan) { spoilStation(p).At.Y = -5 }},
	{"rivet line turned", func(p *setout.Plan) { spoilStation(p).Dir += 0.01 }},
	{"two stations of one name", func(p *setout.Plan) { spoilStation(p).ID = "1" }},
	{"edge distance", func(p *setout.Plan) { spoilStation(p).EdgeDistance += 0.5 }},
	{"stud swapped", func(p *setout.Plan) {
		c := *spoilStation(p).Choice
		c.Stud = &p.Job.Range.Studs[1]
		spoilStation(p).Choice = &c
	}},
	{"stud of another range", func(p *setout.Plan) {
		s := *spoilStation(p).Choice.Stud
		s.Reach.Nom += 0.01
		c := *spoilStation(p).Choice
		c.Stud = &s
		spoilStation(p).Choice = &c
	}},
	{"a shim more", func(p *setout.Plan) { spoilStation(p).Shims = 1 }},
	{"three shims, two allowed", func(p *setout.Plan) { spoilStation(p).Shims = 3 }},
	{"deflection", func(p *setout.Plan) { spoilStation(p).Close.Delta += 0.01 }},
	{"upper end of the band", func(p *setout.Plan) { spoilStation(p).Close.DeltaHi += 0.05 }},
	{"lower end of the band", func(p *setout.Plan) { spoilStation(p).Close.DeltaLo -= 0.05 }},
	{"chance", func(p *setout.Plan) { spoilStation(p).Close.Chance -= 0.02; spoilStation(p).Close.Tight += 0.02 }},
	{"chances that do not make 1", func(p *setout.Plan) { spoilStation(p).Close.Loose += 0.01 }},
	{"preload", func(p *setout.Plan) { spoilStation(p).Close.Preload *= 1.01 }},
	{"stack", func(p *setout.Plan) { spoilStation(p).Stack.Nom += 0.1 }},
	{"drill too large", func(p *setout.Plan) { spoilHole(p, setout.PurposeCentre).Drill = spoilDrill(p, 10) }},
	{"drill that the shop does not own", func(p *setout.Plan) {
		spoilHole(p, setout.PurposePlateRivet).Drill = &stock.Drill{Name: "3.35 mm", Diameter: 3.35}
	}},
	{"drill said to be missing", func(p *setout.Plan) {
		h := spoilHole(p, setout.PurposePlateRivet)
		h.Drill, h.NoDrill = nil, "none of yours fits"
	}},
	{"limits of a hole", func(p *setout.Plan) { spoilHole(p, setout.PurposeReceptacleRivet).WantedMax += 0.1 }},
	{"a hole row dropped", func(p *setout.Plan) { h := &p.Panels[0].Holes; *h = (*h)[:len(*h)-1] }},
	{"a hole row too many", func(p *setout.Plan) {
		h := p.Panels[0].Holes
		extra := h[len(h)-1]
		extra.No++
		extra.Index = 9
		p.Panels[0].Holes = append(h, extra)
	}},
	{"a hole moved", func(p *setout.Plan) { spoilHole(p, setout.PurposeReceptacleRivet).At.Y += 0.02 }},
	{"a hole in the wrong layer", func(p *setout.Plan) { spoilHole(p, setout.PurposeReceptacleRivet).Layer = "outer" }},
	{"countersink too deep", func(p *setout.Plan) { spoilHole(p, setout.PurposeReceptacleRivet).Countersink.Depth += 0.1 }},
	{"countersink of another angle", func(p *setout.Plan) { spoilHole(p, setout.PurposeReceptacleRivet).Countersink.AngleDeg = 100 }},
	{"countersink left out", func(p *setout.Plan) { spoilHole(p, setout.PurposeReceptacleRivet).Countersink = nil }},
	{"pilot as large as the hole", func(p *setout.Plan) { spoilHole(p, setout.PurposePlateRivet).Pilot = spoilDrill(p, 3.3) }},
	{"far too fast", func(p *setout.Plan) { spoilHole(p, setout.PurposeCentre).RPM = 6000 }},
	{"numbers of the holes", func(p *setout.Plan) { p.Panels[0].Holes[3].No = 77 }},
	{"tail's countersink left out", func(p *setout.Plan) { spoilJoint(p).TailSink = nil }},
	{"joint with another rivet", func(p *setout.Plan) { r := *spoilJoint(p).Rivet; r.ID = "sample-other"; spoilJoint(p).Rivet = &r }},
	{"joint left out", func(p *setout.Plan) { p.Panels[0].Joins = p.Panels[0].Joins[1:] }},
	{"a check left out", func(p *setout.Plan) { s := spoilStation(p); s.Checks = s.Checks[1:] }},
	{"a check that nobody knows", func(p *setout.Plan) {
		s := spoilStation(p)
		s.Checks = append(s.Checks, setout.Check{ID: "wishful", Verdict: setout.Holds, NoNumber: true})
	}},
	{"an estimate said to hold", func(p *setout.Plan) { spoilCheck(p, "wire-force-loaded").Verdict = setout.Holds }},
	{"edge distance's limit", func(p *setout.Plan) { spoilCheck(p, "edge-distance").Limit /= 2 }},
	{"turning torque's value", func(p *setout.Plan) { spoilCheck(p, "turning-torque").Value *= 0.9 }},
	{"a rivet's grip at its nominal", func(p *setout.Plan) { spoilCheck(p, "receptacle-rivet-grip").Value -= 0.05 }},
	{"drop-on's chance", func(p *setout.Plan) { p.Panels[0].DropOn.Chance = 0.9 }},
	{"drop-on's clearance", func(p *setout.Plan) { p.Panels[0].DropOn.Clear += 0.1 }},
	{"drop-on's zone", func(p *setout.Plan) { p.Panels[0].DropOn.Zone = 0.05 }},
	{"pitch", func(p *setout.Plan) { spoilPanelCheck(p, "pitch-max").Value -= 20 }},
	{"the whole load", func(p *setout.Plan) { spoilPanelCheck(p, "whole-load-rating").Value += 5 }},
	{"all ratings together", func(p *setout.Plan) { spoilPanelCheck(p, "whole-load-rating").Limit *= 1.01 }},
	{"all preloads together", func(p *setout.Plan) { spoilPanelCheck(p, "whole-load-preload").Limit -= 1 }},
	{"how far the load's middle lies inside", func(p *setout.Plan) { spoilPanelCheck(p, "balance").Value += 0.1 }},
	{"an edge that nothing carries", func(p *setout.Plan) {
		s := p.Panels[0].Job.Supports[0]
		s.Edges = s.Edges[1:]
	}},
	{"a station gone from a panel that then swings", func(p *setout.Plan) { p.Panels[0].Stations = p.Panels[0].Stations[:3] }},
	{"a mass that the plan forgot", func(p *setout.Plan) {
		p.Job.Conditions.AccelVertical.Value = 30_000
		p.Panels[0].Job.Loads.Masses = []job.LumpedMass{{Mass: 1, At: plane.Point{X: 5, Y: 5}}}
	}},
	{"a panel's check left out", func(p *setout.Plan) { p.Panels[0].Checks = p.Panels[0].Checks[1:] }},
	{"one stud fewer ordered", func(p *setout.Plan) { p.Order[0].Need--; p.Order[0].Buy-- }},
	{"spares not bought", func(p *setout.Plan) { p.Order[0].Spare++ }},
	{"packs that do not hold them", func(p *setout.Plan) { p.Order[0].PackSize, p.Order[0].Packs = 5, 3 }},
	{"a part not ordered", func(p *setout.Plan) { p.Order = p.Order[1:] }},
	{"a part ordered for nothing", func(p *setout.Plan) { p.Order = append(p.Order, setout.OrderLine{ID: "sample-spare"}) }},
}

// frontSpoils do the same to a plan with receptacles on the front of a bracket.
var frontSpoils = []struct {
	name  string
	spoil func(p *setout.Plan)
}{
	{"the body's hole taken for the locating one", func(p *setout.Plan) { spoilHole(p, setout.PurposeBody).Locates = true }},
	{"the body's hole too small", func(p *setout.Plan) { spoilHole(p, setout.PurposeBody).Drill = spoilDrill(p, 9) }},
	{"the body's hole forgotten", func(p *setout.Plan) { spoilHole(p, setout.PurposeBody).Purpose = setout.PurposeCentre }},
	{"a cut-out too short", func(p *setout.Plan) { spoilHole(p, setout.PurposeCutOut).Length = 30 }},
	{"a cut-out too narrow", func(p *setout.Plan) { spoilHole(p, setout.PurposeCutOut).Width = 10 }},
	{"a cut-out turned", func(p *setout.Plan) { spoilHole(p, setout.PurposeCutOut).Dir += 0.1 }},
	{"a cut-out that is said to be drilled", func(p *setout.Plan) { spoilHole(p, setout.PurposeCutOut).Cut = false }},
	{"a countersink counted as a hole", func(p *setout.Plan) {
		h := spoilHole(p, setout.PurposePlateRivet)
		h.Operation = true
	}},
	{"drop-on by the body's hole", func(p *setout.Plan) { p.Panels[0].DropOn.Clear = 16 - 8.05 }},
	{"room behind without the body", func(p *setout.Plan) { spoilCheck(p, "room-behind").Value = 2 }},
}

func TestJudgeNoticesASpoiltFrontMount(t *testing.T) {
	for _, m := range frontSpoils {
		t.Run(m.name, func(t *testing.T) {
			j := worked.Job()
			worked.Front(j)
			p := settled(j)
			if Judge(p); len(p.Judge) > 0 {
				t.Fatal("not even the good plan", p.Judge)
			}
			m.spoil(p)
			if Judge(p); len(p.Judge) == 0 {
				t.Error("the judge noticed nothing")
			}
		})
	}
}

func spoilStation(p *setout.Plan) *setout.Station { return p.Panels[0].Stations[1] }

func spoilHole(p *setout.Plan, purpose string) *setout.Hole {
	for i := range p.Panels[0].Holes {
		if h := &p.Panels[0].Holes[i]; h.Purpose == purpose && h.Station == "2" {
			return h
		}
	}
	panic("no such hole")
}

func spoilJoint(p *setout.Plan) *setout.RivetJoint { return &p.Panels[0].Joins[0] }

func spoilDrill(p *setout.Plan, d float64) *stock.Drill {
	for i := range p.Job.Drills {
		if p.Job.Drills[i].Diameter == d {
			return &p.Job.Drills[i]
		}
	}
	panic("no such drill")
}

func spoilCheck(p *setout.Plan, id string) *setout.Check {
	for i := range spoilStation(p).Checks {
		if k := &spoilStation(p).Checks[i]; k.ID == id {
			return k
		}
	}
	panic("no such check")
}

func spoilPanelCheck(p *setout.Plan, id string) *setout.Check {
	for i := range p.Panels[0].Checks {
		if k := &p.Panels[0].Checks[i]; k.ID == id {
			return k
		}
	}
	panic("no such check")
}

func TestJudgeNoticesOneSpoiltNumber(t *testing.T) {
	for _, m := range judgeSpoils {
		t.Run(m.name, func(t *testing.T) {
			p := settled(worked.Job())
			m.spoil(p)
			Judge(p)
			if len(p.Judge) == 0 {
				t.Error("the judge noticed nothing")
			}
			for _, f := range p.Judge {
				t.Logf("%s %s: %s", f.Station, f.Check, f.Text)
			}
		})
	}
}

// Every verdict of a good plan is flipped in turn to each other verdict: the judge must notice each, whichever check it is.
func TestJudgeNoticesEveryFlippedVerdict(t *testing.T) {
	j := worked.Job()
	p := settled(j)
	base := p.Panels[0]
	n := 0
	for _, checks := range [][]setout.Check{base.Stations[0].Checks, base.Checks} {
		for i := range checks {
			was := checks[i].Verdict
			for _, v := range []setout.Verdict{setout.NotKnown, setout.Holds, setout.DoesNotHold} {
				if v == was || checks[i].ID == "galvanic" && v == setout.NotKnown {
					continue
				}
				checks[i].Verdict = v
				Judge(p)
				if len(p.Judge) == 0 {
					t.Errorf("%s: %s for %s, and the judge noticed nothing", checks[i].ID, v, was)
				}
				n++
			}
			checks[i].Verdict = was
		}
	}
	if n < 60 {
		t.Errorf("only %d flips were tried", n)
	}
}

// The judge takes nouns from setout, no help: it calls none of its functions, and knows neither grip nor detail.
func TestJudgeSharesNoHelper(t *testing.T) {
	fset := token.NewFileSet()
	parse := func(pattern string) (files []*ast.File) {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(fset, name, nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, f)
		}
		return files
	}
	theirs := map[string]bool{}
	for _, f := range parse("../setout/*.go") {
		for _, d := range f.Decls {
			if d, ok := d.(*ast.FuncDecl); ok && d.Recv == nil {
				theirs[d.Name.Name] = true
			}
		}
	}
	judges := parse("*.go")
	if len(judges) < 3 || !theirs["StackOf"] {
		t.Fatalf("%d files of the judge, %d functions of setout", len(judges), len(theirs))
	}
	for _, f := range judges {
		for _, imp := range f.Imports {
			if strings.Contains(imp.Path.Value, "internal/grip") || strings.Contains(imp.Path.Value, "internal/detail") {
				t.Errorf("%s imports %s", fset.Position(imp.Pos()), imp.Path.Value)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				if x, ok := s.X.(*ast.Ident); ok && x.Name == "setout" && theirs[s.Sel.Name] {
					t.Errorf("%s uses setout.%s", fset.Position(s.Pos()), s.Sel.Name)
				}
			}
			return true
		})
	}
}

func TestJudgeIsDeterministic(t *testing.T) {
	p := settled(worked.Job())
	spoilStation(p).Close.Chance -= 0.02
	Judge(p)
	first := fmt.Sprint(p.Judge)
	for range 3 {
		Judge(p)
		if s := fmt.Sprint(p.Judge); s != first {
			t.Fatalf("once %s\nthen %s", first, s)
		}
	}
}

// Sampling agrees with the closed forms of package plane on random places of an outline with arcs and a cut-out.
func TestJudgeSamplesOutlines(t *testing.T) {
	outer, err := plane.RoundedRectangle(300, 200, 40)
	if err != nil {
		t.Fatal(err)
	}
	region := plane.Region{Outer: outer, CutOuts: []plane.Path{plane.CircleAt(plane.Point{X: 150, Y: 100}, 30)}}.Normalise()
	jd := &judge{pan: &setout.Panel{Job: &job.Panel{Outline: region}}}
	for i := range 400 {
		q := plane.Point{X: math.Mod(float64(i)*61.803, 320) - 10, Y: math.Mod(float64(i)*38.197, 220) - 10}
		if a, b := jd.clear(q), region.Distance(q); math.Abs(a-b) > judgeGap {
			t.Errorf("at %v: sampled %.4f, closed form %.4f", q, a, b)
		}
	}
}

// The judge's throws against the exact decision of package spread, where the answer is neither 0 nor 1.
func TestJudgeThrowsAgree(t *testing.T) {
	j := worked.Job()
	j.Conditions.Marking = "jig"
	p := settled(j)
	d := p.Panels[0].DropOn
	if d.Chance < 0.01 || d.Chance > 0.99 {
		t.Logf("chance %.3f", d.Chance)
	}
	if d.Samples == 0 {
		t.Fatal("the zones decide alone: nothing was simulated")
	}
	p.Panels[0].DropOn.Chance = math.Mod(d.Chance+0.5, 1)
	Judge(p)
	if len(p.Judge) == 0 {
		t.Error("a chance wrong by a half was not noticed")
	}
}

func BenchmarkJudge(b *testing.B) {
	p := settled(worked.Job())
	for b.Loop() {
		Judge(p)
	}
}

func BenchmarkChecks(b *testing.B) {
	p := settled(worked.Job())
	for b.Loop() {
		detail.Checks(p)
	}
}
