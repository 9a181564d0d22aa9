package stock

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/source"
)

// areaUnits are the units that an area may be written in; measure has no dimension for it, since only feet need one.
var areaUnits = []struct {
	name   string
	factor float64 // mm²
}{{"mm²", 1}, {"mm2", 1}, {"cm²", 100}, {"cm2", 100}, {"in²", inch * inch}, {"in2", inch * inch}}

// squareMM reads an area, 0 when missing.
func (w rangeRow) squareMM(key string) float64 {
	n := w.Get(key)
	if n == nil {
		return 0
	}
	text := strings.TrimSpace(n.Text)
	for _, u := range areaUnits {
		rest, ok := strings.CutSuffix(text, u.name)
		if !ok {
			continue
		}
		q, err := w.rr.p.Parse(rest, measure.Number)
		if err != nil || q.Spread != measure.Unstated || q.Value <= 0 {
			break
		}
		return q.Value * u.factor
	}
	w.Fault(key, "area", fmt.Sprintf("%s; accepted: an area above 0 with its unit, as 180 mm² or 0.28 in²", source.Quote(text)), "")
	return 0
}

// cross checks what needs every row: that names exist, that parts go together, and that each pair can be used.
func (rr *rangeReader) cross() {
	o := rr.out
	if !rr.bounded() {
		return
	}
	rr.names = namesOf(o)
	all := append(Materials(), o.Materials...)
	rr.known = setOf(all, func(m *Material) string { return m.ID })
	for _, w := range rr.shims {
		w.knownMaterial(o.Shims[w.from].Material)
	}
	for _, w := range rr.rivets {
		if w.from < w.to {
			w.knownMaterial(o.Rivets[w.from].Material)
		}
	}
	for _, w := range rr.plates {
		p := &o.Plates[w.from]
		w.knownMaterial(p.Material)
		rr.rivetsFit(w, p.ID, p.Rivets, p.RivetIDs, p.CountersinkDeg, p.Face == PlateOutside)
	}
	for _, w := range rr.receptacles {
		if w.from >= w.to {
			continue
		}
		c := &o.Receptacles[w.from]
		w.knownMaterial(c.Material)
		w.known("shims", "shim", c.ShimIDs, rr.names.shims)
		w.known("stud families", "stud family", c.StudFamilies, rr.names.families)
		rr.rivetsFit(w, c.ID, c.Rivets, c.RivetIDs, c.CountersinkDeg, c.Mount != Behind)
		rr.wireLimit(w, c)
	}
	for _, w := range rr.studs {
		if w.from >= w.to {
			continue
		}
		w.knownMaterial(o.Studs[w.from].Material)
		w.known("plates", "plate", o.Studs[w.from].PlateIDs, rr.names.plates)
		for i := w.from + 1; i < w.to; i++ {
			if o.Studs[i].Reach.Nom <= o.Studs[i-1].Reach.Nom {
				w.Fault("reaches", "ascending", fmt.Sprintf("%s after %s; accepted: reaches that rise", measure.MM(o.Studs[i].Reach.Nom), measure.MM(o.Studs[i-1].Reach.Nom)), "")
			}
		}
	}
	rr.bandRules()
	rr.usable()
}

// Bounds of a range: they keep the work small, and no supplier's list comes near.
const (
	partsMost = 2000 // of one kind
	bandsMost = 10000
	holesMost = 24 // in one part
)

// bounded reports a range that is too large to look through.
func (rr *rangeReader) bounded() bool {
	ok := true
	for _, k := range []struct {
		kind    string
		n, most int
	}{{"studs", len(rr.out.Studs), partsMost}, {"plates", len(rr.out.Plates), partsMost}, {"receptacles", len(rr.out.Receptacles), partsMost},
		{"rivets", len(rr.out.Rivets), partsMost}, {"shims", len(rr.out.Shims), partsMost}, {"materials", len(rr.out.Materials), partsMost},
		{"bands", len(rr.out.Bands), bandsMost}} {
		if k.n > k.most {
			rr.r.FaultAt(fault.Pos{File: rr.file, Line: 1, Col: 1}, k.kind, "range-size", fmt.Sprintf("%d %s; accepted: at most %d", k.n, k.kind, k.most), "divide the range")
			ok = false
		}
	}
	return ok
}

// hintsMost bounds the unknown names that get a hint: each looks through every name of the range.
const hintsMost = 20

// known reports names that nothing in the range has.
func (w rangeRow) known(key, kind string, names []string, have *nameSet) {
	for _, n := range names {
		if have.set[n] {
			continue
		}
		hint := ""
		if w.rr.hints++; w.rr.hints <= hintsMost {
			hint = source.Meant(n, have.list)
		}
		w.Fault(key, "unknown-"+strings.ReplaceAll(kind, " ", "-"), fmt.Sprintf("%s; accepted: a %s of this range", source.Quote(n), kind), hint)
	}
}

// nameSet is names in their order, and for looking up.
type nameSet struct {
	list []string
	set  map[string]bool
}

func setOf[T any](parts []T, name func(*T) string) *nameSet {
	s := &nameSet{set: map[string]bool{}}
	for i := range parts {
		if n := name(&parts[i]); !s.set[n] {
			s.set[n] = true
			s.list = append(s.list, n)
		}
	}
	return s
}

// names are the ids of the range by kind.
type rangeNames struct{ studs, families, plates, receptacles, rivets, shims *nameSet }

func namesOf(o *Range) rangeNames {
	return rangeNames{
		studs:       setOf(o.Studs, func(s *Stud) string { return s.ID }),
		families:    setOf(o.Studs, func(s *Stud) string { return s.Family }),
		plates:      setOf(o.Plates, func(p *Plate) string { return p.ID }),
		receptacles: setOf(o.Receptacles, func(c *Receptacle) string { return c.ID }),
		rivets:      setOf(o.Rivets, func(r *Rivet) string { return r.ID }),
		shims:       setOf(o.Shims, func(s *Shim) string { return s.ID }),
	}
}

func (w rangeRow) knownMaterial(id string) {
	if id == "" {
		return
	}
	have := w.rr.known
	if have.set[id] {
		return
	}
	hint := ""
	if w.rr.hints++; w.rr.hints <= hintsMost {
		hint = source.Meant(id, have.list)
	}
	w.Fault("material", "unknown-material", fmt.Sprintf("%s; accepted: an embedded material or one of this range", source.Quote(id)), hint)
}

// rivetsFit checks a part's hole pattern against the rivets that it names, and the angle of its seats against theirs.
// headOnPart: the rivets' heads lie on the part itself.
func (rr *rangeReader) rivetsFit(w rangeRow, id string, holes []Hole, rivets []string, angleDeg float64, headOnPart bool) {
	o := rr.out
	w.known("rivets", "rivet", rivets, rr.names.rivets)
	if len(holes) > 0 && len(rivets) == 0 && !w.Has("rivets") {
		w.Fault("rivets", "missing-key", "rivets is missing beside rivet holes; accepted: the ids of the rivets that fit, best first", "")
	}
	if len(holes) == 0 && len(rivets) > 0 {
		w.Fault("rivets", "rivet-holes", fmt.Sprintf("rivets for %s, which has no rivet holes", source.Cut(id)), "write rivet holes, a list, each with at and diameter")
	}
	for i, h := range holes {
		for k := range i {
			if d := h.At.Dist(holes[k].At); d < (h.Diameter+holes[k].Diameter)/2 {
				w.Fault("rivet holes", "holes-run-together", fmt.Sprintf("holes %d and %d stand %s apart; accepted: more than half their diameters", k+1, i+1, measure.MM(d)), "")
			}
		}
	}
	for _, name := range rivets {
		r, ok := o.RivetByID(name)
		if !ok {
			continue
		}
		for i, h := range holes {
			if h.Diameter > 0 && r.Diameter > 0 && h.Diameter <= r.Diameter {
				w.Fault("rivet holes", "hole-size", fmt.Sprintf("hole %d of %s, %s, for %s of %s; accepted: a hole larger than the rivet", i+1, source.Cut(id), measure.MM(h.Diameter), source.Cut(r.ID), measure.MM(r.Diameter)), "")
				break
			}
		}
		switch {
		case angleDeg > 0 && r.Head == "dome" && headOnPart:
			w.Fault("rivets", "countersink-angle", fmt.Sprintf("%s has a dome head, %s has seats of %s°", source.Cut(r.ID), source.Cut(id), measure.Fixed(angleDeg, 0)), "name countersunk rivets, or leave countersink out")
		case angleDeg > 0 && r.Head == "countersunk" && math.Abs(angleDeg-r.CountersinkDeg) >= 0.5: // stated in whole degrees
			w.Fault("rivets", "countersink-angle", fmt.Sprintf("%s is countersunk %s°, the seats of %s are %s°; accepted: the same angle", source.Cut(r.ID), measure.Fixed(r.CountersinkDeg, 0), source.Cut(id), measure.Fixed(angleDeg, 0)), "")
		case angleDeg == 0 && r.Head == "countersunk" && headOnPart:
			w.Fault("rivets", "countersink-angle", fmt.Sprintf("%s is countersunk, %s has no seats for it", source.Cut(r.ID), source.Cut(id)), "write countersink, or name dome rivets")
		}
	}
}

// wireLimit checks that the crest of every stud that the receptacle takes leaves the wire some deflection.
func (rr *rangeReader) wireLimit(w rangeRow, c *Receptacle) {
	if c.DeflectionMax <= 0 {
		return
	}
	for _, s := range rr.studs {
		if s.from >= s.to {
			continue
		}
		d := &rr.out.Studs[s.from]
		if slices.Contains(c.StudFamilies, d.Family) && d.Crest >= c.DeflectionMax {
			w.Fault("deflection limit", "wire-limit", fmt.Sprintf("%s, and the studs of %s have a crest of %s; accepted: a limit above the crest", measure.MM(c.DeflectionMax), d.Family, measure.MM(d.Crest)), "")
		}
	}
}
