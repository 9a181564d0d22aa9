package job

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"panelwright/internal/fault"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/source"
)

// Read reads a job file (docs/formats.md). It finds all faults at once, of structure and of meaning, sorted by their place;
// it calls Check itself. open gives the bytes of the range file that the job names, relative to the job; nil open means that
// only the embedded sample range is at hand. A job with faults comes back as far as it could be read, nil when nothing
// could: it must not be planned. The caller owns the job.
func Read(file string, text []byte, open func(name string) ([]byte, error)) (*Job, fault.List) {
	root, faults := source.Parse(file, text)
	rd := &reader{open: open, job: &Job{File: file}}
	rd.Faults = faults
	if root == nil {
		for i := range rd.Faults {
			if rd.Faults[i].Rule == "empty-file" {
				rd.Faults[i].Hint = "describe a job: begin with one of the examples"
			}
		}
		return nil, rd.Sorted()
	}
	f := rd.Map(root)
	if !f.OK() {
		return nil, rd.Sorted()
	}
	rd.job.Pos, rd.job.at = root.Pos, placesOf(f)
	rd.head(f.Child("job"))
	c, _ := f.OptChild("conditions")
	rd.conditions(c)
	m, _ := f.OptChild("marking out")
	rd.markingOut(m)
	rd.panels(f)
	f.Done()
	for _, pan := range rd.job.Panels {
		for i := range pan.Stations.Given {
			if g := &pan.Stations.Given[i]; g.Edge != "" {
				g.At, _ = pan.onTape(g)
			}
		}
	}
	rd.Faults = append(rd.Faults, rd.job.Check()...)
	return rd.job, rd.Sorted()
}

// reader reads one job.
type reader struct {
	source.Reader
	p        measure.Parser
	open     func(name string) ([]byte, error)
	job      *Job
	vertices int  // of the whole job so far
	blocked  bool // mostVertices was reported
}

// size shows a length the way of the job.
func (j *Job) size(v float64) string {
	if j.Inch {
		return measure.MMInch(v)
	}
	return measure.MM(v)
}

// point shows a place.
func (j *Job) point(p plane.Point) string {
	return "(" + j.size(p.X) + ", " + j.size(p.Y) + ")"
}

// text reads a required text of printable length.
func (rd *reader) text(f *source.Fields, key string) string {
	return rd.short(f, key, f.Str(key))
}

func (rd *reader) optText(f *source.Fields, key, def string) string {
	return rd.short(f, key, f.OptStr(key, def))
}

func (rd *reader) short(f *source.Fields, key, s string) string {
	if n := utf8.RuneCountInString(s); n > mostText {
		f.Fault(key, RuleTextLength, fmt.Sprintf("%d characters; accepted: at most %d", n, mostText), "shorten it")
		return ""
	}
	return strings.Join(strings.Fields(s), " ")
}

func (rd *reader) notes(f *source.Fields, key string) []string {
	list := f.OptStrs(key)
	if !rd.few(f, key, len(list), mostNotes) {
		return nil
	}
	for i, s := range list {
		list[i] = rd.short(f, key, s)
	}
	return list
}

// few reports a list that is too long.
func (rd *reader) few(f *source.Fields, key string, n, most int) bool {
	if n > most {
		f.Fault(key, RuleTooMany, fmt.Sprintf("%d of them; accepted: at most %d", n, most), "divide the job")
		return false
	}
	return true
}

// above reads a required size that must be more than nought.
func (rd *reader) above(f *source.Fields, key string, dim measure.Dimension) float64 {
	return rd.positive(f, key, dim, f.Value(key, dim, rd.p))
}

// optAbove reads a size that must be more than nought when it is given; 0 when it is not.
func (rd *reader) optAbove(f *source.Fields, key string, dim measure.Dimension) float64 {
	return rd.positive(f, key, dim, f.OptValue(key, dim, rd.p, 0))
}

func (rd *reader) positive(f *source.Fields, key string, dim measure.Dimension, v float64) float64 {
	if !f.Good(key) {
		return 0
	}
	if v <= 0 {
		f.Fault(key, RulePositive, rd.show(v, dim)+"; accepted: more than 0", "check the sign")
		return 0
	}
	if dim == measure.Length && v > mostLength {
		f.Fault(key, RuleOutOfRange, rd.show(v, dim)+"; accepted: at most "+rd.show(mostLength, dim), "check the unit")
		return 0
	}
	return v
}

// between reads an optional value within limits.
func (rd *reader) between(f *source.Fields, key string, dim measure.Dimension, def, least, most float64) float64 {
	v := f.OptValue(key, dim, rd.p, def)
	if f.Good(key) && !(v >= least && v <= most) {
		f.Fault(key, RuleOutOfRange, fmt.Sprintf("%s; accepted: %s to %s", rd.show(v, dim), rd.show(least, dim), rd.show(most, dim)), "check the value and its unit")
		return def
	}
	return v
}

func (rd *reader) show(v float64, dim measure.Dimension) string {
	if dim == measure.Length && v != 0 && math.Abs(v) < 0.005 { // the house rounding would call it nought
		return fmt.Sprintf("%.1g mm", v)
	}
	if dim == measure.Length {
		return rd.job.size(v)
	}
	return measure.Show(v, dim)
}

// setting reads a number that has a default.
func (rd *reader) setting(f *source.Fields, key, defaultKey string) Setting {
	d := defaultOf(defaultKey)
	v := rd.between(f, key, d.Dim, d.Value, d.Least, d.Most)
	s := d.setting()
	s.Pos = f.Pos(key)
	if f.Good(key) {
		s.Value, s.Assumed, s.Source = v, false, sourceJob
	}
	return s
}

// coordinates reads [x, y].
func (rd *reader) coordinates(n *source.Node) (plane.Point, bool) {
	q, ok := rd.Quantities(n, measure.Length, rd.p, 2)
	if !ok {
		return plane.Point{}, false
	}
	for i, v := range q {
		if v.Spread != measure.Unstated {
			rd.Fault(n.Items[i], "no-spread", fmt.Sprintf("%s with a spread; accepted: one value", source.Quote(v.Text)), "leave the spread out: a place has none")
			ok = false
		}
		if v.Value > mostLength || v.Value < -mostLength {
			rd.Fault(n.Items[i], RuleOutOfRange, rd.job.size(v.Value)+"; accepted: "+rd.job.size(-mostLength)+" to "+rd.job.size(mostLength), "check the unit")
			ok = false
		}
	}
	return plane.Point{X: q[0].Value, Y: q[1].Value}, ok
}

// place reads [x, y] under key.
func (rd *reader) placeAt(f *source.Fields, key string) (plane.Point, bool) {
	n := f.Get(key)
	if n == nil {
		f.Quantities(key, measure.Length, rd.p, 2) // reports that it is missing
		return plane.Point{}, false
	}
	return rd.coordinates(n)
}

// spend counts vertices against the bound of the whole job.
func (rd *reader) spend(n int, at *source.Node) bool {
	rd.vertices += n
	if rd.vertices <= mostVertices {
		return true
	}
	if !rd.blocked {
		rd.blocked = true
		rd.Fault(at, RuleTooMany, fmt.Sprintf("more than %d points in the job", mostVertices), "divide the job")
	}
	return false
}
