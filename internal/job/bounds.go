package job

import (
	"fmt"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/source"
)

// Bound is what a job may give for a size that has no default: outside it, the value is taken for a slip of the unit or of
// the digits. House units. All are common practice, no source: far beyond what a vehicle's panel has, near enough to
// catch metres written for millimetres.
type Bound struct {
	Key         string // as layers.thickness
	What        string
	Dim         measure.Dimension
	Least, Most float64
}

// Keys of the bounds.
const (
	boundExtent     = "outline"
	boundSurvey     = "outline · survey · lengths"
	boundCutOut     = "cut-outs, keep-outs · diameter, size"
	boundSheet      = "outer, inner · thickness"
	boundBetween    = "between · thickness"
	boundStack      = "measured stacks · stack"
	boundStiffness  = "between · stiffness"
	boundSqueezed   = "between · squeezed area"
	boundWidth      = "supports · width"
	boundRoom       = "supports · room behind"
	boundUpstand    = "supports · upstand"
	boundSealPush   = "supports · seal · push"
	boundMass       = "loads · masses · mass"
	boundPressure   = "loads · pressure"
	boundCp         = "loads · cp outside, cp inside"
	boundPitch      = "stations · pitch"
	boundDrill      = "drills"
	boundElastic    = "materials · elastic modulus"
	boundPoisson    = "materials · poisson ratio"
	boundDensity    = "materials · density"
	boundExpansion  = "materials · expansion"
	boundStrength   = "materials · yield, ultimate, shear, bearing"
	boundAnodic     = "materials · anodic index"
	boundBush       = "marking out · jig · bushes"
	boundCrown      = "crown · along, across"
	boundCoordinate = "any place or length along the panel"
)

var bounds = []Bound{
	{boundExtent, "the panel along x and along y", measure.Length, 20, 20_000},
	{boundCoordinate, "coordinate, tape, bow, radius", measure.Length, -mostLength, mostLength},
	{boundSurvey, "an edge or diagonal by the tape", measure.Length, 5, 30_000},
	{boundCutOut, "a cut-out or keep-out across", measure.Length, 0.5, 20_000},
	{boundSheet, "a sheet", measure.Length, 0.1, 100},
	{boundBetween, "a layer between, or a gap", measure.Length, 0.01, 100},
	{boundStack, "a stack measured at a station", measure.Length, 0.1, 300},
	{boundStiffness, "pressure per squeeze of a seal", measure.Modulus, 0.0001, 1000},
	{boundSqueezed, "each side of what a station squeezes", measure.Length, 1, 1000},
	{boundWidth, "a flange or rib across", measure.Length, 4, 1000},
	{boundRoom, "behind the mounting face", measure.Length, 1, 5000},
	{boundUpstand, "from the seat line to an upstand", measure.Length, 0.5, 5000},
	{boundSealPush, "push of a closed seal", measure.Rate, 0.001, 50},
	{boundMass, "a lumped mass", measure.Mass, 1e-7, 0.5},
	{boundPressure, "outward", measure.Pressure, -0.1, 0.1},
	{boundCp, "a mean pressure coefficient", measure.Number, -5, 5},
	{boundPitch, "greatest pitch of stations", measure.Length, 10, 5000},
	{boundDrill, "a drill", measure.Length, 0.1, 100},
	{boundElastic, "modulus of elasticity", measure.Pressure, 0.1, 1e6},
	{boundPoisson, "Poisson's ratio", measure.Number, 0, 0.49},
	{boundDensity, "density", measure.Density, 10e-12, 25_000e-12},
	{boundExpansion, "expansion in heat", measure.Expansion, -10e-6, 500e-6},
	{boundStrength, "a strength", measure.Pressure, 0.1, 10_000},
	{boundAnodic, "volts against gold", measure.Number, 0, 3},
	{boundBush, "bore, outside and length of a drill bush", measure.Length, 0.3, 100},
	{boundCrown, "how far the middle stands above a straightedge laid over the panel's whole length", measure.Length, 0.1, 2000},
}

// Bounds lists the sane limits of every size without a default, in the order of the document. The caller owns the slice.
func Bounds() []Bound { return append([]Bound(nil), bounds...) }

func boundOf(key string) Bound {
	for _, b := range bounds {
		if b.Key == key {
			return b
		}
	}
	panic("job: no bound " + key)
}

// spreadMost bounds a thickness's half-width as a share of it: with more, nobody knows whether the layer is there.
const spreadMost = 0.5

// sized reads a required size within its bound; 0 when missing or wrong.
func (rd *reader) sized(f *source.Fields, key, bound string) float64 {
	b := boundOf(bound)
	return rd.inside(f, key, b, f.Value(key, b.Dim, rd.p), 0)
}

// optSized reads a size within its bound; def when it is missing or wrong.
func (rd *reader) optSized(f *source.Fields, key, bound string, def float64) float64 {
	b := boundOf(bound)
	return rd.inside(f, key, b, f.OptValue(key, b.Dim, rd.p, def), def)
}

func (rd *reader) inside(f *source.Fields, key string, b Bound, v, def float64) float64 {
	if !f.Good(key) {
		return def
	}
	if rule, text, hint := rd.outside(b, v); rule != "" {
		f.Fault(key, rule, text, hint)
		return def
	}
	return v
}

// outside says what is wrong with a value outside its bound; the rule is empty for one inside.
func (rd *reader) outside(b Bound, v float64) (rule, text, hint string) {
	switch {
	case v <= 0 && b.Least > 0:
		return RulePositive, rd.show(v, b.Dim) + "; accepted: " + rd.span(b), "check the sign"
	case !(v >= b.Least && v <= b.Most):
		return RuleOutOfRange, rd.show(v, b.Dim) + "; accepted: " + rd.span(b), "check the value and its unit"
	}
	return "", "", ""
}

// each judges both numbers of a size [x, y].
func (rd *reader) each(f *source.Fields, key, bound string, size plane.Point, hint string) bool {
	for _, v := range []float64{size.X, size.Y} {
		rule, text, usual := rd.outside(boundOf(bound), v)
		if rule == "" {
			continue
		}
		if hint == "" {
			hint = usual
		}
		f.Fault(key, rule, rd.job.point(size)+": "+text, hint)
		return false
	}
	return true
}

func (rd *reader) span(b Bound) string {
	return fmt.Sprintf("%s to %s", rd.show(b.Least, b.Dim), rd.show(b.Most, b.Dim))
}
