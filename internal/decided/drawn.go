package decided

import (
	"fmt"
	"math"

	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// The plan that drawings are tested on is made by hand, so that the tests know every number in it. Parts, panels and sizes
// are invented.

// Drill is a metric drill of that name and diameter.
func Drill(name string, d float64) *stock.Drill {
	return &stock.Drill{Series: "metric", Name: name, Diameter: d}
}

// The materials of the drawn plan.
var (
	Glass = &stock.Material{ID: "glass", Name: "glass fibre, chopped mat", Family: stock.GlassFibre}
	Alu   = &stock.Material{ID: "alu", Name: "aluminium 5052-H32", Family: stock.Aluminium}
	Steel = &stock.Material{ID: "steel", Name: "mild steel sheet", Family: stock.Steel}
	Foam  = &stock.Material{ID: "foam", Name: "bedding rubber", Family: stock.Seal}
)

// Choice makes the parts of one kind of station.
func Choice(face stock.Face, mount stock.Mount, head string) *setout.Choice {
	plate := &stock.Plate{ID: "sample-plate-" + string(face), Name: "sample mounting plate", Face: face, Thickness: 1.2, Length: 40, Width: 18,
		BearingDiameter: 16, CentreHole: stock.Toleranced{Nom: 12.7, Tol: 0.3}, SleeveDiameter: 12.5, RivetIDs: []string{"sample-rivet"},
		Rivets: []stock.Hole{{At: plane.Point{X: -14}, Diameter: 3.3}, {At: plane.Point{X: 14}, Diameter: 3.3}}}
	if face == stock.PlateNone {
		plate.Rivets, plate.SleeveDiameter, plate.Thickness = nil, 0, 0.8
		plate.CentreHole.Nom = 8.3
	}
	stud := &stock.Stud{ID: "sample-stud-r8", Name: "sample stud, reach 8.0 mm", Family: "sample hand stud", Head: head, Drive: "hand",
		Reach: stock.Toleranced{Nom: 8, Tol: 0.15}, Shank: stock.Toleranced{Nom: 8, Tol: 0.05}, HeadDiameter: 19, HeadHeight: 5,
		EndBeyondWire: 2.8, CamRadius: 3, CamLift: 2.4, Crest: 0.3}
	if head == "flush" {
		stud.HeadHeight, stud.HeadDiameter, stud.Drive = 0, 15, "tool"
		plate.CentreCountersinkDeg, plate.CentreCountersinkDiameter = 100, 15
	}
	rec := &stock.Receptacle{ID: "sample-receptacle-h4", Name: "sample wire receptacle", Mount: mount, Fixing: stock.Riveted,
		Depth: stock.Toleranced{Nom: 4.2, Tol: 0.1}, Rate: stock.Toleranced{Nom: 140}, Length: 40, Width: 16, Height: 9, FootThickness: 1,
		CentreHole: stock.Toleranced{Nom: 13}, RivetIDs: []string{"sample-rivet"},
		Rivets: []stock.Hole{{At: plane.Point{X: -14}, Diameter: 3.3}, {At: plane.Point{X: 14}, Diameter: 3.3}}}
	rivet := &stock.Rivet{ID: "sample-rivet-dome", Name: "sample blind rivet 3.2 mm, dome", Head: "dome", Diameter: 3.2, HeadDiameter: 6.4, HeadHeight: 1.1,
		GripMin: 1, GripMax: 5, TailDiameter: 4.8, TailLength: 3}
	flush := &stock.Rivet{ID: "sample-rivet-csk", Name: "sample blind rivet 3.2 mm, countersunk", Head: "countersunk", Diameter: 3.2, HeadDiameter: 6,
		HeadHeight: 0.9, CountersinkDeg: 90, GripMin: 1, GripMax: 5, TailDiameter: 4.8, TailLength: 3}
	c := &setout.Choice{Group: string(mount), Stud: stud, Plate: plate, Receptacle: rec, PlateRivet: rivet, ReceptacleRivet: flush}
	if mount == stock.FrontBesideSeat {
		stud.Reach.Nom = 6.6
		rec.Depth.Nom, rec.Fixing, rec.Rivets, rec.CentreHole, c.ReceptacleRivet = 3, stock.Welded, nil, stock.Toleranced{}, nil
		rec.ID, rec.Name, rec.Welds = "sample-receptacle-weld", "sample weld-on receptacle", 2
	}
	return c
}

// Panel makes a panel with stations at even pitch along the inset edges.
func Panel(id, name string, outline plane.Region, edges []job.Edge, pitch float64, c *setout.Choice, between ...job.Layer) *setout.Panel {
	jp := &job.Panel{ID: id, Name: name, Quantity: 1, Outline: outline, Edges: edges, Front: edges[0].Name,
		Outer: job.Layer{Name: "outer", Material: Glass, Thickness: job.Thickness{Nom: 2.6}},
		Inner: job.Layer{Name: "inner", Material: Alu, Thickness: job.Thickness{Nom: 1.6}}}
	jp.Between = between
	sup := &job.Support{Name: "flange", Kind: "flange", Width: 36, Mount: c.Receptacle.Mount}
	jp.Supports = []*job.Support{sup}
	p := &setout.Panel{Job: jp, Choices: []*setout.Choice{c}}
	const inset = 18
	n := 0
	for _, e := range edges {
		line, err := jp.SeatPath(e, inset)
		if err != nil {
			panic(err)
		}
		// Leave the corners to one edge each.
		long := line.Length()
		line = line.SubPath(inset, long-inset)
		p.SeatLines = append(p.SeatLines, setout.SeatLine{Support: sup, Edge: e.Name, Path: line})
		long = line.Length()
		count := max(2, int(math.Ceil((long-40)/pitch)))
		for k := range count {
			n++
			s := 20 + (long-40)*float64(k)/float64(count-1)
			at, dir := line.At(s), line.Tangent(s)
			foot, _, _ := outline.Outer.Nearest(at)
			st := &setout.Station{ID: fmt.Sprint(n), At: at, Dir: math.Atan2(dir.Y, dir.X), Support: sup, Edge: e.Name,
				Tape: foot - e.From, TapeInset: inset, EdgeDistance: inset, Choice: c}
			stackUp(p, st)
			p.Stations = append(p.Stations, st)
			Holes(p, st)
		}
	}
	return p
}

func stackUp(p *setout.Panel, st *setout.Station) {
	c := st.Choice
	t := 0.0
	add := func(l *job.Layer) {
		st.Stack.Terms = append(st.Stack.Terms, setout.StackTerm{Layer: l, Name: l.Name, Nom: l.Thickness.Nom})
		t += l.Thickness.Nom
	}
	if c.Plate.Face != stock.PlateBehind {
		add(&p.Job.Outer)
	}
	for i := range p.Job.Between {
		add(&p.Job.Between[i])
	}
	if c.Receptacle.Mount == stock.Behind {
		add(&p.Job.Inner)
	}
	st.Stack.Nom = t
	s := 0.0
	if c.Shim != nil {
		st.Shims = 1
		s = c.Shim.Thickness.Nom
	}
	z := t + c.Receptacle.Depth.Nom
	switch c.Receptacle.Mount {
	case stock.Behind:
		z += s
	case stock.FrontBesideSeat:
		z -= s
	}
	st.Close = setout.Closing{Result: grip.Result{T: t, R: c.Stud.Reach.Nom, H: c.Receptacle.Depth.Nom, S: s, Z: z, Delta: z - c.Stud.Reach.Nom,
		DeltaLo: 0.2, DeltaHi: 1.4}}
}

// Holes adds the holes and joints of one station.
func Holes(p *setout.Panel, st *setout.Station) {
	c := st.Choice
	dir := plane.Point{X: 1}.Rotate(st.Dir)
	add := func(layer, purpose string, off plane.Point, d *stock.Drill, sink *setout.Countersink) {
		p.Holes = append(p.Holes, setout.Hole{Panel: p.Job.ID, Station: st.ID, Layer: layer, No: len(p.Holes) + 1, Purpose: purpose,
			At: st.At.Add(dir.Scale(off.X)).Add(dir.Perp().Scale(off.Y)), Wanted: d.Diameter, Drill: d, Countersink: sink})
	}
	var sink *setout.Countersink
	if c.Plate.CentreCountersinkDeg > 0 {
		sink = &setout.Countersink{Face: "front", AngleDeg: c.Plate.CentreCountersinkDeg, Diameter: c.Plate.CentreCountersinkDiameter, Depth: 2.2}
	}
	d := Drill("1/2 in", 12.7)
	if c.Plate.CentreHole.Nom < 10 {
		d = Drill("8.5 mm", 8.5)
	}
	add("outer", "centre", plane.Point{}, d, sink)
	for _, r := range c.Plate.Rivets {
		add("outer", "plate rivet", r.At, Drill("3.3 mm", 3.3), nil)
	}
	if c.Receptacle.Mount != stock.Behind {
		return
	}
	add("inner", "centre", plane.Point{}, Drill("13 mm", 13), nil)
	for _, r := range c.Receptacle.Rivets {
		add("inner", "receptacle rivet", r.At, Drill("3.3 mm", 3.3), &setout.Countersink{Face: "front", AngleDeg: 90, Diameter: 6, Depth: 0.9})
	}
	p.Joins = append(p.Joins,
		setout.RivetJoint{Station: st.ID, Part: "receptacle", Rivet: c.ReceptacleRivet, Joins: []string{"inner", "receptacle foot"},
			HeadOn: "inner front", TailOn: "receptacle foot back", TailTreatment: "none"})
	if len(c.Plate.Rivets) > 0 {
		j := setout.RivetJoint{Station: st.ID, Part: "plate", Rivet: c.PlateRivet, Joins: []string{"plate", "outer"},
			HeadOn: "plate front", TailOn: "outer back", TailTreatment: "relief hole in the inner panel"}
		if c.Plate.Face == stock.PlateBehind {
			j.Joins, j.HeadOn, j.TailOn = []string{"outer", "plate"}, "outer front", "plate back"
		}
		p.Joins = append(p.Joins, j)
		for _, r := range c.Plate.Rivets {
			add("inner", "relief", plane.Point{X: r.At.X, Y: r.At.Y}, Drill("6 mm", 6), nil)
		}
	}
}

// Rounded is a rectangle with corner radius r, anticlockwise from the lower left; its edges run from the middle of
// one corner to the middle of the next.
func Rounded(w, h, r float64, names ...string) (plane.Region, []job.Edge) {
	q := math.Tan(math.Pi / 8)
	v := func(x, y, b float64) plane.Vertex {
		return plane.Vertex{Point: plane.Point{X: x, Y: y}, Bulge: b}
	}
	path := plane.Path{Closed: true, V: []plane.Vertex{v(r, 0, 0), v(w-r, 0, q), v(w, r, 0), v(w, h-r, q), v(w-r, h, 0), v(r, h, q), v(0, h-r, 0), v(0, r, q)}}
	var edges []job.Edge
	from := 0.0
	for i, n := range names {
		to := path.EdgeStart(2*i + 1)
		edges = append(edges, job.Edge{Name: n, From: from, To: to + path.Seg(2*i+1).Length()/2})
		from = edges[i].To
	}
	edges[len(edges)-1].To = path.Length()
	return plane.Region{Outer: path}, edges
}

// Trapezium is a symmetric one on its bottom edge, with its edges.
func Trapezium(bottom, top, h float64, names ...string) (plane.Region, []job.Edge) {
	path := plane.Polygon(plane.Point{}, plane.Point{X: bottom}, plane.Point{X: (bottom + top) / 2, Y: h}, plane.Point{X: (bottom - top) / 2, Y: h})
	var edges []job.Edge
	for i, n := range names {
		edges = append(edges, job.Edge{Name: n, From: path.EdgeStart(i), To: path.EdgeStart(i + 1)})
	}
	return plane.Region{Outer: path}, edges
}

// Drawn has a rounded hatch with a vent and a keep-out, a trapezium that is made twice, and a small lid of one page.
func Drawn(paper string) *setout.Plan {
	j := &job.Job{Conditions: job.Conditions{TemplateZone: job.Setting{Value: 1.5}}, Name: "Bench test car (sample)", Sample: true, Paper: paper, Date: "2026-05-04"}
	p := &setout.Plan{Job: j}

	o, e := Rounded(965, 698, 63, "port", "forward", "starboard", "aft")
	o.CutOuts = []plane.Path{{Closed: true, V: []plane.Vertex{{Point: plane.Point{X: 420, Y: 350}, Bulge: -1}, {Point: plane.Point{X: 545, Y: 350}, Bulge: -1}}}}
	hatch := Panel("hatch", "Engine hatch", o, e, 160, Choice(stock.PlateOutside, stock.Behind, "raised"))
	hatch.Job.Front = "forward"
	hatch.Job.KeepOuts = []job.KeepOut{{Name: "lifting ring", Region: plane.Polygon(plane.Point{X: 430, Y: 560}, plane.Point{X: 530, Y: 560}, plane.Point{X: 530, Y: 610}, plane.Point{X: 430, Y: 610})}}
	hatch.Job.Hazards = []string{"harness", "fuel line"}

	o, e = Trapezium(620, 480, 260, "rear", "right", "front", "left")
	pod := Panel("pod", "Side pod", o, e, 120, Choice(stock.PlateNone, stock.FrontBesideSeat, "flush"),
		job.Layer{Name: "gap", Thickness: job.Thickness{Nom: 1.5}})
	pod.Job.Quantity, pod.Job.Front = 2, "front"

	o, e = Rounded(150, 110, 12, "a", "b", "c", "d")
	c := Choice(stock.PlateBehind, stock.Behind, "raised")
	c.Shim = &stock.Shim{ID: "sample-shim-0.5", Name: "sample shim", Thickness: stock.Toleranced{Nom: 0.5}}
	c.Stud.Reach.Nom = 7.2
	lid := Panel("lid", "Battery lid", o, e, 400, c, job.Layer{Name: "bedding", Material: Foam, Thickness: job.Thickness{Nom: 1.5}})
	p.Panels = []*setout.Panel{hatch, pod, lid}
	return p
}
