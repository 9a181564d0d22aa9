package stock

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
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
	w.Fault(key, "area", fmt.Sprintf("%q; accepted: an area above 0 with its unit, as 180 mm² or 0.28 in²", text), "")
	return 0
}

// cross checks what needs every row: that names exist, that parts go together, and that each pair can be used.
func (rr *rangeReader) cross() {
	o := rr.out
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
	families := rr.studFamilies()
	for _, w := range rr.receptacles {
		if w.from >= w.to {
			continue
		}
		c := &o.Receptacles[w.from]
		w.knownMaterial(c.Material)
		w.known("shims", "shim", c.ShimIDs, idsOf(o.Shims, func(s *Shim) string { return s.ID }))
		w.known("stud families", "stud family", c.StudFamilies, families)
		rr.rivetsFit(w, c.ID, c.Rivets, c.RivetIDs, c.CountersinkDeg, c.Mount != Behind)
		rr.wireLimit(w, c)
	}
	for _, w := range rr.studs {
		if w.from >= w.to {
			continue
		}
		w.knownMaterial(o.Studs[w.from].Material)
		w.known("plates", "plate", o.Studs[w.from].PlateIDs, idsOf(o.Plates, func(p *Plate) string { return p.ID }))
		for i := w.from + 1; i < w.to; i++ {
			if o.Studs[i].Reach.Nom <= o.Studs[i-1].Reach.Nom {
				w.Fault("reaches", "ascending", fmt.Sprintf("%s after %s; accepted: reaches that rise", measure.MM(o.Studs[i].Reach.Nom), measure.MM(o.Studs[i-1].Reach.Nom)), "")
			}
		}
	}
	rr.bandRules()
	rr.usable()
}

func idsOf[T any](parts []T, id func(*T) string) []string {
	out := make([]string, len(parts))
	for i := range parts {
		out[i] = id(&parts[i])
	}
	return out
}

// studFamilies lists the families that the studs name, sorted.
func (rr *rangeReader) studFamilies() []string {
	out := idsOf(rr.out.Studs, func(s *Stud) string { return s.Family })
	slices.Sort(out)
	return slices.Compact(out)
}

// known reports names that nothing in the range has.
func (w rangeRow) known(key, kind string, names, have []string) {
	for _, n := range names {
		if !slices.Contains(have, n) {
			w.Fault(key, "unknown-"+strings.ReplaceAll(kind, " ", "-"), fmt.Sprintf("%q; accepted: a %s of this range", n, kind), fault.Meant(n, near(n, have)))
		}
	}
}

// near bounds the list that a hint shows: a long one helps nobody.
func near(name string, have []string) []string {
	const most = 12
	if _, ok := fault.Nearest(name, have); ok || len(have) <= most {
		return have
	}
	return append(slices.Clone(have[:most]), "…")
}

func (w rangeRow) knownMaterial(id string) {
	if id == "" {
		return
	}
	have := idsOf(w.rr.out.Materials, func(m *Material) string { return m.ID })
	if slices.Contains(have, id) {
		return
	}
	if _, ok := MaterialByID(id); !ok {
		have = append(have, idsOf(Materials(), func(m *Material) string { return m.ID })...)
		w.Fault("material", "unknown-material", fmt.Sprintf("%q; accepted: an embedded material or one of this range", id), fault.Meant(id, have))
	}
}

// rivetsFit checks a part's hole pattern against the rivets that it names, and the angle of its seats against theirs.
// headOnPart: the rivets' heads lie on the part itself.
func (rr *rangeReader) rivetsFit(w rangeRow, id string, holes []Hole, rivets []string, angleDeg float64, headOnPart bool) {
	o := rr.out
	w.known("rivets", "rivet", rivets, idsOf(o.Rivets, func(r *Rivet) string { return r.ID }))
	if len(holes) > 0 && len(rivets) == 0 && !w.Has("rivets") {
		w.Fault("rivets", "missing-key", "rivets is missing beside rivet holes; accepted: the ids of the rivets that fit, best first", "")
	}
	if len(holes) == 0 && len(rivets) > 0 {
		w.Fault("rivets", "rivet-holes", fmt.Sprintf("rivets for %s, which has no rivet holes", id), "write rivet holes, a list, each with at and diameter")
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
				w.Fault("rivet holes", "hole-size", fmt.Sprintf("hole %d of %s, %s, for %s of %s; accepted: a hole larger than the rivet", i+1, id, measure.MM(h.Diameter), r.ID, measure.MM(r.Diameter)), "")
				break
			}
		}
		switch {
		case angleDeg > 0 && r.Head == "dome" && headOnPart:
			w.Fault("rivets", "countersink-angle", fmt.Sprintf("%s has a dome head, %s has seats of %s°", r.ID, id, measure.Fixed(angleDeg, 0)), "name countersunk rivets, or leave countersink out")
		case angleDeg > 0 && r.Head == "countersunk" && math.Abs(angleDeg-r.CountersinkDeg) >= 0.5: // stated in whole degrees
			w.Fault("rivets", "countersink-angle", fmt.Sprintf("%s is countersunk %s°, the seats of %s are %s°; accepted: the same angle", r.ID, measure.Fixed(r.CountersinkDeg, 0), id, measure.Fixed(angleDeg, 0)), "")
		case angleDeg == 0 && r.Head == "countersunk" && headOnPart:
			w.Fault("rivets", "countersink-angle", fmt.Sprintf("%s is countersunk, %s has no seats for it", r.ID, id), "write countersink, or name dome rivets")
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
