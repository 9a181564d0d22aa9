package detail

import (
	"fmt"
	"math"

	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// The pilot: 3 mm, or the nearest of the shop's own between these (common practice, no source).
const (
	pilotWanted = 3.0
	pilotMin    = 2.0
	pilotMax    = 3.3
)

// holeRounding is how far a diameter may pass a limit and still count as on it: conversions from inches round.
const holeRounding = 1e-9

// A large twist drill grabs in thin sheet: above this diameter, in a sheet thinner than half the drill (common practice, no
// source).
const (
	holeGrabDiameter = 6.0
	holeGrabShare    = 0.5
	holeAbrasiveFrom = 10.0 // mm: in laminate, a grit-edged cutter from here on
)

func holeSoft(l jointLayer) bool {
	return l.Soft || l.Material != nil && l.Material.Family == stock.Seal
}

// holeWork chooses drill, pilot, tool and speed for a row whose limits are set.
func holeWork(h *setout.Hole, in jointLayer, owned []stock.Drill) {
	if holeSoft(in) {
		h.Cut = true
		h.Tool, h.Note = "hole punch", "soft layer: cut oversize, so that it cannot creep into the hole"
		return
	}
	h.Drill, h.NoDrill = holeDrill(owned, h.Wanted, h.WantedMax)
	d := holeDrilled(h)
	h.Pilot = holePilot(owned, d)
	if h.Pilot == nil && d > pilotMax {
		h.Note = holeJoin(h.Note, fmt.Sprintf("no pilot drill of %.1f to %.1f mm in the set", pilotMin, pilotMax))
	}
	family := stock.Family("")
	if in.Material != nil {
		family = in.Material.Family
	}
	var note string
	h.Tool, note = holeTool(family, d, in.Thickness.Nom)
	h.Note = holeJoin(h.Note, note)
	h.RPM, h.RPMBasis = holeSpeed(family, h.Tool, d, false)
}

// holeDrill returns the smallest of the shop's drills within the limits, or why there is none and what to buy.
func holeDrill(owned []stock.Drill, lo, hi float64) (*stock.Drill, string) {
	var best, under, over *stock.Drill
	for i := range owned {
		d := &owned[i]
		switch {
		case d.Diameter < lo-holeRounding:
			if under == nil || d.Diameter > under.Diameter {
				under = d
			}
		case d.Diameter > hi+holeRounding:
			if over == nil || d.Diameter < over.Diameter {
				over = d
			}
		case best == nil || d.Diameter < best.Diameter:
			best = d
		}
	}
	if best != nil {
		return best, ""
	}
	why := fmt.Sprintf("none of yours fits: needs %s to %s; %s", measure.Fixed(lo, 2), measure.MM(hi), holeToBuy(lo, hi))
	if under != nil {
		why += fmt.Sprintf("; %s, %s mm, is too small", under.Name, measure.Fixed(under.Diameter, 3))
	}
	if over != nil {
		why += fmt.Sprintf("; %s, %s mm, is too large", over.Name, measure.Fixed(over.Diameter, 3))
	}
	return nil, why
}

// holeToBuy names the drills on sale within the limits: of each series the smallest, metric first.
func holeToBuy(lo, hi float64) string {
	first := map[string]*stock.Drill{}
	all := stock.Drills()
	for i := range all {
		d := &all[i]
		if d.Diameter < lo-holeRounding || d.Diameter > hi+holeRounding {
			continue
		}
		if f := first[d.Series]; f == nil || d.Diameter < f.Diameter {
			first[d.Series] = d
		}
	}
	said := ""
	for _, series := range []string{"metric", "fractional", "number", "letter"} {
		if d := first[series]; d != nil {
			if said != "" {
				said += " or "
			}
			said += d.Name
		}
	}
	if said == "" {
		return fmt.Sprintf("no drill on sale lies in these limits: use a punch, a hole saw or a reamer of %s", measure.MM(lo))
	}
	return "buy " + said
}

// holePilot returns the shop's drill nearest to 3 mm that is smaller than the hole; nil when there is none, or the hole is
// itself no larger than a pilot.
func holePilot(owned []stock.Drill, final float64) *stock.Drill {
	var best *stock.Drill
	for i := range owned {
		d := &owned[i]
		if d.Diameter < pilotMin-holeRounding || d.Diameter > pilotMax+holeRounding || d.Diameter >= final-holeRounding {
			continue
		}
		if best == nil || math.Abs(d.Diameter-pilotWanted) < math.Abs(best.Diameter-pilotWanted) {
			best = d
		}
	}
	return best
}

// holeTool says what cuts a hole of diameter d in a sheet of thickness t, and what to mind.
func holeTool(f stock.Family, d, t float64) (tool, note string) {
	switch {
	case f.Laminate() && d >= holeAbrasiveFrom:
		return "abrasive hole cutter with backing board", "no oil; collect the dust at the tool"
	case f.Laminate():
		return "carbide drill with backing board", "no oil; collect the dust at the tool"
	case f == stock.Plastic:
		return "twist drill with backing board", "blunt the drill's edge, let it cool; no oil"
	case f == stock.Wood:
		return "brad-point drill with backing board", ""
	case d > holeGrabDiameter && t < holeGrabShare*d:
		return "step drill or sheet punch", "a twist drill of this size grabs in thin sheet; a drop of light oil"
	}
	return "twist drill", "a drop of light oil"
}

// holeSink puts a countersink on a row, with its own slower speed.
func holeSink(h *setout.Hole, in jointLayer, k *setout.Countersink) {
	k.Knife = k.Depth >= in.Thickness.Nom
	family := stock.Family("")
	if in.Material != nil {
		family = in.Material.Family
	}
	k.RPM, _ = holeSpeed(family, h.Tool, k.Diameter, true)
	h.Countersink = k
	note := "countersink slowly"
	if family.Metal() {
		note += ", oiled alike"
	}
	h.Note = holeJoin(h.Note, note)
}

// holeJoin joins two remarks, either of which may be empty.
func holeJoin(a, b string) string {
	switch {
	case a == "":
		return b
	case b == "":
		return a
	}
	return a + "; " + b
}
