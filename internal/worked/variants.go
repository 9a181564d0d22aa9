package worked

import (
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// Variant is a change of Job.
type Variant struct {
	Name string
	Set  func(j *job.Job)
}

// Variants are jobs of every mounting and tail treatment.
var Variants = []Variant{
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
	{"receptacle in front, its body through the bracket, a strip between", Front},
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
	{"more load than all stations can hold", func(j *job.Job) {
		set := func(v float64) job.Setting { return job.Setting{Value: v} }
		c := &j.Conditions
		c.TopSpeed, c.AirDensity, c.AccelVertical = set(300_000), set(1.225e-12), set(30_000)
		j.Panels[0].Loads = job.Loads{CpOutside: -1, CpInside: 0.3, Masses: []job.LumpedMass{{Name: "lamp", Mass: 1e-3, At: plane.Point{X: 600, Y: 100}}}}
		j.Panels[0].Supports[0].Seal = &job.SealStrip{PushPerLength: 0.3}
	}},
	{"air that presses the panel on, and a mass that pulls beside the stations", func(j *job.Job) {
		j.Conditions.AccelForward = job.Setting{Value: 10_000}
		j.Panels[0].Loads = job.Loads{HasPressure: true, Pressure: -1e-4, Masses: []job.LumpedMass{{Name: "filler", Mass: 0.02, At: plane.Point{X: 5, Y: 5}}}}
	}},
	{"a grip's end under an assumed spread", func(j *job.Job) {
		j.Range.Rivets[0].GripMax = 3
		j.Panels[0].Inner.Thickness = job.Thickness{Nom: 2, Half: 0.2, Assumed: true, Source: "test"}
	}},
	{"a grip's end under stated limits", func(j *job.Job) { j.Range.Rivets[0].GripMin = 3 }},
	{"stations in one line", func(j *job.Job) {
		s := &j.Panels[0].Stations
		s.Given = s.Given[:3]
		j.Panels[0].Supports[0].Edges = []string{"bottom"}
	}},
}

// Front mounts the receptacle on the front of a bracket that its body passes, beside a packing strip of aluminium on which the
// panel rests.
func Front(j *job.Job) {
	j.Panels[0].Supports[0].Mount = stock.FrontBesideSeat
	j.Panels[0].Between = []job.Layer{{Name: "strip", Material: j.Materials["al6061t6"], Thickness: job.Thickness{Nom: 8, Half: 0.2}}}
	r := &j.Range.Receptacles[0]
	r.Mount, r.Depth.Nom, r.CentreHole = stock.FrontBesideSeat, 2, stock.Toleranced{Nom: 15.8, Tol: 0.4}
	j.Range.Studs[0].Reach.Nom = 10.4
	sixteen, ok := stock.DrillNamed("16 mm")
	if !ok {
		panic("no drill of 16 mm")
	}
	j.Drills = append(j.Drills, sixteen)
}
