package setout

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/stock"
)

// pickPair is a stud in a plate with a receptacle that accepts it.
type pickPair struct {
	stud  *stock.Stud
	plate *stock.Plate
	rec   *stock.Receptacle
}

func (c pickPair) id() string { return c.stud.ID + " " + c.plate.ID + " " + c.rec.ID }

// pickMount is what a support asks of a receptacle.
type pickMount struct {
	mount stock.Mount
	weld  bool
}

func pickMountOf(sup *job.Support) pickMount {
	m := pickMount{mount: stock.Behind}
	if sup != nil {
		m.weld = sup.Weld
		if sup.Mount != "" {
			m.mount = sup.Mount
		}
	}
	return m
}

func (m pickMount) String() string {
	if m.weld {
		return string(m.mount) + " · welded"
	}
	return string(m.mount)
}

// pickPairs returns every pair of the range that has the mounting and the panel's style, in the range's own order.
func pickPairs(r *stock.Range, style *job.Style, m pickMount) []pickPair {
	var out []pickPair
	if r == nil {
		return nil
	}
	for i := range r.Studs {
		stud := &r.Studs[i]
		if style.Head != "" && stud.Head != style.Head || style.Drive != "" && stud.Drive != style.Drive {
			continue
		}
		for k := range r.Plates {
			plate := &r.Plates[k]
			if !slices.Contains(stud.PlateIDs, plate.ID) || style.Plate != "" && plate.Face != style.Plate {
				continue
			}
			for n := range r.Receptacles {
				rec := &r.Receptacles[n]
				if rec.Mount == m.mount && (rec.Fixing == stock.Welded) == m.weld && slices.Contains(rec.StudFamilies, stud.Family) {
					out = append(out, pickPair{stud, plate, rec})
				}
			}
		}
	}
	return out
}

// pickGroup is the stations of one panel that take the same parts: the same mounting on the same layers.
type pickGroup struct {
	pickMount
	pan      *job.Panel
	name     string
	sup      *job.Support // the first one
	room     float64      // least known room behind, 0: not known
	stations []*Station
}

// gap is the room between outer and inner panel, mm: all layers between, which are cut out around a part.
func (g *pickGroup) gap() float64 {
	between := g.pan.Between
	if g.sup != nil && g.sup.Between != nil {
		between = g.sup.Between
	}
	sum := 0.0
	for i := range between {
		sum += between[i].Thickness.Nom
	}
	return sum
}

// pickGroupName tells the groups of a panel apart: the mounting, and where a support has layers of its own the name of the
// first support with those layers.
func pickGroupName(pan *job.Panel, sup *job.Support) string {
	name := pickMountOf(sup).String()
	if sup == nil || pickSameLayers(pan, sup, nil) {
		return name
	}
	for _, s := range pan.Supports {
		if pickMountOf(s) == pickMountOf(sup) && pickSameLayers(pan, sup, s) {
			return name + " · " + s.Name
		}
	}
	return name + " · " + sup.Name
}

// pickSameLayers says whether stations on two supports (nil: the panel's own layers) have stacks and joints alike.
func pickSameLayers(pan *job.Panel, a, b *job.Support) bool {
	la, lb := stackLayers(pan, a, stock.PlateOutside, stock.Behind), stackLayers(pan, b, stock.PlateOutside, stock.Behind)
	return slices.EqualFunc(la, lb, func(x, y *job.Layer) bool {
		return x == y || x.Thickness.Nom == y.Thickness.Nom && x.Thickness.Half == y.Thickness.Half && x.Thickness.StdUnc == y.Thickness.StdUnc &&
			x.Material == y.Material && x.Soft == y.Soft && x.Modulus == y.Modulus && x.Area == y.Area
	})
}

// pickGroups returns the groups of a panel in the order of their first station.
func pickGroups(pan *Panel) []*pickGroup {
	var out []*pickGroup
	byName := map[string]*pickGroup{}
	for _, st := range pan.Stations {
		name := pickGroupName(pan.Job, st.Support)
		g := byName[name]
		if g == nil {
			g = &pickGroup{pickMount: pickMountOf(st.Support), pan: pan.Job, name: name, sup: st.Support}
			byName[name] = g
			out = append(out, g)
		}
		if s := st.Support; s != nil && s.Room > 0 && (g.room == 0 || s.Room < g.room) {
			g.room = s.Room
		}
		g.stations = append(g.stations, st)
	}
	return out
}

// pickServes says whether a choice is the one for stations on the support.
func pickServes(pan *Panel, c *Choice, sup *job.Support) bool {
	return c.Plate != nil && c.Receptacle != nil && c.Group == pickGroupName(pan.Job, sup)
}

// pickJoint is what a rivet has to join, and which heads serve: rank 0 is best, less than 0 does not serve.
type pickJoint struct {
	what   string
	lo, hi float64 // joint thickness, least and greatest nominal, washers included
	half   float64 // limits of the sheet about it
	rank   func(*stock.Rivet) int
}

// pickRivet chooses the rivet of a part: of those that the range lists for it the best head whose grip contains the joint
// with its limits; failing that the nominal joint; failing that one end of it. why says what is missing when none does.
func pickRivet(r *stock.Range, ids []string, j pickJoint) (rivet *stock.Rivet, why string) {
	for _, span := range [][2]float64{{j.lo - j.half, j.hi + j.half}, {j.lo, j.hi}, {j.hi, j.hi}, {j.lo, j.lo}} {
		best := -1
		for _, id := range ids {
			i := slices.IndexFunc(r.Rivets, func(v stock.Rivet) bool { return v.ID == id })
			if i < 0 {
				continue
			}
			v := &r.Rivets[i]
			if k := j.rank(v); k >= 0 && v.GripMin <= span[0]+placeSame && span[1] <= v.GripMax+placeSame && (best < 0 || k < best) {
				best, rivet = k, v
			}
		}
		if best >= 0 {
			return rivet, ""
		}
	}
	var grips []string // heads and materials share them: each once
	for _, id := range ids {
		for i := range r.Rivets {
			if v := &r.Rivets[i]; v.ID == id && j.rank(v) >= 0 {
				if g := measure.MM(v.GripMin) + " to " + measure.MM(v.GripMax); !slices.Contains(grips, g) {
					grips = append(grips, g)
				}
			}
		}
	}
	if len(grips) == 0 {
		return nil, fmt.Sprintf("no rivet of the range has a head that serves for %s", j.what)
	}
	return nil, fmt.Sprintf("no rivet grips %s, %s thick (grips offered: %s)", j.what, measure.MM(j.lo), strings.Join(grips, ", "))
}

// pickPlateJoint is the joint of plate and outer panel.
func pickPlateJoint(g *pickGroup, plate *stock.Plate) pickJoint {
	outer := &g.pan.Outer
	j := pickJoint{what: "plate and outer panel", lo: plate.Thickness + outer.Thickness.Nom, half: pickHalf(outer)}
	j.hi = j.lo
	if outer.Material != nil && outer.Material.Family.Laminate() && plate.Face != stock.PlateBehind {
		j.hi += WasherThickness // a tail that bears on laminate has a washer
	}
	j.rank = func(v *stock.Rivet) int { return pickPartHead(v, plate.CountersinkDeg) }
	if plate.Face == stock.PlateBehind { // the head lies on the panel's outer face
		flush := g.pan.Style.Head == "flush"
		j.rank = func(v *stock.Rivet) int { return pickSheetHead(v, flush, outer.Thickness.Nom) }
	}
	return j
}

// pickReceptacleJoint is the joint of receptacle and inner panel or bracket with shims from lo to hi mm between.
func pickReceptacleJoint(g *pickGroup, rec *stock.Receptacle, lo, hi float64) pickJoint {
	layers := stackLayers(g.pan, g.sup, stock.PlateBehind, stock.Behind)
	inner := layers[len(layers)-1]
	base := inner.Thickness.Nom + rec.FootThickness
	j := pickJoint{what: "receptacle foot and inner panel", lo: base + lo, hi: base + hi, half: pickHalf(inner)}
	if rec.Mount == stock.Behind { // the head lies on the face that meets the outer panel
		j.rank = func(v *stock.Rivet) int { return pickSheetHead(v, true, inner.Thickness.Nom) }
		return j
	}
	if inner.Material != nil && inner.Material.Family.Laminate() {
		j.hi += WasherThickness
	}
	j.rank = func(v *stock.Rivet) int { return pickPartHead(v, rec.CountersinkDeg) }
	return j
}

// pickHalf is how far a thickness may lie from its nominal value: its limits, or twice its standard uncertainty.
func pickHalf(l *job.Layer) float64 { return math.Max(l.Thickness.Half, 2*l.Thickness.StdUnc) }

// pickPartHead ranks a head that lies on a part: countersunk into the part's own seats of that angle, a dome where it has
// none.
func pickPartHead(v *stock.Rivet, seatDeg float64) int {
	switch {
	case v.Head == "countersunk" && seatDeg > 0 && math.Abs(v.CountersinkDeg-seatDeg) < 0.5:
		return 0
	case v.Head != "countersunk" && seatDeg == 0:
		return 0
	case v.Head != "countersunk":
		return 1 // over an empty seat
	}
	return -1
}

// pickSheetHead ranks a head that lies on a sheet: countersunk where it must be flush and the sheet is thick enough, else a
// dome; the joint then says what becomes of it.
func pickSheetHead(v *stock.Rivet, flush bool, thick float64) int {
	if v.Head != "countersunk" {
		if flush {
			return 1
		}
		return 0
	}
	fits := v.CountersinkDeg > 0 && SinkDepth(v.HeadDiameter, v.HoleMin, v.CountersinkDeg) <= SinkShareMax*thick+placeSame
	switch {
	case fits && flush:
		return 0
	case fits:
		return 1
	}
	return 2
}
