package job

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/source"
	"panelwright/internal/stock"
)

// layersBetween reads the list between; nil when the key is missing, empty but not nil for an empty list.
func (rd *reader) layersBetween(f *source.Fields) []Layer {
	if !f.Has("between") {
		return nil
	}
	out := []Layer{}
	items := f.OptMaps("between")
	if !rd.few(f, "between", len(items), mostLayers) {
		return out
	}
	for i, m := range items {
		out = append(out, rd.layer(m, fmt.Sprintf("between %d", i+1)))
	}
	return out
}

// layer reads one layer and closes its group. Only a layer between may be a gap.
func (rd *reader) layer(m *source.Fields, name string) Layer {
	l := Layer{Pos: m.Node.Pos}
	l.Name = rd.optText(m, "name", name)
	l.Material = rd.material(m)
	gap := m.Good("material") && l.Material == nil
	sheet := name == "outer" || name == "inner"
	switch {
	case gap && sheet:
		m.Fault("material", RuleNoMaterial, "none; accepted: the id of a material", "a gap can only lie between")
	case sheet && l.Material != nil && l.Material.Family == stock.Seal:
		m.Fault("material", RuleNoMaterial, source.Cut(l.Material.ID)+", a seal; accepted: the id of a sheet's material", "a seal can only lie between")
	}
	family := stock.Seal
	if l.Material != nil {
		family = l.Material.Family
	}
	if q, ok := m.Quantity("thickness", measure.Length, rd.p); ok {
		bound := boundBetween
		if sheet {
			bound = boundSheet
		}
		l.Thickness = rd.thickness(q, m.Pos("thickness"), m.Path("thickness"), family, bound)
	}
	l.Modulus = rd.optSized(m, "stiffness", boundStiffness, 0)
	l.Area = rd.areaOf(m)
	l.Soft = l.Modulus > 0
	switch {
	case sheet && m.Has("stiffness"):
		m.Fault("stiffness", RuleSealStiffness, "stiffness of the "+name+" panel; accepted: stiffness of a layer between", "leave it out: a sheet is taken as hard")
	case sheet: // said above
	case m.Has("squeezed area") && !m.Has("stiffness"):
		m.Fault("squeezed area", RuleSealStiffness, "the squeezed area of a layer without stiffness; accepted: both, or neither", "give the stiffness, as 0.4 N/mm³, or leave the area out")
	case gap && m.Has("stiffness"):
		m.Fault("stiffness", RuleSealStiffness, "stiffness of a gap (material none); accepted: stiffness of a seal", "name the seal's material, or leave the stiffness out")
	case l.Material != nil && family == stock.Seal && !m.Has("stiffness"):
		rd.FaultAt(m.Node.Pos, m.Node.Path, RuleSealStiffness, source.Cut(l.Material.ID)+", a seal in the clamp path, without its stiffness; accepted: stiffness, as 0.4 N/mm³",
			"press a piece of known area and divide pressure by squeeze")
	}
	m.Done()
	return l
}

// areaOf reads squeezed area: [length, width] of what a station squeezes.
func (rd *reader) areaOf(m *source.Fields) float64 {
	if !m.Has("squeezed area") {
		return 0
	}
	p, ok := rd.placeAt(m, "squeezed area")
	if !ok || !rd.each(m, "squeezed area", boundSqueezed, p, "") {
		return 0
	}
	return p.X * p.Y
}

// material reads the id of a material; nil for none (a gap), and for what is unknown, which is a fault.
func (rd *reader) material(m *source.Fields) *stock.Material {
	id := m.Str("material")
	if id == "" || id == "none" {
		return nil
	}
	if mat, ok := rd.job.Materials[id]; ok {
		return mat
	}
	known := []string{"none"}
	for k := range rd.job.Materials {
		known = append(known, k)
	}
	slices.Sort(known)
	m.Fault("material", RuleUnknownMaterial, fmt.Sprintf("no material %s is known; accepted: an id of the tables, of the range or of job.materials, or none", source.Quote(id)), rd.materialMeant(id, known))
	return nil
}

// materialMeant is the hint for an unknown material: a like id, else the ids whose family or name has the word.
func (rd *reader) materialMeant(id string, known []string) string {
	if _, ok := fault.Nearest(id, known); ok {
		return source.Meant(id, known)
	}
	var like []string
	for _, k := range known {
		if m := rd.job.Materials[k]; m != nil && (string(m.Family) == strings.ToLower(id) || strings.Contains(strings.ToLower(m.Name), strings.ToLower(id))) {
			like = append(like, k)
		}
	}
	if len(like) == 0 {
		like = known
	}
	return source.Meant(id, like)
}

// thickness turns a quantity into a thickness with its spread. A measured stack's readings were taken again and again at one
// place, a layer's at places spread over it.
func (rd *reader) thickness(q measure.Quantity, pos fault.Pos, path string, family stock.Family, bound string) Thickness {
	t := Thickness{Nom: q.Value, Pos: pos}
	half := q.Half
	switch q.Spread {
	case measure.Limits:
		t.Half = q.Half
	case measure.Readings:
		t.Readings = q.Readings
		half = (slices.Max(q.Readings) - slices.Min(q.Readings)) / 2
		n := float64(len(q.Readings))
		u := q.StdUnc
		if bound != boundStack {
			u *= math.Sqrt(n + 1) // s/√n becomes s·√(1 + 1/n)
		}
		t.StdUnc = math.Hypot(u, readingResolution/math.Sqrt(12))
	case measure.Unstated:
		share := spreadShare(family)
		t.Half, t.Assumed = share*q.Value, true
		t.Source = fmt.Sprintf("± %.0f %% for %s, %s", 100*share, familyWord(family), sourcePractice)
	}
	rule, text, hint := rd.outside(boundOf(bound), q.Value)
	if rule == "" && !(half < spreadMost*q.Value) {
		rule, text, hint = RuleSpread, fmt.Sprintf("%s ± %s; accepted: a spread of less than half the thickness, %s", rd.show(q.Value, measure.Length), rd.show(half, measure.Length), rd.show(q.Value/2, measure.Length)),
			"check the decimals, or measure again"
	}
	if rule != "" {
		rd.FaultAt(pos, path, rule, text, hint)
	}
	return t
}

func familyWord(f stock.Family) string {
	if f == stock.Seal {
		return "seals and gaps"
	}
	return string(f)
}
