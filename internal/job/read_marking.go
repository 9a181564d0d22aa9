package job

import (
	"fmt"

	"panelwright/internal/fault"
	"panelwright/internal/source"
	"panelwright/internal/stock"
)

// MarkingOut says how cutting drawings and jigs are made.
type MarkingOut struct {
	Holes        string // of cutting drawings: "final", "pilot"
	HolesAssumed bool
	JigLeast     int     // stations that a jig must serve to be made
	JigPlate     Setting // mm thick
	JigWall      Setting // mm, least material between holes, and to the edge
	JigClearance Setting // mm by which holes are made larger than what goes in, and pins smaller than where they go, in diameter
	JigFence     Setting // mm that the fence reaches below the plate
	Bushes       []stock.Bush
	OwnBushes    bool // Bushes are the shop's own, not the table
	Pos          fault.Pos
}

// mostBushes bounds the shop's own list.
const mostBushes = 100

// markingOut reads marking out; blank fields give all defaults.
func (rd *reader) markingOut(f *source.Fields) {
	m := &rd.job.MarkingOut
	m.Pos = f.Node.Pos
	m.Holes = f.OptEnum("holes", "final", "final", "pilot")
	m.HolesAssumed = !f.Good("holes")
	j, _ := f.OptChild("jig")
	m.JigPlate = rd.setting(j, "plate", keyJigPlate)
	m.JigWall = rd.setting(j, "wall", keyJigWall)
	m.JigClearance = rd.setting(j, "clearance", keyJigClearance)
	m.JigFence = rd.setting(j, "fence", keyJigFence)
	m.JigLeast = j.OptInt("least stations", 2, 1, 1000)
	m.Bushes = stock.Bushes()
	if own := j.OptMaps("bushes"); j.Good("bushes") && rd.few(j, "bushes", len(own), mostBushes) {
		m.Bushes, m.OwnBushes = nil, true
		for _, b := range own {
			if bush, ok := rd.bush(b); ok {
				m.Bushes = append(m.Bushes, bush)
			}
		}
	}
	j.Done()
	f.Done()
}

// bush reads one bush of the shop's own: bore, outside, length.
func (rd *reader) bush(f *source.Fields) (stock.Bush, bool) {
	before := len(rd.Faults)
	b := stock.Bush{Name: rd.optText(f, "name", ""), Outside: rd.sized(f, "outside", boundBush), Length: rd.sized(f, "length", boundBush)}
	bore := rd.sized(f, "bore", boundBush)
	b.Over, b.To = bore, bore
	b.Origin = stock.Origin{Source: sourceJob}
	if len(rd.Faults) == before && !(b.Outside > bore) {
		f.Fault("outside", RulePositive, fmt.Sprintf("a bush %s outside with a bore of %s; accepted: more than its bore", rd.job.size(b.Outside), rd.job.size(bore)), "")
	}
	f.Done()
	return b, len(rd.Faults) == before
}
