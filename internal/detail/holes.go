package detail

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// Sizes that no part states; common practice, no source.
const (
	holeSamePlace       = 0.01 // mm: holes of two layers nearer than this are one drilling
	holeReliefSlack     = 1.0  // mm, how much larger a relief hole may be drilled
	holeSoftOversize    = 2.0  // mm, how much wider a soft layer is cut than the hole that passes it
	holeSoftOversizeMax = 5.0
	holeCutOutClear     = 1.0 // mm all round, between a foot or a plate and the layer that is cut out over it
)

// Holes sets out every hole of the plan: one row for each hole in each layer, numbered in the order of work, with the drill
// from the shop's own set that serves it. It also fills each panel's rivet joints and the chance that the panel drops on.
// Stations without parts get no holes.
func Holes(p *setout.Plan) {
	for _, pan := range p.Panels {
		pan.Holes, pan.Joins = nil, nil
		for _, st := range pan.Stations {
			joints := jointsAt(p.Job, pan, st)
			pan.Joins = append(pan.Joins, joints...)
			pan.Holes = append(pan.Holes, holesAt(p.Job, pan, st, joints)...)
		}
		holeOrder(pan)
		pan.DropOn = dropOnOf(p.Job, pan)
	}
}

// holeBench gathers the rows of one station.
type holeBench struct {
	jointSite
	rows []setout.Hole
}

func holesAt(j *job.Job, pan *setout.Panel, st *setout.Station, joints []setout.RivetJoint) []setout.Hole {
	if st.Choice == nil || st.Choice.Plate == nil || st.Choice.Receptacle == nil || st.Choice.Stud == nil {
		return nil
	}
	b := &holeBench{jointSite: jointSiteOf(j, pan, st)}
	b.centres()
	for i := range joints {
		b.rivets(&joints[i])
	}
	b.clamp()
	return b.rows
}

// add finishes a row in a layer: position, drill, pilot, tool and speed.
func (b *holeBench) add(h setout.Hole, in jointLayer, at plane.Point) *setout.Hole {
	h.Panel, h.Station, h.Layer = b.pan.Job.Name, b.st.ID, in.jointName()
	h.At = b.st.At.Add(at.Rotate(b.st.Dir))
	if h.Stage == 0 {
		h.Stage = setout.StageOpen
	}
	if h.Purpose != setout.PurposeCutOut {
		holeWork(&h, in, b.job.Drills)
	}
	b.rows = append(b.rows, h)
	return &b.rows[len(b.rows)-1]
}

// centres sets out the holes on the station's axis, from the outside inwards.
func (b *holeBench) centres() {
	pl, rc := b.c.Plate, b.c.Receptacle
	lo, hi := holeFit(pl.CentreHole, b.job.Conditions.HoleFit.Value)
	if lo > 0 {
		h := b.add(setout.Hole{Purpose: setout.PurposeCentre, Wanted: lo, WantedMax: hi}, b.outer, plane.Point{})
		if pl.CentreCountersinkDeg > 0 && pl.CentreCountersinkDiameter > 0 {
			k := jointSink("front", pl.CentreCountersinkDeg, pl.CentreCountersinkDiameter, holeDrilled(h), "stud head")
			k.Knife = k.Depth >= b.outer.Thickness.Nom
			holeSink(h, b.outer, k)
		}
	}
	through := math.Max(lo, b.c.Stud.Shank.Nom)
	if rc.Mount == stock.Behind {
		through = math.Max(through, rc.CentreHole.Nom)
	}
	long, wide, over := b.passes()
	for _, l := range b.between {
		if long > 0 {
			b.cutOut(l, long, wide, over)
		} else {
			b.between1(l, setout.PurposeCentre, 0, through, plane.Point{})
		}
	}
	switch {
	case rc.CentreHole.Nom <= 0:
	case rc.Mount == stock.Behind:
		lo, hi := holeLocating(rc, b.c.Stud, &b.job.Conditions)
		h := b.add(setout.Hole{Purpose: setout.PurposeCentre, Wanted: lo, WantedMax: hi, Locates: true}, b.inner, plane.Point{})
		h.Note = holeJoin(h.Note, "this hole locates the panel")
	default:
		lo, hi := holeFit(rc.CentreHole, b.job.Conditions.HoleFit.Value)
		h := b.add(setout.Hole{Purpose: setout.PurposeBody, Wanted: lo, WantedMax: hi}, b.inner, plane.Point{})
		how := "riveted"
		if rc.Fixing == stock.Welded {
			how = "welded"
		}
		h.Note = holeJoin(h.Note, fmt.Sprintf("the receptacle's body and the stud's end pass: open it before the receptacle is %s on", how))
	}
}

// passes is the size of the foot or the plate that passes the layers between, and what it is; 0 when only the stud does.
func (s *jointSite) passes() (long, wide float64, what string) {
	if rc := s.c.Receptacle; rc.Mount == stock.FrontBesideSeat {
		long, wide, what = rc.Length, rc.Width, "the receptacle's foot"
	}
	if pl := s.c.Plate; pl.Face == stock.PlateBehind {
		what = strings.TrimPrefix(what+" and the plate", " and ")
		long, wide = math.Max(long, pl.Length), math.Max(wide, pl.Width)
	}
	return long, wide, what
}

// cutOut cuts a layer between the panels out over a foot or a plate: none in air, wider in a soft layer.
func (b *holeBench) cutOut(l jointLayer, long, wide float64, over string) {
	if l.Material == nil {
		return
	}
	clear, tool := 2*holeCutOutClear, "saw and file"
	if holeSoft(l) {
		clear, tool = clear+holeSoftOversize, "knife"
	}
	h := setout.Hole{Purpose: setout.PurposeCutOut, Stage: setout.StageRelief, Length: long + clear, Width: wide + clear, Dir: b.st.Dir, Cut: true, Tool: tool}
	h.Note = fmt.Sprintf("cut out %.0f × %.0f mm, along the rivet line and across, over %s of %.0f × %.0f mm", h.Length, h.Width, over, long, wide)
	if l.Material.Family.Laminate() {
		h.Note = holeJoin(h.Note, "collect the dust at the tool")
	}
	h.Note = holeJoin(h.Note, b.web(h))
	b.add(h, l, plane.Point{})
}

// holeWebMin is the least strip that is worth keeping between a cut-out and the layer's edge, mm. Common practice, no source.
const holeWebMin = 3.0

// web says when a cut-out comes so near to the panel's edge that it is cut open to it; the layer is taken to end there.
func (b *holeBench) web(h setout.Hole) string {
	least := math.Inf(1)
	for _, c := range [4]plane.Point{{X: -1, Y: -1}, {X: 1, Y: -1}, {X: 1, Y: 1}, {X: -1, Y: 1}} {
		corner := b.st.At.Add(plane.Point{X: c.X * h.Length / 2, Y: c.Y * h.Width / 2}.Rotate(h.Dir))
		least = math.Min(least, b.pan.Job.Outline.Distance(corner))
	}
	switch {
	case least <= 0:
		return "the cut-out runs out over the edge: the layer ends there, in two pieces if need be"
	case least < holeWebMin:
		return fmt.Sprintf("a strip of %.1f mm is left to the edge, too narrow to keep: cut it open", least)
	}
	return ""
}

// between1 cuts one hole through a layer between the panels: none in air, oversize in a soft layer, none where the layer is cut
// out already.
func (b *holeBench) between1(l jointLayer, purpose string, index int, d float64, at plane.Point) {
	if l.Material == nil {
		return
	}
	if long, wide, _ := b.passes(); math.Abs(at.X)+d/2 <= long/2+holeCutOutClear && math.Abs(at.Y)+d/2 <= wide/2+holeCutOutClear {
		return
	}
	h := setout.Hole{Purpose: purpose, Index: index, Wanted: d, WantedMax: d + holeReliefSlack}
	if holeSoft(l) {
		h.Wanted, h.WantedMax = d+holeSoftOversize, d+holeSoftOversizeMax
	}
	if purpose == setout.PurposeRelief {
		h.Stage = setout.StageRelief
	}
	b.add(h, l, at)
}

// rivets sets out the holes of one joint, its countersinks and its relief holes.
func (b *holeBench) rivets(jt *setout.RivetJoint) {
	pattern, purpose, in := b.c.Plate.Rivets, setout.PurposePlateRivet, b.outer
	if jt.Part == "receptacle" {
		pattern, purpose, in = b.c.Receptacle.Rivets, setout.PurposeReceptacleRivet, b.inner
	}
	for i, q := range pattern {
		h := b.add(setout.Hole{Purpose: purpose, Index: i + 1, Wanted: jt.Rivet.HoleMin, WantedMax: jt.Rivet.HoleMax}, in, q.At)
		if k := jt.HeadSink; k != nil {
			holeSink(h, in, jointSink(k.Face, k.AngleDeg, k.Diameter, holeDrilled(h), k.Purpose))
		}
		if k := jt.TailSink; k != nil {
			drilled := holeDrilled(h)
			t := b.add(setout.Hole{Purpose: setout.PurposeTailCountersink, Index: i + 1, Stage: setout.StageCountersink, Operation: true, Wanted: h.Wanted, WantedMax: h.WantedMax}, in, q.At)
			t.RPM, t.RPMBasis, t.Pilot = 0, "", nil
			holeSink(t, in, jointSink(k.Face, k.AngleDeg, k.Diameter, drilled, k.Purpose))
			t.Note = holeJoin(t.Note, "countersink only: spread the set tail into it and finish below flush")
		}
	}
	if jt.Relief <= 0 {
		return
	}
	for i, q := range pattern {
		for _, l := range b.between {
			b.between1(l, setout.PurposeRelief, i+1, jt.Relief, q.At)
		}
		if !jt.HeadRelief && jt.TailTreatment == setout.TailReliefInner {
			h := b.add(setout.Hole{Purpose: setout.PurposeRelief, Index: i + 1, Stage: setout.StageRelief, Wanted: jt.Relief, WantedMax: jt.Relief + holeReliefSlack}, b.inner, q.At)
			h.Note = holeJoin(h.Note, "for the tail of the rivet in the outer panel")
		}
	}
}

// clamp marks the holes of different sheets that one pilot starts with the panels clamped together.
func (b *holeBench) clamp() {
	for i := range b.rows {
		for k := range b.rows {
			if b.rows[i].Layer != b.rows[k].Layer && b.rows[i].Pilot != nil && b.rows[k].Pilot != nil &&
				b.rows[i].At.Dist(b.rows[k].At) < holeSamePlace {
				b.rows[i].Clamped = true
			}
		}
	}
}

// holeFit is the band of diameters that a part's hole may have; the job's default serves where the part states none.
func holeFit(want stock.Toleranced, fit float64) (lo, hi float64) {
	if want.Tol > 0 {
		fit = want.Tol
	}
	return want.Nom, want.Nom + fit
}

// holeLocating is the band for the hole in the inner panel: it locates the panel, so its excess over the stud is limited.
func holeLocating(rc *stock.Receptacle, stud *stock.Stud, c *job.Conditions) (lo, hi float64) {
	lo, hi = holeFit(rc.CentreHole, c.HoleFit.Value)
	if c.LocateExcessMax.Value > 0 {
		hi = math.Min(hi, stud.Shank.Nom+c.LocateExcessMax.Value)
	}
	return lo, hi
}

// holeDrilled is the diameter that the hole gets: the drill's, or as wanted where none fits.
func holeDrilled(h *setout.Hole) float64 {
	if h.Drill != nil {
		return h.Drill.Diameter
	}
	return h.Wanted
}

// holeOrder sorts the rows in the order of work and numbers them: stage by stage, then layer by layer from the outside, then
// by purpose, so that one drill does all it can before the next is set.
func holeOrder(pan *setout.Panel) {
	purposes := []string{setout.PurposeCentre, setout.PurposeBody, setout.PurposePlateRivet, setout.PurposeReceptacleRivet, setout.PurposeTailCountersink, setout.PurposeRelief, setout.PurposeCutOut}
	role, place := map[string]int{}, map[string]int{}
	for i, st := range pan.Stations {
		place[st.ID] = i
		for k, l := range jointLayers(pan, st) {
			role[l.jointName()] = max(role[l.jointName()], k)
		}
	}
	slices.SortStableFunc(pan.Holes, func(a, b setout.Hole) int {
		return cmp.Or(
			cmp.Compare(a.Stage, b.Stage),
			cmp.Compare(role[a.Layer], role[b.Layer]),
			cmp.Compare(a.Layer, b.Layer),
			cmp.Compare(slices.Index(purposes, a.Purpose), slices.Index(purposes, b.Purpose)),
			cmp.Compare(place[a.Station], place[b.Station]),
			cmp.Compare(a.Index, b.Index))
	})
	for i := range pan.Holes {
		pan.Holes[i].No = i + 1
	}
}
