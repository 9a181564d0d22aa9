package setout

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// judgeVariants are plans of every mounting and tail treatment; the judge must agree with all that the checks say of them.
var judgeVariants = []struct {
	name string
	set  func(j *job.Job)
}{
	{"plate outside, receptacle behind", func(j *job.Job) {}},
	{"dome rivets", func(j *job.Job) {
		j.Range.Rivets[0].Head, j.Range.Rivets[0].CountersinkDeg = "dome", 0
		j.Range.Plates[0].CountersinkDeg = 0
	}},
	{"plate's rivets clear of the receptacle's: relief holes", func(j *job.Job) {
		j.Range.Plates[0].Rivets = []stock.Hole{{At: plane.Point{X: -26}}, {At: plane.Point{X: 26}}}
		j.Range.Plates[0].Length = 64
	}},
	{"plate behind, a spacer between", func(j *job.Job) {
		j.Range.Plates[0].Face = stock.PlateBehind
		j.Panels[0].Between = []job.Layer{{Name: "spacer", Material: j.Materials["al6061t6"], Thickness: job.Thickness{Nom: 2.5, Half: 0.1}}}
	}},
	{"a soft seal in the clamp path", func(j *job.Job) {
		j.Panels[0].Between = []job.Layer{{Name: "gasket", Material: &stock.Material{ID: "sample-foam", Family: stock.Seal}, Soft: true, Modulus: 1, Area: 200, Thickness: job.Thickness{Nom: 3.2, Half: 0.2}}}
		j.Range.Studs[0].Reach.Nom = 11
		j.Panels[0].Supports[0].Seal = &job.SealStrip{PushPerLength: 0.2}
	}},
	{"receptacle in front, riveted, across a gap", func(j *job.Job) {
		j.Panels[0].Supports[0].Mount = stock.FrontBesideSeat
		j.Panels[0].Between = []job.Layer{{Name: "gap", Thickness: job.Thickness{Nom: 8, Half: 0.2}}}
		r := &j.Range.Receptacles[0]
		r.Mount, r.Depth.Nom, r.CentreHole = stock.FrontBesideSeat, 2, stock.Toleranced{}
		j.Range.Studs[0].Reach.Nom = 10.4
	}},
	{"receptacle in front, welded, under the panel", func(j *job.Job) {
		sup := j.Panels[0].Supports[0]
		sup.Mount, sup.Weld = stock.FrontUnderPanel, true
		r := &j.Range.Receptacles[0]
		r.Mount, r.Fixing, r.CentreHole, r.Welds = stock.FrontUnderPanel, stock.Welded, stock.Toleranced{}, 4
		j.Range.Studs[0].Reach.Nom = 6.4
	}},
	{"no plate", func(j *job.Job) {
		p := &j.Range.Plates[0]
		p.Face, p.Rivets, p.RivetIDs, p.CentreCountersinkDeg, p.CentreCountersinkDiameter, p.Float = stock.PlateNone, nil, nil, 100, 12, 0.3
	}},
	{"marked from paper, too tight to drop on", func(j *job.Job) { j.Conditions.Marking = "template" }},
	{"marked with a jig: neither sure nor hopeless", func(j *job.Job) { j.Conditions.Marking = "jig" }},
	{"too loose", func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 9.6 }},
	{"too tight", func(j *job.Job) { j.Range.Studs[0].Reach.Nom = 7 }},
	{"steel on thin steel", func(j *job.Job) {
		j.Panels[0].Outer.Material, j.Panels[0].Outer.Thickness = j.Materials["s235jr"], job.Thickness{Nom: 1.2, Half: 0.1}
		j.Panels[0].Inner.Material = j.Materials["s235jr"]
		j.Range.Studs[0].Reach.Nom = 7.1
	}},
	{"carbon", func(j *job.Job) { j.Panels[0].Outer.Material = j.Materials["cfrp_woven_qi"] }},
	{"few drills", func(j *job.Job) { j.Drills = []stock.Drill{{Series: "number", Name: "#30", Diameter: 3.2639}} }},
	{"a rib", func(j *job.Job) {
		sup := j.Panels[0].Supports[0]
		sup.Kind, sup.Line, sup.Edges, sup.Width = "rib", plane.Open(plane.Point{X: 100, Y: 250}, plane.Point{X: 300, Y: 250}), nil, 40
	}},
	{"readings, and a measured stack", func(j *job.Job) {
		j.Panels[0].Outer.Thickness = job.Thickness{Nom: 2.5, Readings: []float64{2.4, 2.5, 2.6}, StdUnc: 0.0577}
		j.Panels[0].Measured = []job.MeasuredStack{{Station: "3", Thickness: job.Thickness{Nom: 4.7, Half: 0.05}}}
	}},
	{"a supplier's bands", func(j *job.Job) {
		j.Range.Bands = []stock.Band{{Stud: "sample-stud-84", Receptacle: "sample-receptacle", From: 4.2, To: 4.7}, {Stud: "sample-stud-84", Receptacle: "sample-receptacle", From: 4.7, To: 5.2}}
	}},
	{"a list of single thicknesses", func(j *job.Job) {
		j.Range.Bands = []stock.Band{{Stud: "sample-stud-84", Receptacle: "sample-receptacle", Single: 4.5}}
	}},
	{"nothing stated about strength and wire", func(j *job.Job) {
		r := &j.Range.Receptacles[0]
		r.Rating, r.FootArea, r.WireFloat, r.Slot = 0, 0, 0, 0
		j.Range.Rivets[0].Shear, j.Range.Rivets[0].Tension, j.Range.Rivets[0].GripMax = 0, 0, 0
		j.Range.Plates[0].BearingDiameter = 0
		j.Panels[0].Supports[0].Room, j.Panels[0].Supports[0].Upstand = 0, 0
	}},
}

func TestJudgeAgreesWithTheChecks(t *testing.T) {
	for _, v := range judgeVariants {
		t.Run(v.name, func(t *testing.T) {
			j := benchJob()
			v.set(j)
			p := benchPlan(j)
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
	spoil func(p *Plan)
}{
	{"station moved into a keep-out", func(p *Plan) { spoilStation(p).At = plane.Point{X: 410, Y: 250} }},
	{"station moved 0.1 mm", func(p *Plan) { spoilStation(p).At.X += 0.1 }},
	{"station off the panel", func(p *Plan) { spoilStation(p).At.Y = -5 }},
	{"rivet line turned", func(p *Plan) { spoilStation(p).Dir += 0.01 }},
	{"two stations of one name", func(p *Plan) { spoilStation(p).ID = "1" }},
	{"edge distance", func(p *Plan) { spoilStation(p).EdgeDistance += 0.5 }},
	{"stud swapped", func(p *Plan) {
		c := *spoilStation(p).Choice
		c.Stud = &p.Job.Range.Studs[1]
		spoilStation(p).Choice = &c
	}},
	{"stud of another range", func(p *Plan) {
		s := *spoilStation(p).Choice.Stud
		s.Reach.Nom += 0.01
		c := *spoilStation(p).Choice
		c.Stud = &s
		spoilStation(p).Choice = &c
	}},
	{"a shim more", func(p *Plan) { spoilStation(p).Shims = 1 }},
	{"three shims, two allowed", func(p *Plan) { spoilStation(p).Shims = 3 }},
	{"deflection", func(p *Plan) { spoilStation(p).Close.Delta += 0.01 }},
	{"upper end of the band", func(p *Plan) { spoilStation(p).Close.DeltaHi += 0.05 }},
	{"lower end of the band", func(p *Plan) { spoilStation(p).Close.DeltaLo -= 0.05 }},
	{"chance", func(p *Plan) { spoilStation(p).Close.Chance -= 0.02; spoilStation(p).Close.Tight += 0.02 }},
	{"chances that do not make 1", func(p *Plan) { spoilStation(p).Close.Loose += 0.01 }},
	{"preload", func(p *Plan) { spoilStation(p).Close.Preload *= 1.01 }},
	{"stack", func(p *Plan) { spoilStation(p).Stack.Nom += 0.1 }},
	{"drill too large", func(p *Plan) { spoilHole(p, purposeCentre).Drill = spoilDrill(p, 10) }},
	{"drill that the shop does not own", func(p *Plan) {
		spoilHole(p, purposePlateRivet).Drill = &stock.Drill{Name: "3.35 mm", Diameter: 3.35}
	}},
	{"drill said to be missing", func(p *Plan) {
		h := spoilHole(p, purposePlateRivet)
		h.Drill, h.NoDrill = nil, "none of yours fits"
	}},
	{"limits of a hole", func(p *Plan) { spoilHole(p, purposeReceptacle).WantedMax += 0.1 }},
	{"a hole row dropped", func(p *Plan) { h := &p.Panels[0].Holes; *h = (*h)[:len(*h)-1] }},
	{"a hole row too many", func(p *Plan) {
		h := p.Panels[0].Holes
		extra := h[len(h)-1]
		extra.No++
		extra.Index = 9
		p.Panels[0].Holes = append(h, extra)
	}},
	{"a hole moved", func(p *Plan) { spoilHole(p, purposeReceptacle).At.Y += 0.02 }},
	{"a hole in the wrong layer", func(p *Plan) { spoilHole(p, purposeReceptacle).Layer = "outer" }},
	{"countersink too deep", func(p *Plan) { spoilHole(p, purposeReceptacle).Countersink.Depth += 0.1 }},
	{"countersink of another angle", func(p *Plan) { spoilHole(p, purposeReceptacle).Countersink.AngleDeg = 100 }},
	{"countersink left out", func(p *Plan) { spoilHole(p, purposeReceptacle).Countersink = nil }},
	{"pilot as large as the hole", func(p *Plan) { spoilHole(p, purposePlateRivet).Pilot = spoilDrill(p, 3.3) }},
	{"far too fast", func(p *Plan) { spoilHole(p, purposeCentre).RPM = 6000 }},
	{"numbers of the holes", func(p *Plan) { p.Panels[0].Holes[3].No = 77 }},
	{"tail's countersink left out", func(p *Plan) { spoilJoint(p).TailSink = nil }},
	{"joint with another rivet", func(p *Plan) { r := *spoilJoint(p).Rivet; r.ID = "sample-other"; spoilJoint(p).Rivet = &r }},
	{"joint left out", func(p *Plan) { p.Panels[0].Joins = p.Panels[0].Joins[1:] }},
	{"a check left out", func(p *Plan) { s := spoilStation(p); s.Checks = s.Checks[1:] }},
	{"a check that nobody knows", func(p *Plan) {
		s := spoilStation(p)
		s.Checks = append(s.Checks, Check{ID: "wishful", Verdict: Holds, NoNumber: true})
	}},
	{"an estimate said to hold", func(p *Plan) { spoilCheck(p, "wire-force-loaded").Verdict = Holds }},
	{"edge distance's limit", func(p *Plan) { spoilCheck(p, "edge-distance").Limit /= 2 }},
	{"turning torque's value", func(p *Plan) { spoilCheck(p, "turning-torque").Value *= 0.9 }},
	{"drop-on's chance", func(p *Plan) { p.Panels[0].DropOn.Chance = 0.9 }},
	{"drop-on's clearance", func(p *Plan) { p.Panels[0].DropOn.Clear += 0.1 }},
	{"drop-on's zone", func(p *Plan) { p.Panels[0].DropOn.Zone = 0.05 }},
	{"pitch", func(p *Plan) { spoilPanelCheck(p, "pitch-max").Value -= 20 }},
	{"a panel's check left out", func(p *Plan) { p.Panels[0].Checks = p.Panels[0].Checks[1:] }},
	{"one stud fewer ordered", func(p *Plan) { p.Order[0].Need--; p.Order[0].Buy-- }},
	{"spares not bought", func(p *Plan) { p.Order[0].Spare++ }},
	{"packs that do not hold them", func(p *Plan) { p.Order[0].PackSize, p.Order[0].Packs = 5, 3 }},
	{"a part not ordered", func(p *Plan) { p.Order = p.Order[1:] }},
	{"a part ordered for nothing", func(p *Plan) { p.Order = append(p.Order, OrderLine{ID: "sample-spare"}) }},
}

func spoilStation(p *Plan) *Station { return p.Panels[0].Stations[1] }

func spoilHole(p *Plan, purpose string) *Hole {
	for i := range p.Panels[0].Holes {
		if h := &p.Panels[0].Holes[i]; h.Purpose == purpose && h.Station == "2" {
			return h
		}
	}
	panic("no such hole")
}

func spoilJoint(p *Plan) *RivetJoint { return &p.Panels[0].Joins[0] }

func spoilDrill(p *Plan, d float64) *stock.Drill {
	for i := range p.Job.Drills {
		if p.Job.Drills[i].Diameter == d {
			return &p.Job.Drills[i]
		}
	}
	panic("no such drill")
}

func spoilCheck(p *Plan, id string) *Check {
	for i := range spoilStation(p).Checks {
		if k := &spoilStation(p).Checks[i]; k.ID == id {
			return k
		}
	}
	panic("no such check")
}

func spoilPanelCheck(p *Plan, id string) *Check {
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
			p := benchPlan(benchJob())
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
	j := benchJob()
	p := benchPlan(j)
	base := p.Panels[0]
	n := 0
	for _, checks := range [][]Check{base.Stations[0].Checks, base.Checks} {
		for i := range checks {
			was := checks[i].Verdict
			for _, v := range []Verdict{NotKnown, Holds, DoesNotHold} {
				if v == was || checks[i].ID == "galvanic" && v == NotKnown {
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

// The judge shares no function with the search: no judge file calls a function or method declared in another file of the
// package.
func TestJudgeSharesNoHelper(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	fset := token.NewFileSet()
	theirs := map[string]string{}
	var judges []*ast.File
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(fset, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasPrefix(name, "judge") {
			judges = append(judges, f)
			continue
		}
		for _, d := range f.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				theirs[d.Name.Name] = name
			case *ast.GenDecl:
				for _, s := range d.Specs {
					if v, ok := s.(*ast.ValueSpec); ok {
						for _, id := range v.Names {
							theirs[id.Name] = name
						}
					}
				}
			}
		}
	}
	if len(judges) < 3 {
		t.Fatalf("%d judge files", len(judges))
	}
	// The three verdicts are nouns, not help.
	for _, v := range []string{"NotKnown", "Holds", "DoesNotHold"} {
		delete(theirs, v)
	}
	for _, f := range judges {
		ours := map[string]bool{} // parameters, fields and locals of the same name are no call
		ast.Inspect(f, func(n ast.Node) bool {
			if c, ok := n.(*ast.CallExpr); ok {
				if id, ok := c.Fun.(*ast.Ident); ok && !ours[id.Name] && theirs[id.Name] != "" && id.Obj == nil {
					t.Errorf("%s calls %s of %s", fset.Position(c.Pos()), id.Name, theirs[id.Name])
				}
			}
			return true
		})
	}
}

func TestJudgeIsDeterministic(t *testing.T) {
	p := benchPlan(benchJob())
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
	jd := &judge{pan: &Panel{Job: &job.Panel{Outline: region}}}
	for i := range 400 {
		q := plane.Point{X: math.Mod(float64(i)*61.803, 320) - 10, Y: math.Mod(float64(i)*38.197, 220) - 10}
		if a, b := jd.clear(q), region.Distance(q); math.Abs(a-b) > judgeGap {
			t.Errorf("at %v: sampled %.4f, closed form %.4f", q, a, b)
		}
	}
}

// The judge's throws against the exact decision of package spread, where the answer is neither 0 nor 1.
func TestJudgeThrowsAgree(t *testing.T) {
	j := benchJob()
	j.Conditions.Marking = "jig"
	p := benchPlan(j)
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
	p := benchPlan(benchJob())
	for b.Loop() {
		Judge(p)
	}
}

func BenchmarkChecks(b *testing.B) {
	p := benchPlan(benchJob())
	for b.Loop() {
		Checks(p)
	}
}
