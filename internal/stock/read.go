package stock

import (
	"embed"
	"fmt"
	"math"
	"strings"
	"sync"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/source"
)

//go:embed sample/range.yaml
var sampleFiles embed.FS

// SampleFile is the name under which messages speak of the embedded range.
const SampleFile = "sample range"

var sample = sync.OnceValue(func() *Range {
	r, faults := ReadRange(SampleFile, SampleText())
	if len(faults) > 0 {
		panic("stock: the embedded range has faults:\n" + faults.Error())
	}
	return r
})

// SampleText is the embedded range as a file, to start one's own from. The caller owns the bytes.
func SampleText() []byte {
	text, err := sampleFiles.ReadFile("sample/range.yaml")
	if err != nil {
		panic("stock: " + err.Error())
	}
	return text
}

// SampleRange is the embedded range. It is shared: callers may not change it.
func SampleRange() *Range { return sample() }

// ReadRange reads a range file; docs/formats-range.md says how it is written. All faults are found at once, each at its place.
// With faults the range is nil. file is only the name that the faults carry.
func ReadRange(file string, text []byte) (*Range, fault.List) {
	root, faults := source.Parse(file, text)
	if root == nil {
		return nil, faults
	}
	rr := &rangeReader{r: source.Reader{Faults: faults}, out: &Range{}, file: file, ids: map[string]rangeRow{}, series: map[string][]string{}}
	f := rr.r.Map(root)
	rr.head(f.Child("range"))
	for _, m := range f.OptMaps("materials") {
		rr.material(rr.row(m))
	}
	for _, m := range f.OptMaps("shims") {
		rr.shim(rr.row(m))
	}
	for _, m := range f.OptMaps("rivets") {
		rr.rivet(rr.row(m))
	}
	for _, m := range f.Maps("plates") {
		rr.plate(rr.row(m))
	}
	for _, m := range f.Maps("receptacles") {
		rr.receptacle(rr.row(m))
	}
	for _, m := range f.Maps("studs") {
		rr.stud(rr.row(m))
	}
	for _, m := range f.OptMaps("bands") {
		rr.band(rr.row(m))
	}
	for _, key := range []string{"plates", "receptacles", "studs"} {
		if n := f.Get(key); n != nil && n.Kind == source.List && len(n.Items) == 0 {
			f.Fault(key, "empty-list", "an empty list; accepted: one part or more", "")
		}
	}
	f.Done()
	rr.cross()
	if sorted := rr.r.Sorted(); len(sorted) > 0 {
		return nil, sorted
	}
	return rr.out, nil
}

// rangeReader gathers a range and its faults. rows keep where each part was written, for the rules that need all of them.
type rangeReader struct {
	r      source.Reader
	p      measure.Parser
	out    *Range
	file   string
	names  rangeNames
	known  *nameSet // materials
	hints  int      // unknown names so far
	ids    map[string]rangeRow
	series map[string][]string // ids that a series of rivets made, by its own id
	plates, receptacles, studs, rivets, shims,
	bands []rangeRow
}

// rangeRow is one written row and the index of the parts that it made.
type rangeRow struct {
	*source.Fields
	rr       *rangeReader
	from, to int // into the list of its kind
}

func (rr *rangeReader) row(f *source.Fields) rangeRow { return rangeRow{Fields: f, rr: rr} }

func (rr *rangeReader) head(f *source.Fields) {
	o := rr.out
	rr.p = measure.Parser{Named: Named, Units: measure.Units{measure.Length: "mm"}}
	if f.OptEnum("units", "mm", "mm", "inch") == "inch" {
		rr.p.Units[measure.Length] = "in"
	}
	w := rr.row(f)
	o.ID, o.Name = w.Str("id"), w.Str("name")
	o.Sample = f.OptBool("sample", false)
	o.Currency = w.OptStr("currency", "")
	o.Notes = w.OptStrs("notes")
	if o.Sample && o.ID != "" && !strings.Contains(o.ID, "sample") {
		f.Fault("id", "sample-id", fmt.Sprintf("%s in a sample range; accepted: an id that says sample", source.Quote(o.ID)), "")
	}
	f.Done()
}

// takeID claims an id for one part; twice the same is a fault at the one that stands later in the file.
func (w rangeRow) takeID(id string) {
	if id == "" {
		return
	}
	if first, ok := w.rr.ids[id]; ok {
		later, at := w, first.Pos("id")
		if here := w.Pos("id"); here.Line < at.Line || here.Line == at.Line && here.Col < at.Col { // kinds are not read in file order
			later, at = first, here
		}
		later.Fault("id", "unique-id", fmt.Sprintf("%s stands already at %s; accepted: each id once", source.Quote(id), at), "give it another id")
		return
	}
	w.rr.ids[id] = w
	if w.rr.out.Sample && !strings.Contains(id, "sample") {
		w.Fault("id", "sample-id", fmt.Sprintf("%s in a sample range; accepted: an id that says sample", source.Quote(id)), "")
	}
}

// origin says where the numbers of a part come from.
func (w rangeRow) origin() Origin {
	o := Origin{Source: w.OptStr("source", ""), Status: "user"}
	if w.rr.out.Sample {
		o.Status = "sample"
	}
	return o
}

// trade reads what a part costs and weighs. 0: not known.
func (w rangeRow) trade() (mass, cost float64, pack int) {
	mass = w.atLeast0("mass", measure.Mass)
	cost = w.atLeast0("cost", measure.Number)
	if w.Has("cost") && w.rr.out.Currency == "" {
		w.Fault("cost", "currency", "a cost, and the range declares no currency", "write currency under range, as currency: EUR")
	}
	return mass, cost, w.OptInt("pack", 1, 1, 1_000_000)
}

// above0 reads a value that must be there and positive.
func (w rangeRow) above0(key string, dim measure.Dimension) float64 {
	v := w.Value(key, dim, w.rr.p)
	if w.Good(key) && v <= 0 {
		w.Fault(key, "positive", measure.Show(v, dim)+"; accepted: more than 0", "")
	}
	return w.sane(key, v, dim)
}

// atLeast0 reads a value that may be missing (0: not known) but not negative.
func (w rangeRow) atLeast0(key string, dim measure.Dimension) float64 {
	v := w.OptValue(key, dim, w.rr.p, 0)
	if w.Good(key) && v < 0 {
		w.Fault(key, "not-negative", measure.Show(v, dim)+"; accepted: 0 or more", "")
	}
	return w.sane(key, v, dim)
}

// toleranced reads a value with or without ± limits.
func (w rangeRow) toleranced(key string, dim measure.Dimension, need bool) Toleranced {
	read := w.OptQuantity
	if need {
		read = w.Quantity
	}
	q, ok := read(key, dim, w.rr.p)
	if !ok {
		return Toleranced{}
	}
	return w.limits(key, q)
}

func (w rangeRow) limits(key string, q measure.Quantity) Toleranced {
	if q.Spread == measure.Readings {
		w.Fault(key, "no-readings", "readings; accepted: one value, or one with ± limits", "write the limits that the supplier states")
	}
	v := w.sane(key, q.Value, q.Dim)
	if w.Good(key) && q.Half >= v/2 && q.Half < v { // more than all of it has a rule of its own
		w.Fault(key, "spread", fmt.Sprintf("%s ± %s; accepted: limits of less than half the value", measure.Show(v, q.Dim), measure.Show(q.Half, q.Dim)), "check the decimals")
	}
	return Toleranced{Nom: v, Tol: q.Half}
}

// span reads two values, least and greatest.
func (w rangeRow) span(key string, dim measure.Dimension, need bool) (lo, hi float64) {
	read := w.OptQuantities
	if need {
		read = w.Quantities
	}
	q := read(key, dim, w.rr.p, 2)
	if len(q) != 2 {
		return 0, 0
	}
	return w.ordered(key, q[0].Value, q[1].Value, dim)
}

func (w rangeRow) ordered(key string, lo, hi float64, dim measure.Dimension) (float64, float64) {
	if lo > hi || lo < 0 {
		w.Fault(key, "span", fmt.Sprintf("%s to %s; accepted: the least first, 0 or more", measure.Show(lo, dim), measure.Show(hi, dim)), "")
	}
	w.sane(key, hi, dim)
	return lo, hi
}

// series reads one value under one, or a list under many, each of which makes a part. None is fine unless need.
func (w rangeRow) series(one, many string, dim measure.Dimension, need bool) []Toleranced {
	var out []Toleranced
	switch w.Exclusive(need, one, many) {
	case one:
		if q, ok := w.Quantity(one, dim, w.rr.p); ok {
			out = append(out, w.limits(one, q))
		}
	case many:
		for _, q := range w.Quantities(many, dim, w.rr.p, -1) {
			out = append(out, w.limits(many, q))
		}
		if w.Good(many) && len(out) == 0 {
			w.Fault(many, "empty-list", "an empty list; accepted: one value or more", "")
		}
	}
	return out
}

// angleDeg reads an included angle, 0 when missing.
func (w rangeRow) angleDeg(key string) float64 {
	v := math.Round(w.OptValue(key, measure.Angle, w.rr.p, 0)*180/math.Pi*1e6) / 1e6 // back from rad: whole degrees stay whole
	if w.Good(key) && (v <= 0 || v >= 180) {
		w.Fault(key, "angle", measure.Fixed(v, 1)+"°; accepted: more than 0 and less than 180°, included", "")
	}
	return v
}

// seriesName is the tail of the id that one value of a series gives: 6.0, 11.45.
func seriesName(v float64) string {
	s := measure.Fixed(v, 2)
	return strings.TrimSuffix(s, "0")
}

// OtherSpellings tells m, a material of a range or of a job, which spellings of its keys people try.
func OtherSpellings(m *source.Fields) {
	m.Instead("elastic modulus", "modulus", "modulus of elasticity", "young modulus", "youngs modulus", "e")
	m.Instead("bearing 2.0", "bearing", "bearing strength", "bearing 2")
	m.Instead("bearing 1.5", "bearing near edge", "bearing near the edge")
}
