package detail

import (
	"fmt"
	"math"

	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// Differences of anodic index that bare metals may have, V (MIL-STD-1250A lineage; limits seen in two public tables).
const (
	galvanicNormal = 0.25
	galvanicHarsh  = 0.15
)

func checkMaterials(s *checkSite) []setout.Check {
	return []setout.Check{checkGalvanic(s), checkThermal(s)}
}

// checkCouple is one pair of neighbours.
type checkCouple struct {
	a, b   string
	volts  float64
	carbon bool
}

// checkConducts says whether a material takes part in a galvanic couple: metals and carbon.
func checkConducts(m *stock.Material) bool {
	return m != nil && (m.Family.Metal() || m.Family == stock.CarbonFibre)
}

// checkNeighbours lists what touches what at a station, outside to inside; nil where a gap, a seal or glass lies between.
func checkNeighbours(s *checkSite) [][2]*checkBody {
	body := func(name, id string) *checkBody {
		m := s.job.Materials[id]
		return &checkBody{name: name, id: id, m: m}
	}
	var chain []*checkBody
	add := func(b *checkBody) { chain = append(chain, b) }
	layers := []*checkBody{}
	for _, l := range append(append([]jointLayer{s.outer}, s.between...), s.inner) {
		b := &checkBody{name: l.jointName(), m: l.Material}
		if l.Material != nil {
			b.id = l.Material.ID
		}
		layers = append(layers, b)
	}
	plate, rec := body("plate", s.c.Plate.Material), body("receptacle", s.c.Receptacle.Material)
	if s.c.Plate.Face == stock.PlateBehind {
		add(layers[0])
		add(plate)
		layers = layers[1:]
	} else {
		add(plate)
	}
	last := len(layers) - 1
	chain = append(chain, layers[:last]...)
	if s.c.Receptacle.Mount == stock.Behind {
		add(layers[last])
		add(rec)
	} else {
		add(rec)
		add(layers[last])
	}
	var out [][2]*checkBody
	for i := 1; i < len(chain); i++ {
		out = append(out, [2]*checkBody{chain[i-1], chain[i]})
	}
	for _, jt := range s.joins {
		rivet := body("rivet of the "+jt.Part, jt.Rivet.Material)
		sheet, part := layersBody(chain, s.outer.jointName()), plate
		if jt.Part == "receptacle" {
			sheet, part = layersBody(chain, s.inner.jointName()), rec
		}
		out = append(out, [2]*checkBody{rivet, sheet}, [2]*checkBody{rivet, part})
	}
	return out
}

type checkBody struct {
	name, id string
	m        *stock.Material
}

func layersBody(chain []*checkBody, name string) *checkBody {
	for _, b := range chain {
		if b.name == name {
			return b
		}
	}
	return &checkBody{name: name}
}

// checkGalvanic looks at the worst couple of neighbours. A couple beyond the limit does not hold bare; it holds with an
// insulating layer, which is a step of the card: the verdict says so by name.
func checkGalvanic(s *checkSite) setout.Check {
	const id, name = "galvanic", "galvanic couples"
	var worst *checkCouple
	missing := ""
	for _, pair := range checkNeighbours(s) {
		a, b := pair[0], pair[1]
		for _, x := range pair {
			if x.m == nil && x.id != "" && missing == "" {
				missing = fmt.Sprintf("the material %s of the %s", x.id, x.name)
			}
		}
		if !checkConducts(a.m) || !checkConducts(b.m) {
			continue
		}
		for _, x := range pair {
			if x.m.Galvanic < 0 && missing == "" {
				missing = fmt.Sprintf("the anodic index of %s", x.m.ID)
			}
		}
		if a.m.Galvanic < 0 || b.m.Galvanic < 0 {
			continue
		}
		v := math.Abs(a.m.Galvanic - b.m.Galvanic)
		if worst == nil || v > worst.volts {
			worst = &checkCouple{a.name, b.name, v, a.m.Family == stock.CarbonFibre || b.m.Family == stock.CarbonFibre}
		}
	}
	if worst == nil {
		k := checkYes(id, name, true, "no two metals, nor metal and carbon, touch", setout.RestsGalvanicIndex)
		if missing != "" {
			return k.Missing(missing)
		}
		return k
	}
	k := checkAtMost(id, name, worst.volts, galvanicNormal, "V", fmt.Sprintf("%s on %s, difference of the anodic index; %.2f V normal, %.2f V in salt and wet", worst.a, worst.b, galvanicNormal, galvanicHarsh), setout.RestsGalvanicIndex)
	if k.Verdict == setout.DoesNotHold {
		how := "jointing compound and paint between them"
		if worst.carbon {
			how = "a glass ply or jointing compound between them, and rivets set wet in compound"
		}
		k.Verdict, k.NoNumber = setout.Holds, true
		k.Basis = fmt.Sprintf("bare it does not hold: %s on %s, %.2f V, limit %.2f V; it holds only with %s, a step of the card", worst.a, worst.b, worst.volts, galvanicNormal, how)
		k.Cure = how
	}
	if missing != "" {
		return k.Missing(missing)
	}
	return k
}

// checkThermal is the growth of the panel against that of its frame, from the panel's centroid to the station, over the
// greatest change of temperature since fitting; the stud has its radial clearance to give.
func checkThermal(s *checkSite) setout.Check {
	const id, name = "thermal-growth", "thermal growth against the hole's clearance"
	cond := &s.job.Conditions
	change := math.Max(math.Abs(cond.TempMax.Value-cond.TempFit.Value), math.Abs(cond.TempMin.Value-cond.TempFit.Value))
	k := checkAtMost(id, name, math.NaN(), math.NaN(), "mm", fmt.Sprintf("difference of expansion × distance from the panel's middle × %.0f K; limit: radial clearance of stud and hole", change), setout.RestsTemperature, setout.RestsThermalGrowth)
	outer, inner := s.outer.Material, s.inner.Material
	switch {
	case outer == nil || outer.CTE == 0:
		return k.Missing("the thermal expansion of the outer panel's material")
	case inner == nil || inner.CTE == 0:
		return k.Missing("the thermal expansion of the inner panel's material")
	}
	clear, known := dropOnClear(s.pan, s.st)
	if !known {
		return k.Missing("the play of the stud in the receptacle")
	}
	mid, ok := s.pan.Job.Outline.Centroid()
	if !ok {
		return k.Missing("an outline that encloses an area")
	}
	growth := thermalGrowth(outer.CTE-inner.CTE, mid.Dist(s.st.At), change)
	k = checkAtMost(id, name, growth, clear/2, "mm", k.Basis, k.Rests...)
	return k.CuredBy("%s", thermalCure(s, growth, clear, mid.Dist(s.st.At)))
}

// thermalCure says what can be entered to cure too little play: a drill, a limit of the job, a part, the temperature at
// fitting, or a shorter panel; far is the station's distance from the panel's middle.
func thermalCure(s *checkSite, growth, clear, far float64) string {
	rc, stud, cond := s.c.Receptacle, s.c.Stud, &s.job.Conditions
	last := fmt.Sprintf("or no station farther than %.0f mm from the panel's middle (a shorter panel, or two), or `at fitting` nearer the middle of the temperatures", far*clear/2/growth)
	hole := stud.Shank.Nom + stud.Shank.Tol + 2*growth - s.c.Plate.Float
	_, hi := holeLocating(rc, stud, cond)
	_, own := holeFit(rc.CentreHole, cond.HoleFit.Value)
	wire := math.Min(rc.Slot, rc.WireFloat)
	switch {
	case rc.Mount != stock.Behind || rc.CentreHole.Nom <= 0 || wire > 0 && wire+s.c.Plate.Float < 2*growth:
		return fmt.Sprintf("%s lets its wire and slot wander %.2f mm, %.2f mm are needed: another receptacle; %s", rc.ID, wire, 2*growth-s.c.Plate.Float, last)
	case hole <= hi:
		return fmt.Sprintf("a drill of %.2f to %.2f mm in the job's `drills` for the locating hole, in place of the smaller ones from %.2f mm; %s", hole, hi, rc.CentreHole.Nom, last)
	case hole <= own:
		return fmt.Sprintf("`locating excess` of %.2f mm in the job's conditions, and a drill of %.2f mm in its list; %s", hole-stud.Shank.Nom, hole, last)
	case rc.CentreHole.Tol <= 0:
		return fmt.Sprintf("`hole fit` of %.2f mm and `locating excess` of %.2f mm in the job's conditions, and a drill of %.2f mm in its list; %s", hole-rc.CentreHole.Nom, hole-stud.Shank.Nom, hole, last)
	}
	return fmt.Sprintf("the locating hole would be %.2f mm, %s allows %.2f mm: another receptacle; %s", hole, rc.ID, own, last)
}

// thermalGrowth is |Δα|·L·ΔT, mm.
func thermalGrowth(deltaCTE, length, change float64) float64 {
	return math.Abs(deltaCTE) * length * change
}
