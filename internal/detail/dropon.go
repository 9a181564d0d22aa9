package detail

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/setout"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// dropOnSamples and dropOnSeed make the simulation: its 95 % interval is then no wider than 0.02.
const (
	dropOnSamples = 10_000
	dropOnSeed    = 20_260_101
)

// dropOnZone returns the position zone of one hole (mm, a diameter) for the way in which the job marks its holes out.
func dropOnZone(j *job.Job) (zone float64, how string) {
	c := &j.Conditions
	switch c.Marking {
	case "template":
		return c.TemplateZone.Value, "paper template"
	case "jig":
		return c.JigZone.Value, "jig"
	}
	return c.MatchZone.Value, "match drilling"
}

// FixedFastenerHole returns H = F + T1 + T2, the least clearance hole for a fastener of diameter F that is fixed in one part
// with position zone T1, through a hole of zone T2 in the other (zones are diameters) [asmey145, App. B].
func FixedFastenerHole(fastener, zoneFixed, zoneHole float64) float64 {
	return fastener + zoneFixed + zoneHole
}

// FixedFastenerZone returns T = (H − F)/2, the zone that each part may have, both alike; a fastener that floats by f counts
// as a hole larger by f. [asmey145, App. B]
func FixedFastenerZone(hole, fastener, float float64) float64 { return (hole + float - fastener) / 2 }

// FloatingFastenerZone returns T = H − F, the zone of each part when both have clearance [asmey145, App. B].
func FloatingFastenerZone(hole, fastener float64) float64 { return hole - fastener }

// dropOnClear returns by how much the stud may stand off its hole's centre, as a diameter: the locating hole as drilled less
// the stud, or what the receptacle itself lets the stud wander, whichever is less; and the stud's float in its plate. A
// receptacle on the front has no hole that locates: its slot and wire alone do.
func dropOnClear(pan *setout.Panel, st *setout.Station) (clear float64, known bool) {
	c := st.Choice
	if c == nil || c.Stud == nil || c.Plate == nil || c.Receptacle == nil {
		return 0, false
	}
	clear = math.Inf(1)
	if c.Receptacle.CentreHole.Nom > 0 && c.Receptacle.Mount == stock.Behind {
		d := c.Receptacle.CentreHole.Nom
		for _, h := range pan.Holes {
			if h.Station == st.ID && h.Locates && h.Drill != nil {
				d = h.Drill.Diameter
			}
		}
		clear = d - (c.Stud.Shank.Nom + c.Stud.Shank.Tol)
	}
	if w := math.Min(c.Receptacle.Slot, c.Receptacle.WireFloat); w > 0 {
		clear = math.Min(clear, w)
	}
	if math.IsInf(clear, 1) {
		return 0, false
	}
	return clear + c.Plate.Float, true
}

// dropOnOf estimates the chance that a whole panel drops over its holes. The holes must be set out. It is nil when no
// station has parts, a part does not say how far its stud may wander, or a receptacle is welded: the weld then places it, not the
// drill, and no zone is known for that.
func dropOnOf(j *job.Job, pan *setout.Panel) *setout.DropOn {
	zone, how := dropOnZone(j)
	d := &setout.DropOn{Marking: how, Zone: zone, Clear: math.Inf(1)}
	var at [][2]float64
	var zones, clear []float64
	for _, st := range pan.Stations {
		c, known := dropOnClear(pan, st)
		if !known || dropOnWelded(st) {
			return nil
		}
		at = append(at, [2]float64{st.At.X, st.At.Y})
		zones = append(zones, zone)
		clear = append(clear, c/2)
		d.Clear = math.Min(d.Clear, c)
	}
	if len(at) == 0 {
		return nil
	}
	if d.Clear >= 2*zone-holeRounding {
		d.Chance, d.Lo, d.Hi = 1, 1, 1
		d.Basis = fmt.Sprintf("fixed fastener, H ≥ F + T1 + T2 (ASME Y14.5 App. B): %.2f mm of clearance takes both zones of %.2f mm, so it always drops on: certain by arithmetic, nothing was simulated", d.Clear, zone)
		return d
	}
	r := spread.Studs{At: at, StudZone: zones, HoleZone: zones, Clear: clear}.DropOn(dropOnSamples, dropOnSeed)
	d.Chance, d.Lo, d.Hi, d.Samples = r.Chance, r.Lo, r.Hi, r.Samples
	d.Basis = fmt.Sprintf("%d simulated panels, each hole anywhere alike in its zone, the panel free to shift and turn; 95 %% interval", r.Samples)
	return d
}

// dropOnWelded says whether the station's receptacle stands where it was welded.
func dropOnWelded(st *setout.Station) bool {
	return st.Choice != nil && st.Choice.Receptacle != nil && st.Choice.Receptacle.Fixing == stock.Welded
}
