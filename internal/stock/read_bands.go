package stock

import (
	"fmt"
	"slices"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/source"
)

// bandKey is what a band is stated for.
type bandKey struct {
	stud, plate, receptacle string
	shims                   int
	single                  float64
}

// bandRules checks that bands name parts that exist and go together, and that no two speak of the same.
func (rr *rangeReader) bandRules() {
	o := rr.out
	first := map[bandKey]fault.Pos{}
	listed := map[[2]string]bool{} // pairs: whether their first row is a single thickness
	for _, w := range rr.bands {
		b := &o.Bands[w.from]
		w.known("stud", "stud", named(b.Stud), rr.names.studs)
		w.known("plate", "plate", named(b.Plate), rr.names.plates)
		w.known("receptacle", "receptacle", named(b.Receptacle), rr.names.receptacles)
		s, okStud := o.StudByID(b.Stud)
		c, okRec := o.ReceptacleByID(b.Receptacle)
		if okStud && b.Plate != "" && !slices.Contains(s.PlateIDs, b.Plate) {
			if _, ok := o.PlateByID(b.Plate); ok {
				w.Fault("plate", "pair", fmt.Sprintf("%s, with which %s does not go; accepted: one of its plates", b.Plate, b.Stud), "")
			}
		}
		if okStud && okRec && !slices.Contains(c.StudFamilies, s.Family) {
			w.Fault("receptacle", "pair", fmt.Sprintf("%s does not take the studs of %s", source.Cut(b.Receptacle), source.Cut(s.Family)), "name the family under its stud families")
		}
		if okRec && b.Shims > 0 && len(c.ShimIDs) == 0 {
			w.Fault("shims", "pair", fmt.Sprintf("%d, and %s takes no shims", b.Shims, b.Receptacle), "")
		}
		k := bandKey{b.Stud, b.Plate, b.Receptacle, b.Shims, b.Single}
		if at, ok := first[k]; ok {
			rr.r.FaultAt(b.Pos, w.Node.Path, "unique-band", fmt.Sprintf("%s with %s and %d shims is stated already at %s", b.Stud, b.Receptacle, b.Shims, at), "keep one of them")
		} else {
			first[k] = b.Pos
		}
		pair := [2]string{b.Stud, b.Receptacle}
		if single, ok := listed[pair]; ok && single != (b.Single > 0) {
			rr.r.FaultAt(b.Pos, w.Node.Path, "mixed-bands", fmt.Sprintf("stacks and a single thickness for %s with %s; accepted: one kind for a pair", b.Stud, b.Receptacle), "keep the stacks: they say more")
		} else {
			listed[pair] = b.Single > 0
		}
	}
}

func named(id string) []string {
	if id == "" {
		return nil
	}
	return []string{id}
}

// usable checks that every stud and every receptacle can close with something: by reach, depth and rate, or by a band.
func (rr *rangeReader) usable() {
	o := rr.out
	inBand := map[string]bool{}
	for _, b := range o.Bands {
		inBand[b.Stud], inBand[b.Receptacle] = true, true
	}
	for _, w := range rr.studs {
		for i := w.from; i < w.to; i++ {
			if s := &o.Studs[i]; s.Reach.Nom == 0 && !w.Has("reach") && !w.Has("reaches") && !inBand[s.ID] {
				w.Fault("reach", "geometry-or-bands", fmt.Sprintf("%s has no reach and stands in no band", source.Cut(s.ID)), "write reach, or reaches, or bands")
			}
		}
		if w.from < w.to {
			rr.takers(w, &o.Studs[w.from])
		}
	}
	for _, w := range rr.receptacles {
		for i := w.from; i < w.to; i++ {
			if c := &o.Receptacles[i]; c.Rate.Nom == 0 && !w.Has("rate") && !inBand[c.ID] {
				w.Fault("rate", "geometry-or-bands", fmt.Sprintf("%s has no depth and rate and stands in no band", source.Cut(c.ID)), "write depth and rate, or bands")
			}
		}
	}
}

// takers reports a stud that no receptacle of the range takes.
func (rr *rangeReader) takers(w rangeRow, s *Stud) {
	for _, c := range rr.receptacles {
		if c.from < c.to && slices.Contains(rr.out.Receptacles[c.from].StudFamilies, s.Family) {
			return
		}
	}
	if w.Good("family") {
		w.Fault("family", "no-receptacle", fmt.Sprintf("%s, which no receptacle of this range takes", source.Quote(s.Family)), "name it under a receptacle's stud families")
	}
}

// String says a band in words: "4.00 mm to 5.60 mm", or "listed for 5.50 mm".
func (b Band) String() string {
	if b.Single > 0 {
		return "listed for " + measure.MM(b.Single)
	}
	return measure.MM(b.From) + " to " + measure.MM(b.To)
}
