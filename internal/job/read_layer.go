package job

import (
	"fmt"
	"math"
	"slices"

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
	if gap && (name == "outer" || name == "inner") {
		m.Fault("material", RuleNoMaterial, "none; accepted: the id of a material", "a gap can only lie between")
	}
	family := stock.Seal
	if l.Material != nil {
		family = l.Material.Family
	}
	if q, ok := m.Quantity("thickness", measure.Length, rd.p); ok {
		l.Thickness = rd.thickness(q, m.Pos("thickness"), m.Path("thickness"), family, true)
	}
	l.Modulus = rd.optAbove(m, "stiffness", measure.Modulus)
	l.Area = rd.areaOf(m)
	l.Soft = l.Modulus > 0
	switch {
	case gap && m.Has("stiffness"):
		m.Fault("stiffness", RuleSealStiffness, "stiffness of a gap (material none); accepted: stiffness of a seal", "name the seal's material, or leave the stiffness out")
	case l.Material != nil && family == stock.Seal && !m.Has("stiffness"):
		rd.FaultAt(m.Node.Pos, m.Node.Path, RuleSealStiffness, l.Material.ID+", a seal in the clamp path, without its stiffness; accepted: stiffness, as 0.4 N/mm³",
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
	if ok && (p.X <= 0 || p.Y <= 0) {
		m.Fault("squeezed area", RulePositive, rd.job.point(p)+"; accepted: length and width above 0", "check the signs")
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
	m.Fault("material", RuleUnknownMaterial, fmt.Sprintf("no material %q is known; accepted: an id of the tables, of the range or of job.materials, or none", id), fault.Meant(id, known))
	return nil
}

// thickness turns a quantity into a thickness with its spread. spreadOut says that readings were taken at places spread over
// a layer, not again and again at one.
func (rd *reader) thickness(q measure.Quantity, pos fault.Pos, path string, family stock.Family, spreadOut bool) Thickness {
	t := Thickness{Nom: q.Value, Pos: pos}
	worst := q.Value
	switch q.Spread {
	case measure.Limits:
		t.Half = q.Half
		worst = q.Value - q.Half
	case measure.Readings:
		t.Readings = q.Readings
		worst = slices.Min(q.Readings)
		n := float64(len(q.Readings))
		u := q.StdUnc
		if spreadOut {
			u *= math.Sqrt(n + 1) // s/√n becomes s·√(1 + 1/n)
		}
		t.StdUnc = math.Hypot(u, readingResolution/math.Sqrt(12))
	case measure.Unstated:
		share := spreadShare(family)
		t.Half, t.Assumed = share*q.Value, true
		t.Source = fmt.Sprintf("± %.0f %% for %s, %s", 100*share, familyWord(family), sourcePractice)
	}
	switch {
	case worst <= 0:
		text := rd.job.size(q.Value)
		if q.Spread != measure.Unstated {
			text = fmt.Sprintf("%s, down to %s", text, rd.job.size(worst))
		}
		rd.FaultAt(pos, path, RulePositive, text+"; accepted: more than 0", "check the sign and the limits")
	case q.Value > 200:
		rd.FaultAt(pos, path, RuleOutOfRange, rd.job.size(q.Value)+"; accepted: at most "+rd.job.size(200), "check the unit")
	}
	return t
}

func familyWord(f stock.Family) string {
	if f == stock.Seal {
		return "seals and gaps"
	}
	return string(f)
}
