package setout

import (
	"slices"

	"panelwright/internal/job"
	"panelwright/internal/stock"
)

// CautionScope is the id of the caution that every plan carries.
const CautionScope = "scope"

// CautionHotWorkGate and CautionDrillGate are the ids of the cautions that are gates: they say what must be done, and who
// answers for it, before a panel with such things behind it is welded or drilled. The card shows them to be signed.
const (
	CautionHotWorkGate = "hot-work-gate"
	CautionDrillGate   = "drill-gate"
)

// cautionSite is what decides which cautions a panel needs.
type cautionSite struct {
	job       *job.Job
	pan       *Panel
	materials []*stock.Material
}

func (s *cautionSite) any(f func(stock.Family) bool) bool {
	return slices.ContainsFunc(s.materials, func(m *stock.Material) bool { return f(m.Family) })
}

func (s *cautionSite) behind(words ...string) bool {
	return slices.ContainsFunc(s.pan.Job.Hazards, func(h string) bool { return slices.Contains(words, h) })
}

func (s *cautionSite) choice(f func(*Choice) bool) bool { return slices.ContainsFunc(s.pan.Choices, f) }

func (s *cautionSite) welded() bool {
	return s.choice(func(c *Choice) bool { return c.Receptacle != nil && c.Receptacle.Fixing == stock.Welded }) ||
		slices.ContainsFunc(s.pan.Job.Supports, func(u *job.Support) bool { return u.Weld })
}

func (s *cautionSite) riveted() bool {
	return s.choice(func(c *Choice) bool { return c.PlateRivet != nil || c.ReceptacleRivet != nil })
}

// cautionRule is one caution with where it applies; nil is everywhere. They are printed in this order of the work.
type cautionRule struct {
	id, text string
	applies  func(*cautionSite) bool
}

func cautionFamily(want ...stock.Family) func(*cautionSite) bool {
	return func(s *cautionSite) bool { return s.any(func(f stock.Family) bool { return slices.Contains(want, f) }) }
}

func cautionBehind(words ...string) func(*cautionSite) bool {
	return func(s *cautionSite) bool { return s.behind(words...) }
}

var cautionRules = []cautionRule{
	{CautionScope, "Not for aircraft, nor for structural, occupant-restraint or fuel-containing joints. A plan is no approval: local rules and the series' regulations come first.", nil},
	{"eyes", "Wear eye protection that stands impact when drilling and when setting rivets: chips and spent stems fly.", nil},
	{"far-side", "Before every hole look at what lies behind the sheet, and fit a depth stop.", nil},
	{"glass-dust", "Glass dust harms skin, eyes and lungs: draw it off at the drill, wear a fitted fine-dust mask, gloves and closed sleeves, and never blow it about with an air line.", cautionFamily(stock.GlassFibre)},
	{"carbon-dust", "Carbon dust harms the lungs and conducts: draw it off at the drill, wear a fitted fine-dust mask, and keep it out of every electrical part.", cautionFamily(stock.CarbonFibre)},
	{"laminate-oil", "No oil on laminate: it soaks in and spoils later bonding. Seal the cut edges before assembly.", func(s *cautionSite) bool { return s.any(stock.Family.Laminate) }},
	{"sharp-edges", "Drilled and cut edges are sharp: clamp thin sheet, never hold it by hand, and deburr before handling.", nil},
	{"large-drill", "A large twist drill grabs in thin sheet: use a step drill or a punch in metal, a carbide or abrasive tool with a backing board in laminate.", nil},
	{"metal-dust", "Keep aluminium and steel dust apart, and both away from sparks.", func(s *cautionSite) bool {
		return s.any(func(f stock.Family) bool { return f == stock.Aluminium }) && s.any(func(f stock.Family) bool { return f == stock.Steel })
	}},
	{"carbon-aluminium", "Carbon against aluminium corrodes it: jointing compound or a barrier between them, and on every rivet.", func(s *cautionSite) bool {
		return s.any(func(f stock.Family) bool { return f == stock.CarbonFibre }) && s.any(func(f stock.Family) bool { return f == stock.Aluminium })
	}},
	{"bare-steel", "Prime drilled and welded steel before assembly.", cautionFamily(stock.Steel)},
	{"rivet-stems", "Catch spent rivet stems: one left behind rattles, jams a mechanism or punctures a tyre.", (*cautionSite).riveted},
	{CautionHotWorkGate, "Before any welding, grinding or other hot work here, for whichever of these lies behind: fuel line and tank drained, blown through with inert gas and taken away or shut off; airbag units made safe and taken out by people trained for it, as their maker says; high voltage made dead, locked off and measured by a trained person; battery disconnected and taken out; an extinguisher and a second person beside the work. Who is responsible for the vehicle signs that this is done. Unsigned, nobody welds.", func(s *cautionSite) bool {
		return s.welded() && s.behind("fuel line", "airbag", "high voltage", "battery")
	}},
	{CautionDrillGate, "Before any drilling here, for whichever of these lies behind: fuel lines drained; fuel and brake lines moved away or shielded with plate, and found tight; battery isolated and its terminals covered; airbag units made safe by people trained for it, as their maker says, with the waiting time kept; high voltage made dead, locked off and measured by a trained person; the depth stop set and tried on scrap. Who is responsible for the vehicle signs that this is done. Unsigned, nobody drills.",
		cautionBehind("fuel line", "brake line", "airbag", "high voltage", "battery")},
	{"fuel", "A fuel line lies behind: drain it, and move it away or shield it, before the first hole; then drill with an air drill, and keep every spark away until it is found tight. Hot work only with the line and its tank away.", cautionBehind("fuel line")},
	{"brake", "A brake line lies behind: move it or shield it before drilling. Look at its whole length afterwards, and try the brakes before the vehicle moves.", cautionBehind("brake line")},
	{"harness", "A harness lies behind: move it before drilling, and see that no edge or rivet tail chafes it.", cautionBehind("harness")},
	{"battery", "A battery lies behind: isolate it first, and cover its terminals against chips; before hot work take it out.", cautionBehind("battery")},
	{"high-voltage", "High voltage lies behind: before any work a trained person makes it dead, locks it off and measures that it is; nobody else touches orange cables.", cautionBehind("high voltage")},
	{"airbag", "An airbag or its gas generator lies behind: people trained for it make it safe or take it out first, as its maker says and with the waiting time kept. Until then no drilling, no heat and no blows there.", cautionBehind("airbag")},
	{"exhaust", "Exhaust heat softens laminate and seals: keep the distance or shield it, and look at the stations after the first hot run.", cautionBehind("exhaust")},
	{"access", "Keep the way to isolator, extinguisher and occupants open: whoever comes to help must find and open this panel.", cautionBehind("isolator", "extinguisher", "occupant")},
	{"welding", "Take the sprung wire out of a receptacle before it is welded. Zinc gives off fume: grind it away and ventilate. Disconnect the battery.", (*cautionSite).welded},
	{"cage", "Never drill or weld a roll cage or a chassis tube without its maker's word.", func(s *cautionSite) bool {
		return s.welded() || slices.ContainsFunc(s.pan.Job.Supports, func(u *job.Support) bool { return u.Mount != "" && u.Mount != stock.Behind })
	}},
	{"second-retention", "The wind can lift this panel: it opens forwards. Give it a second retention that holds by itself.", func(s *cautionSite) bool { return s.pan.Job.OpensForward }},
	{"trial-fit", "Set no rivet before the trial fit: shims and reaches are changed then, not after.", nil},
	{"recheck", "Close and check every station again after the first run, and after every change of parts.", nil},
}

// cautionList returns the cautions that the plan's panels need, in the order of the work, and gives each panel its ids.
func cautionList(p *Plan) []Caution {
	var out []Caution
	for _, pan := range p.Panels {
		pan.Cautions = nil
	}
	for _, rule := range cautionRules {
		c := Caution{ID: rule.id, Text: rule.text}
		for _, pan := range p.Panels {
			s := &cautionSite{p.Job, pan, cautionMaterials(pan.Job)}
			if rule.applies == nil || rule.applies(s) {
				c.Panels = append(c.Panels, pan.Job.Name)
				pan.Cautions = append(pan.Cautions, rule.id)
			}
		}
		if len(c.Panels) > 0 || rule.id == CautionScope {
			out = append(out, c)
		}
	}
	return out
}

// cautionMaterials lists the materials of all layers of a panel.
func cautionMaterials(pan *job.Panel) []*stock.Material {
	layers := []*job.Layer{&pan.Outer, &pan.Inner}
	for i := range pan.Between {
		layers = append(layers, &pan.Between[i])
	}
	for _, s := range pan.Supports {
		if s.Inner != nil {
			layers = append(layers, s.Inner)
		}
		for i := range s.Between {
			layers = append(layers, &s.Between[i])
		}
	}
	var out []*stock.Material
	for _, l := range layers {
		if l.Material != nil && !slices.Contains(out, l.Material) {
			out = append(out, l.Material)
		}
	}
	return out
}

// Finish gathers what the plan rests on and the cautions that belong with its work. It comes after Checks, whose assumptions
// it lists; a check that rests on an id that is none is our mistake, and panics.
func Finish(p *Plan) {
	p.Assumptions = assumeList(p)
	p.Cautions = cautionList(p)
}
