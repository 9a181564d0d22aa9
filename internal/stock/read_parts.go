package stock

import (
	"fmt"
	"math"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/source"
)

func (rr *rangeReader) material(w rangeRow) {
	names := make([]string, len(Families()))
	for i, f := range Families() {
		names[i] = string(f)
	}
	m := Material{ID: w.Str("id"), Name: w.Str("name"), Form: w.OptStr("form", ""), Family: Family(w.Enum("family", names...)),
		E: w.atLeast0("elastic modulus", measure.Pressure), Nu: w.atLeast0("poisson ratio", measure.Number), Rho: w.above0("density", measure.Density),
		CTE: w.sane("expansion", w.OptValue("expansion", measure.Expansion, rr.p, 0), measure.Expansion), Yield: w.atLeast0("yield", measure.Pressure), Ultimate: w.atLeast0("ultimate", measure.Pressure),
		ShearUltimate: w.atLeast0("shear", measure.Pressure), BearingUltimate: w.atLeast0("bearing 2.0", measure.Pressure),
		BearingUltimate1: w.atLeast0("bearing 1.5", measure.Pressure), Note: w.OptStr("note", ""), Galvanic: -1}
	if w.Has("anodic index") {
		if m.Galvanic = w.atLeast0("anodic index", measure.Number); m.Galvanic > 3 {
			w.Fault("anodic index", "out-of-range", measure.Show(m.Galvanic, measure.Number)+"; accepted: at most 3 V against gold", "check the unit: volts, not millivolts")
		}
	}
	if m.Nu >= 0.5 {
		w.Fault("poisson ratio", "poisson-ratio", measure.Fixed(m.Nu, 2)+"; accepted: 0 to less than 0.5", "")
	}
	OtherSpellings(w.Fields)
	m.Origin = w.origin()
	m.GalvanicOrigin = m.Origin
	w.takeID(m.ID)
	if _, ok := MaterialByID(m.ID); ok {
		w.Fault("id", "unique-id", fmt.Sprintf("%s is an embedded material; accepted: each id once", source.Quote(m.ID)), "give yours another id")
	}
	w.Done()
	rr.out.Materials = append(rr.out.Materials, m)
}

func (rr *rangeReader) shim(w rangeRow) {
	s := Shim{ID: w.Str("id"), Name: w.Str("name"), Thickness: w.toleranced("thickness", measure.Length, true), Material: w.OptStr("material", "")}
	if w.Good("thickness") && s.Thickness.Nom-s.Thickness.Tol <= 0 {
		w.Fault("thickness", "positive", measure.MM(s.Thickness.Nom)+" at its least; accepted: more than 0", "")
	}
	s.Mass, s.Cost, s.PackSize = w.trade()
	s.Origin = w.origin()
	w.takeID(s.ID)
	w.Done()
	w.from, w.to = len(rr.out.Shims), len(rr.out.Shims)+1
	rr.out.Shims = append(rr.out.Shims, s)
	rr.shims = append(rr.shims, w)
}

// rivet reads one rivet, or one for each grip of a list, named by its greatest grip.
func (rr *rangeReader) rivet(w rangeRow) {
	base := Rivet{ID: w.Str("id"), Name: w.Str("name"), Head: w.Enum("head", "dome", "countersunk"), Diameter: w.above0("diameter", measure.Length),
		HeadDiameter: w.above0("head diameter", measure.Length), HeadHeight: w.atLeast0("head height", measure.Length), CountersinkDeg: w.angleDeg("countersink"),
		Shear: w.atLeast0("shear", measure.Force), Tension: w.atLeast0("tension", measure.Force), TailDiameter: w.atLeast0("tail diameter", measure.Length),
		TailLength: w.atLeast0("tail length", measure.Length), NoseDiameter: w.atLeast0("nose diameter", measure.Length), Material: w.OptStr("material", "")}
	base.HoleMin, base.HoleMax = w.span("hole", measure.Length, true)
	base.Mass, base.Cost, base.PackSize = w.trade()
	base.Origin = w.origin()
	switch {
	case base.Head == "countersunk" && base.CountersinkDeg == 0 && !w.Has("countersink"):
		w.Fault("countersink", "missing-key", "countersink is missing for a countersunk head; accepted: its included angle, as 120 deg", "")
	case base.Head == "dome" && w.Has("countersink"):
		w.Fault("countersink", "dome-head", "a countersink angle for a dome head", "leave it out, or write head: countersunk")
	}
	if w.Good("hole") && w.Good("diameter") && base.HoleMin < base.Diameter {
		w.Fault("hole", "hole-size", fmt.Sprintf("%s for a rivet of %s; accepted: a hole no smaller than the rivet", measure.MM(base.HoleMin), measure.MM(base.Diameter)), "")
	}
	if w.Good("head diameter") && base.HeadDiameter <= base.HoleMax {
		w.Fault("head diameter", "head-size", fmt.Sprintf("%s over a hole of %s; accepted: a head larger than its hole", measure.MM(base.HeadDiameter), measure.MM(base.HoleMax)), "")
	}
	w.from = len(rr.out.Rivets)
	if w.Exclusive(true, "grip", "grips") == "grips" {
		for _, n := range w.List("grips") {
			q, ok := rr.r.Quantities(n, measure.Length, rr.p, 2)
			if !ok {
				continue
			}
			v := base
			v.GripMin, v.GripMax = w.ordered("grips", q[0].Value, q[1].Value, measure.Length)
			v.ID, v.Name = base.ID+"-grip-"+seriesName(v.GripMax), fmt.Sprintf("%s, grip %s to %s", base.Name, measure.Fixed(v.GripMin, 1), measure.MM(v.GripMax))
			w.takeID(v.ID)
			rr.out.Rivets = append(rr.out.Rivets, v)
			rr.series[base.ID] = append(rr.series[base.ID], v.ID)
		}
	} else {
		base.GripMin, base.GripMax = w.span("grip", measure.Length, false)
		w.takeID(base.ID)
		rr.out.Rivets = append(rr.out.Rivets, base)
	}
	w.Done()
	w.to = len(rr.out.Rivets)
	rr.rivets = append(rr.rivets, w)
}

// pattern reads a part's rivet holes.
func (w rangeRow) pattern() []Hole {
	var out []Hole
	for _, m := range w.OptMaps("rivet holes") {
		at := m.Quantities("at", measure.Length, w.rr.p, 2)
		h := Hole{Diameter: w.rr.row(m).above0("diameter", measure.Length)}
		if len(at) == 2 {
			h.At = plane.Point{X: at[0].Value, Y: at[1].Value}
		}
		m.Done()
		out = append(out, h)
	}
	if len(out) > holesMost {
		w.Fault("rivet holes", "range-size", fmt.Sprintf("%d holes; accepted: at most %d", len(out), holesMost), "")
		return nil
	}
	return out
}

// rivets reads the rivets that fit; the id of a series stands for all its grips.
func (w rangeRow) rivets() []string {
	var out []string
	for _, id := range w.OptStrs("rivets") {
		if all := w.rr.series[id]; len(all) > 0 {
			out = append(out, all...)
		} else {
			out = append(out, id)
		}
	}
	return out
}

// centreHole reads the hole on the axis, least and greatest.
func (w rangeRow) centreHole() Toleranced {
	lo, hi := w.span("centre hole", measure.Length, false)
	return Toleranced{Nom: lo, Tol: math.Max(0, hi-lo)}
}

func (rr *rangeReader) plate(w rangeRow) {
	p := Plate{ID: w.Str("id"), Name: w.Str("name"), Face: Face(w.Enum("face", string(PlateOutside), string(PlateBehind), string(PlateNone))),
		Thickness: w.atLeast0("thickness", measure.Length), Length: w.above0("length", measure.Length), Width: w.above0("width", measure.Length),
		BearingDiameter: w.atLeast0("bearing diameter", measure.Length), SleeveDiameter: w.atLeast0("sleeve", measure.Length),
		Float: w.atLeast0("float", measure.Length), CountersinkDeg: w.angleDeg("countersink"), CentreCountersinkDeg: w.angleDeg("centre countersink"),
		CentreCountersinkDiameter: w.atLeast0("centre countersink diameter", measure.Length), Material: w.OptStr("material", "")}
	p.CentreHole = w.centreHole()
	p.Rivets, p.RivetIDs = w.pattern(), w.rivets()
	p.Mass, p.Cost, p.PackSize = w.trade()
	p.Origin = w.origin()
	if w.Good("sleeve") && p.CentreHole.Nom > 0 && p.SleeveDiameter > p.CentreHole.Nom {
		w.Fault("sleeve", "sleeve-through-hole", fmt.Sprintf("%s through a hole of %s; accepted: a sleeve no larger than its hole", measure.MM(p.SleeveDiameter), measure.MM(p.CentreHole.Nom)), "")
	}
	if p.Face != PlateNone && w.Good("face") {
		if p.Thickness <= 0 && !w.Has("thickness") {
			w.Fault("thickness", "missing-key", "thickness is missing; accepted: a length above 0", "")
		} else if w.Good("thickness") && p.Thickness <= 0 {
			w.Fault("thickness", "positive", measure.MM(p.Thickness)+"; accepted: more than 0", "")
		}
	}
	w.takeID(p.ID)
	w.Done()
	w.from, w.to = len(rr.out.Plates), len(rr.out.Plates)+1
	rr.out.Plates = append(rr.out.Plates, p)
	rr.plates = append(rr.plates, w)
}

// stud reads one stud, or one for each reach of a list.
func (rr *rangeReader) stud(w rangeRow) {
	base := Stud{ID: w.Str("id"), Name: w.Str("name"), Family: w.Str("family"), Head: w.Enum("head", "raised", "flush"), Drive: w.Enum("drive", "hand", "tool"),
		PlateIDs: w.Strs("plates"), Shank: w.toleranced("shank", measure.Length, true), HeadDiameter: w.above0("head diameter", measure.Length),
		HeadHeight: w.atLeast0("head height", measure.Length), EndBeyondWire: w.atLeast0("end beyond wire", measure.Length),
		CamRadius: w.atLeast0("cam radius", measure.Length), CamLift: w.atLeast0("cam lift", measure.Length), Crest: w.atLeast0("crest", measure.Length),
		HeadFriction: w.atLeast0("head friction", measure.Number), SeatRadius: w.atLeast0("seat radius", measure.Length),
		Rating: w.atLeast0("rating", measure.Force), Material: w.OptStr("material", "")}
	base.Mass, base.Cost, base.PackSize = w.trade()
	base.Origin = w.origin()
	reaches := w.series("reach", "reaches", measure.Length, false)
	if w.Good("shank") && base.Shank.Nom-base.Shank.Tol <= 0 {
		w.Fault("shank", "positive", measure.MM(base.Shank.Nom)+"; accepted: more than 0", "")
	}
	if w.Good("cam lift") && base.CamLift <= base.Crest {
		w.Fault("cam lift", "cam-lift", fmt.Sprintf("%s with a crest of %s; accepted: a lift of more than the crest", measure.MM(base.CamLift), measure.MM(base.Crest)), "")
	}
	w.from = len(rr.out.Studs)
	if !w.Has("reaches") && len(reaches) == 0 { // served by bands alone
		reaches = []Toleranced{{}}
	}
	for _, reach := range reaches {
		s := base
		s.PlateIDs = append([]string(nil), base.PlateIDs...)
		s.Reach = reach
		if key := "reach"; w.Has("reaches") || w.Has(key) {
			if w.Has("reaches") {
				key = "reaches"
				s.ID, s.Name = base.ID+"-"+seriesName(reach.Nom), fmt.Sprintf("%s, reach %s", base.Name, measure.MM(reach.Nom))
			}
			if w.Good(key) && reach.Nom-reach.Tol <= 0 {
				w.Fault(key, "positive", fmt.Sprintf("reach %s of %s; accepted: more than 0", measure.MM(reach.Nom), source.Cut(s.ID)), "")
			}
		}
		w.takeID(s.ID)
		rr.out.Studs = append(rr.out.Studs, s)
	}
	w.Done()
	w.to = len(rr.out.Studs)
	rr.studs = append(rr.studs, w)
}

// receptacle reads one receptacle, or one for each depth of a list.
func (rr *rangeReader) receptacle(w rangeRow) {
	base := Receptacle{ID: w.Str("id"), Name: w.Str("name"), Family: w.Str("family"), StudFamilies: w.Strs("stud families"),
		Mount:  Mount(w.Enum("mount", string(Behind), string(FrontBesideSeat), string(FrontUnderPanel))),
		Fixing: Fixing(w.Enum("fixing", string(Riveted), string(Welded))), Rate: w.toleranced("rate", measure.Rate, false),
		DeflectionMax: w.atLeast0("deflection limit", measure.Length), Rating: w.atLeast0("rating", measure.Force), ResetMax: w.atLeast0("re-set limit", measure.Length),
		Slot: w.atLeast0("slot play", measure.Length), WireFloat: w.atLeast0("wire float", measure.Length), Length: w.above0("length", measure.Length),
		Width: w.above0("width", measure.Length), Height: w.atLeast0("height", measure.Length), FootThickness: w.atLeast0("foot thickness", measure.Length),
		FootArea: w.squareMM("foot area"), CountersinkDeg: w.angleDeg("countersink"), Welds: w.OptInt("welds", 0, 0, 100),
		ShimIDs: w.OptStrs("shims"), ShimStackMax: w.atLeast0("shim stack limit", measure.Length), Material: w.OptStr("material", "")}
	base.CentreHole = w.centreHole()
	base.Rivets, base.RivetIDs = w.pattern(), w.rivets()
	base.Mass, base.Cost, base.PackSize = w.trade()
	base.Origin = w.origin()
	depths := w.series("depth", "depths", measure.Length, false)
	rr.receptacleRules(w, &base, len(depths) > 0)
	w.from = len(rr.out.Receptacles)
	if !w.Has("depths") && len(depths) == 0 { // served by bands alone
		depths = []Toleranced{{}}
	}
	for _, d := range depths {
		c := base
		c.StudFamilies, c.RivetIDs, c.ShimIDs = append([]string(nil), base.StudFamilies...), append([]string(nil), base.RivetIDs...), append([]string(nil), base.ShimIDs...)
		c.Rivets = append([]Hole(nil), base.Rivets...)
		c.Depth = d
		if w.Has("depths") {
			c.ID, c.Name = base.ID+"-"+seriesName(d.Nom), fmt.Sprintf("%s, depth %s", base.Name, measure.MM(d.Nom))
		}
		w.takeID(c.ID)
		rr.out.Receptacles = append(rr.out.Receptacles, c)
	}
	w.Done()
	w.to = len(rr.out.Receptacles)
	rr.receptacles = append(rr.receptacles, w)
}

// receptacleRules checks one receptacle by itself.
func (rr *rangeReader) receptacleRules(w rangeRow, c *Receptacle, hasDepth bool) {
	if hasDepth != (c.Rate.Nom != 0) && !w.Has("rate") {
		w.Fault("rate", "missing-key", "rate is missing beside a depth; accepted: a rate in N/mm", "leave both out when the range states bands alone")
	}
	if w.Good("rate") && c.Rate.Nom-c.Rate.Tol <= 0 {
		w.Fault("rate", "positive", measure.Show(c.Rate.Nom, measure.Rate)+" at its least; accepted: more than 0", "")
	}
	if w.Good("rate") && !hasDepth && !w.Has("depth") && !w.Has("depths") {
		w.Fault("depth", "missing-key", "depth is missing beside a rate; accepted: a length, or depths, a list", "leave both out when the range states bands alone")
	}
	switch {
	case c.Fixing == Welded && (len(c.Rivets) > 0 || len(c.RivetIDs) > 0):
		w.Fault("fixing", "fixing", "welded, with rivets or rivet holes", "leave the rivets out, or write fixing: riveted")
	case c.Fixing == Riveted && len(c.Rivets) == 0 && (w.Good("rivet holes") || !w.Has("rivet holes")):
		w.Fault("rivet holes", "missing-key", "rivet holes is missing for a riveted part; accepted: a list, each with at and diameter", "")
	}
	if c.Mount == FrontUnderPanel && len(c.ShimIDs) > 0 {
		w.Fault("shims", "idle-shim", "shims under a receptacle that the panel itself rests on: they change nothing", "leave the shims out")
	}
}

func (rr *rangeReader) band(w rangeRow) {
	b := Band{Stud: w.Str("stud"), Plate: w.OptStr("plate", ""), Receptacle: w.Str("receptacle"), Shims: w.OptInt("shims", 0, 0, 20), Pos: w.Node.Pos}
	if w.Exclusive(true, "stacks", "single") == "single" {
		b.Single = w.above0("single", measure.Length)
	} else {
		b.From, b.To = w.span("stacks", measure.Length, true)
		if w.Good("stacks") && b.To <= 0 {
			w.Fault("stacks", "positive", "stacks up to "+measure.MM(b.To)+"; accepted: more than 0", "")
		}
	}
	w.Done()
	w.from, w.to = len(rr.out.Bands), len(rr.out.Bands)+1
	rr.out.Bands = append(rr.out.Bands, b)
	rr.bands = append(rr.bands, w)
}
