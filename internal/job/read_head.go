package job

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/source"
	"panelwright/internal/stock"
)

// unitKeys are the dimensions for which a job can declare a unit.
var unitKeys = []struct {
	key string
	dim measure.Dimension
}{
	{"length", measure.Length}, {"speed", measure.Speed}, {"acceleration", measure.Acceleration}, {"force", measure.Force},
	{"pressure", measure.Pressure}, {"mass", measure.Mass}, {"density", measure.Density},
	{"temperature", measure.Temperature}, {"torque", measure.Torque},
}

// Papers are the papers that templates and cards can be printed on.
var Papers = []string{"A4", "A3", "Letter"}

// head reads the job's own section. Units and range come first: the rest is read with them.
func (rd *reader) head(f *source.Fields) {
	j := rd.job
	rd.p = measure.Parser{Units: measure.Units{}, Named: stock.Named}
	rd.units(f)
	rd.rangeOf(f)
	rd.ownMaterials(f)
	j.Name = rd.text(f, "name")
	j.Sample = f.OptBool("sample", false)
	if j.Date = rd.optText(f, "date", ""); j.Date != "" && !calendar(j.Date) {
		f.Fault("date", RuleDate, source.Quote(j.Date)+"; accepted: a day as 2031-05-17", "write year, month and day with figures")
	}
	j.Paper = f.OptEnum("paper", "A4", Papers...)
	rd.record(f)
	rd.drills(f)
	j.Notes = rd.notes(f, "notes")
	f.Done()
}

// record reads the web address of a panel's record, which labels carry as a code: short, and of letters that any telephone
// hands on unchanged.
func (rd *reader) record(f *source.Fields) {
	const key = "record address"
	s := rd.optText(f, key, "")
	if s == "" {
		return
	}
	const accepted = "; accepted: a web address as http://bench.local/p/{panel}, with {panel} for the panel's id and {piece} for which of several"
	plain := strings.NewReplacer("{panel}", "", "{piece}", "").Replace(s)
	_, rest, _ := strings.Cut(plain, "://")
	odd := func(r rune) bool { return r <= ' ' || r > '~' || strings.ContainsRune("{}<>\"\\^`|", r) }
	switch {
	case !strings.HasPrefix(plain, "http://") && !strings.HasPrefix(plain, "https://") || rest == "" || rest[0] == '/':
		f.Fault(key, RuleRecordAddress, source.Quote(s)+accepted, "begin it with http:// or https:// and the name of the machine")
	case strings.ContainsFunc(plain, odd):
		f.Fault(key, RuleRecordAddress, source.Quote(s)+accepted, "write other letters as %, for example %20 for a space")
	case len(s) > mostAddress:
		f.Fault(key, RuleRecordAddress, fmt.Sprintf("%d characters; accepted: at most %d, for a code that can be read from a label", len(s), mostAddress), "shorten it")
	default:
		rd.job.Record = s
	}
}

// calendar says whether s is a day of the calendar, as 2031-05-17 (ISO 8601): the files of the pack carry it.
func calendar(s string) bool {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' || strings.Trim(s[:4]+s[5:7]+s[8:], "0123456789") != "" {
		return false
	}
	number := func(s string) (n int) {
		for _, c := range s {
			n = 10*n + int(c-'0')
		}
		return n
	}
	y, m, d := number(s[:4]), number(s[5:7]), number(s[8:])
	if y < 1 || m < 1 || m > 12 {
		return false
	}
	last := [...]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}[m-1]
	if m == 2 && y%4 == 0 && (y%100 != 0 || y%400 == 0) {
		last = 29
	}
	return d >= 1 && d <= last
}

// units reads units: mm, units: inch, or a unit for each dimension.
func (rd *reader) units(f *source.Fields) {
	n := f.Get("units")
	if n == nil {
		return
	}
	if n.Kind != source.Map {
		name := f.OptStr("units", "")
		rd.declare(f, "units", measure.Length, name)
		return
	}
	u, _ := f.OptChild("units")
	for _, k := range unitKeys {
		if u.Has(k.key) {
			rd.declare(u, k.key, k.dim, u.OptStr(k.key, ""))
		}
	}
	u.Done()
}

func (rd *reader) declare(f *source.Fields, key string, dim measure.Dimension, name string) {
	if !f.Good(key) {
		return
	}
	if !measure.KnownUnit(dim, name) {
		f.Fault(key, measure.RuleUnknownUnit, fmt.Sprintf("%s, which is no unit of %s; accepted: %s", source.Quote(name), dim, strings.Join(measure.Accepted(dim), ", ")), "")
		return
	}
	rd.p.Units[dim] = name
	if dim == measure.Length {
		v, _ := measure.InUnit(304.8, measure.Length, name)
		rd.job.Inch = math.Abs(v-12) < 1e-9 || math.Abs(v-1) < 1e-9 // inch or foot
	}
}

// rangeOf opens the range, and gathers the materials that it and the tables know.
func (rd *reader) rangeOf(f *source.Fields) {
	j := rd.job
	j.RangeName = f.OptStr("range", "sample")
	j.Materials = map[string]*stock.Material{}
	for _, m := range stock.Materials() {
		j.Materials[m.ID] = &m
	}
	switch {
	case j.RangeName == "sample":
		j.Range = stock.SampleRange()
	case !f.Good("range"):
	case !beside(j.RangeName):
		f.Fault("range", RuleRangeFile, fmt.Sprintf("the range %s; accepted: a file beside the job or in a folder below it, folders divided by /, or sample", source.Quote(j.RangeName)),
			"copy the range file beside the job")
	case rd.open == nil:
		f.Fault("range", RuleRangeFile, fmt.Sprintf("the range %s, and no files can be opened here; accepted: sample", source.Quote(j.RangeName)), "use the embedded range: range: sample")
	default:
		text, err := rd.open(path.Clean(j.RangeName))
		if err != nil {
			f.Fault("range", RuleRangeFile, fmt.Sprintf("the range %s cannot be opened: %s", source.Quote(j.RangeName), source.Cut(innermost(err).Error())), "give the name of a range file beside the job, or sample")
			break
		}
		var faults fault.List
		j.Range, faults = stock.ReadRange(j.RangeName, text)
		rd.Faults = append(rd.Faults, faults...)
	}
	if j.Range == nil {
		return
	}
	for i := range j.Range.Materials {
		m := &j.Range.Materials[i]
		j.Materials[m.ID] = m
	}
}

// beside says whether name is of a file in the job's own folder or below it. Anything else is not opened: a job from
// elsewhere must not choose what is read.
func beside(name string) bool {
	return fs.ValidPath(path.Clean(name)) && !strings.ContainsAny(name, `\:`) && !slices.Contains(strings.Split(name, "/"), "..")
}

// innermost is the cause of an error: the path of the file on this machine, which wraps it, is nobody else's business.
func innermost(err error) error {
	for {
		inner := errors.Unwrap(err)
		if inner == nil {
			return err
		}
		err = inner
	}
}

// drills reads the shop's drills, or "any size".
func (rd *reader) drills(f *source.Fields) {
	j := rd.job
	n := f.Get("drills")
	if n == nil {
		f.List("drills") // reports that it is missing
		return
	}
	if n.Kind == source.Scalar && n.Text == "any size" {
		j.AnySize, j.Drills = true, slices.Clone(stock.Drills())
		sortDrills(j.Drills)
		return
	}
	items := f.List("drills")
	if !rd.few(f, "drills", len(items), mostDrills) {
		return
	}
	var written []string // as Drills
	for _, item := range items {
		q, ok := rd.Quantity(item, measure.Length, rd.p)
		if !ok {
			continue
		}
		if q.Spread != measure.Unstated {
			rd.Fault(item, "no-spread", fmt.Sprintf("%s with a spread; accepted: one size", source.Quote(q.Text)), "write the drill's size alone")
			continue
		}
		if rule, text, hint := rd.outside(boundOf(boundDrill), q.Value); rule != "" {
			rd.Fault(item, rule, text, hint)
			continue
		}
		d := shopDrill(q)
		if i := slices.IndexFunc(j.Drills, func(e stock.Drill) bool { return e.Diameter == d.Diameter }); i >= 0 {
			rd.Fault(item, RuleDrillRepeated, fmt.Sprintf("%s, the same size as %s, listed before", source.Cut(item.Text), source.Cut(written[i])), "delete one")
			continue
		}
		j.Drills, written = append(j.Drills, d), append(written, item.Text)
	}
	sortDrills(j.Drills)
}

func sortDrills(d []stock.Drill) {
	slices.SortStableFunc(d, func(a, b stock.Drill) int {
		switch {
		case a.Diameter < b.Diameter:
			return -1
		case a.Diameter > b.Diameter:
			return 1
		}
		return strings.Compare(a.Series+a.Name, b.Series+b.Name)
	})
}

// drillSame is far below the steps of any series, mm.
const drillSame = 1e-6

// shopDrill is the drill of the tables that the text names, or else one of the user's own of that size.
func shopDrill(q measure.Quantity) stock.Drill {
	if d, ok := stock.DrillNamed(q.Text); ok && math.Abs(d.Diameter-q.Value) < drillSame {
		return d
	}
	d := stock.Drill{Series: "metric", Name: strings.Join(strings.Fields(q.Text), " "), Diameter: q.Value, Origin: stock.Origin{Source: "the job", Status: "user"}}
	if strings.ContainsAny(q.Text, `/"`) || strings.Contains(q.Text, "in") {
		d.Series = "fractional"
	}
	if v := strings.TrimLeft(d.Name, "0123456789./- "); v == "" || strings.ContainsFunc(d.Name, func(r rune) bool { return !source.Printable(r) }) {
		// a bare number, or one with an odd dash: show it with its unit
		d.Name = measure.MM(q.Value)
	}
	// The name of the tables' drill of the same size serves the bench better than our spelling of it.
	for _, t := range stock.Drills() {
		if math.Abs(t.Diameter-q.Value) < drillSame && t.Series == d.Series {
			return t
		}
	}
	return d
}

var families = []string{string(stock.Aluminium), string(stock.Steel), string(stock.Stainless), string(stock.Titanium),
	string(stock.GlassFibre), string(stock.CarbonFibre), string(stock.Plastic), string(stock.Wood), string(stock.Seal)}

// ownMaterials reads the job's own materials; one with the id of a known material takes its place in this job.
func (rd *reader) ownMaterials(f *source.Fields) {
	seen := map[string]bool{}
	items := f.OptMaps("materials")
	if !rd.few(f, "materials", len(items), mostDrills) {
		items = nil
	}
	for _, m := range items {
		own := &stock.Material{ID: rd.text(m, "id"), Family: stock.Family(m.Enum("family", families...))}
		own.Name = rd.optText(m, "name", own.ID)
		own.Form = rd.optText(m, "form", "")
		own.E = rd.optSized(m, "elastic modulus", boundElastic, 0)
		own.Nu = rd.optSized(m, "poisson ratio", boundPoisson, 0)
		own.Rho = rd.optSized(m, "density", boundDensity, 0)
		own.CTE = rd.optSized(m, "expansion", boundExpansion, 0)
		own.Yield = rd.optSized(m, "yield", boundStrength, 0)
		own.Ultimate = rd.optSized(m, "ultimate", boundStrength, 0)
		own.ShearUltimate = rd.optSized(m, "shear", boundStrength, 0)
		own.BearingUltimate = rd.optSized(m, "bearing 2.0", boundStrength, 0)
		own.BearingUltimate1 = rd.optSized(m, "bearing 1.5", boundStrength, 0)
		own.Galvanic = rd.optSized(m, "anodic index", boundAnodic, -1)
		stock.OtherSpellings(m)
		own.Note = rd.optText(m, "note", "")
		own.Origin = stock.Origin{Source: rd.optText(m, "source", "the job"), Status: "user"}
		own.GalvanicOrigin = own.Origin
		m.Done()
		if own.ID == "" {
			continue
		}
		if own.ID == "none" || seen[own.ID] {
			m.Fault("id", RuleDuplicateName, fmt.Sprintf("a second material %s", source.Quote(own.ID)), "give it another id")
			continue
		}
		seen[own.ID] = true
		rd.job.Materials[own.ID] = own
	}
}
