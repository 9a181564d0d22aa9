// Package worked holds an invented job, made by hand, that the tests of the deciding packages share. Only tests import it.
package worked

import (
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// Conditions are what the tests of holes, checks and judge share: the house's defaults as they stood when the
// expected numbers were worked out.
func Conditions() job.Conditions {
	set := func(v float64) job.Setting { return job.Setting{Value: v, Assumed: true, Source: "test"} }
	return job.Conditions{
		TempMin: set(-10), TempMax: set(50), TempFit: set(20), GustFactor: set(1.5), RatingFactor: set(1.5), JointFactor: set(2),
		Friction: set(0.15), HandTorque: set(1000), ToolTorque: set(3000), DriverPush: set(100), Ageing: set(0.2),
		TemplateZone: set(1.5), JigZone: set(0.3), MatchZone: set(0.1), Marking: "match", HoleFit: set(0.3), LocateExcessMax: set(1.4), SpareShare: set(0.1),
	}
}

// Range is an invented range of one of each part; every id says sample.
func Range() *stock.Range {
	pattern := []stock.Hole{{At: plane.Point{X: -14}, Diameter: 3.3}, {At: plane.Point{X: 14}, Diameter: 3.3}}
	return &stock.Range{
		ID: "sample", Sample: true,
		Plates: []stock.Plate{{ID: "sample-plate", Face: stock.PlateOutside, Thickness: 1.2, Length: 40, Width: 18, BearingDiameter: 16,
			CentreHole: stock.Toleranced{Nom: 9.5, Tol: 0.3}, SleeveDiameter: 9.4, Rivets: pattern, RivetIDs: []string{"sample-csk"}, CountersinkDeg: 90, Material: "ss304"}},
		Studs: []stock.Stud{
			{ID: "sample-stud-84", Family: "sample-a", Head: "raised", Drive: "hand", PlateIDs: []string{"sample-plate"}, Reach: stock.Toleranced{Nom: 8.4, Tol: 0.1},
				Shank: stock.Toleranced{Nom: 8.0, Tol: 0.05}, HeadDiameter: 14, HeadHeight: 3, EndBeyondWire: 2, CamRadius: 3, CamLift: 2.5, Crest: 0.4, SeatRadius: 5, Rating: 250, Material: "ss304"},
			{ID: "sample-stud-90", Family: "sample-a", Head: "raised", Drive: "hand", PlateIDs: []string{"sample-plate"}, Reach: stock.Toleranced{Nom: 9.0, Tol: 0.1},
				Shank: stock.Toleranced{Nom: 8.0, Tol: 0.05}, HeadDiameter: 14, HeadHeight: 3, EndBeyondWire: 2, CamRadius: 3, CamLift: 2.5, Crest: 0.4, SeatRadius: 5, Rating: 250, Material: "ss304"},
		},
		Receptacles: []stock.Receptacle{{ID: "sample-receptacle", StudFamilies: []string{"sample-a"}, Mount: stock.Behind, Fixing: stock.Riveted,
			Depth: stock.Toleranced{Nom: 6, Tol: 0.1}, Rate: stock.Toleranced{Nom: 40, Tol: 4}, DeflectionMax: 3.5, Rating: 250, ResetMax: 0.5, Slot: 1.2, WireFloat: 1.0,
			Length: 38, Width: 16, Height: 14, FootThickness: 1, FootArea: 180, CentreHole: stock.Toleranced{Nom: 8.4, Tol: 0.3},
			Rivets: pattern, RivetIDs: []string{"sample-csk"}, ShimIDs: []string{"sample-shim"}, ShimStackMax: 1, Material: "ss304"}},
		Rivets: []stock.Rivet{{ID: "sample-csk", Head: "countersunk", Diameter: 3.2, HoleMin: 3.3, HoleMax: 3.4, HeadDiameter: 6, HeadHeight: 1, CountersinkDeg: 90,
			GripMin: 1, GripMax: 5, Shear: 750, Tension: 1100, TailDiameter: 4.6, TailLength: 3, NoseDiameter: 9, Material: "al5052h34"}},
		Shims: []stock.Shim{{ID: "sample-shim", Thickness: stock.Toleranced{Nom: 0.5, Tol: 0.05}, Material: "ss304"}},
	}
}

// Drills are the metric drills by 0.1 mm to 10 mm, and a few more.
func Drills() []stock.Drill {
	var out []stock.Drill
	for _, d := range stock.Drills() {
		if d.Series == "metric" && d.Diameter >= 1 && d.Diameter <= 10 {
			out = append(out, d)
		}
	}
	return out
}

// Job is a panel of 800 × 500 mm glass fibre on an aluminium flange, with eight given stations.
func Job() *job.Job {
	mats := map[string]*stock.Material{}
	all := stock.Materials()
	for i := range all {
		mats[all[i].ID] = &all[i]
	}
	set := func(v float64) job.Setting { return job.Setting{Value: v} }
	panel := &job.Panel{
		ID: "lid", Name: "lid", Quantity: 2, Outline: plane.Region{Outer: plane.Rectangle(800, 500)},
		Edges:    []job.Edge{{Name: "bottom", From: 0, To: 800}, {Name: "right", From: 800, To: 1300}, {Name: "top", From: 1300, To: 2100}, {Name: "left", From: 2100, To: 2600}},
		Outer:    job.Layer{Name: "outer", Material: mats["grp_csm30"], Thickness: job.Thickness{Nom: 2.5, Half: 0.3}},
		Inner:    job.Layer{Name: "inner", Material: mats["al6061t6"], Thickness: job.Thickness{Nom: 2, Half: 0.05}},
		Limits:   job.Limits{SeamGap: set(1), PitchMin: set(60), PitchMax: set(400), PreloadMin: set(30), ChanceMin: set(0.95)},
		KeepOuts: []job.KeepOut{{Name: "lamp", Region: plane.CircleAt(plane.Point{X: 400, Y: 250}, 60)}},
	}
	sup := &job.Support{Name: "flange", Kind: "flange", Edges: []string{"bottom", "right", "top", "left"}, Width: 60, Room: 40, Upstand: 30}
	panel.Supports = []*job.Support{sup}
	panel.Stations = job.StationsSpec{Mode: "given"}
	for _, q := range Places {
		panel.Stations.Given = append(panel.Stations.Given, job.GivenStation{At: q})
	}
	return &job.Job{Name: "sample", Sample: true, Range: Range(), Drills: Drills(), Conditions: Conditions(), Panels: []*job.Panel{panel}, Materials: mats}
}

// Places are the eight stations of Job, round the panel.
var Places = []plane.Point{{X: 30, Y: 30}, {X: 400, Y: 30}, {X: 770, Y: 30}, {X: 770, Y: 250}, {X: 770, Y: 470}, {X: 400, Y: 470}, {X: 30, Y: 470}, {X: 30, Y: 250}}
