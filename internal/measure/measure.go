// Package measure reads quantities as people write them, and shows them with the house rounding.
//
// House units inside: mm, N, MPa, rad, s, tonne. So a speed is in mm/s, an acceleration in mm/s², a density in
// tonne/mm³, a mass in tonnes, a torque in N·mm, a rate in N/mm; a temperature stays in °C.
//
// The house rounding is what a fitter can work to, zeros kept: lengths to 0.01 mm below 100 mm (5.70 mm) and to 0.1 mm
// from there on (412.5 mm); inches to a thousandth; forces to 0.1 N below 100 N; speeds to 0.1 m/s; a chance to 0.1 %, but
// never 100 % for what is not certain. Every printed number goes through here, so the same value reads the same anywhere.
// A number that is not known (NaN) reads "not known", one without bound "no limit", and nothing reads "-0.00".
package measure

// Dimension is the kind of a quantity.
type Dimension int

// The dimensions that a job or a range may ask for.
const (
	Number       Dimension = iota // no unit, such as a pressure coefficient
	Length                        // mm
	Angle                         // rad
	Speed                         // mm/s
	Acceleration                  // mm/s²
	Force                         // N
	Pressure                      // MPa
	Mass                          // tonne
	Density                       // tonne/mm³
	Temperature                   // °C
	Torque                        // N·mm
	Rate                          // N/mm
	Modulus                       // N/mm³: seal stiffness per area
	Expansion                     // 1/K
)

// SpreadKind says what is known about how far the true value may lie from Value.
type SpreadKind int

// The kinds of spread that a text can give.
const (
	Unstated SpreadKind = iota // nothing said: the field's own default applies
	Limits                     // 2.6 ± 0.3 mm: rectangular within Value ± Half (JCGM 100:2008 4.3.7)
	Readings                   // readings [6.1, 6.3, 6.2] mm: mean and standard uncertainty of the mean
)

// Quantity is a value in house units with its spread, and the text that it was read from.
type Quantity struct {
	Value    float64
	Dim      Dimension
	Spread   SpreadKind
	Half     float64   // Limits: half-width, ≥ 0
	Readings []float64 // Readings: each one, in house units; at least two
	StdUnc   float64   // Readings: s/√n
	Text     string    // as written
}

// Units are the units that a bare number takes, by dimension. A dimension that is not in the map needs its unit written.
type Units map[Dimension]string

// Parser reads quantities for one job or range.
type Parser struct {
	Units Units
	// Named resolves a drill or gauge name to millimetres: series is "number", "letter", "swg", "awg", "msg", "gsg" or
	// "stainless" and name is "30", "F", "16". Nil means that no names are known.
	Named func(series, name string) (mm float64, ok bool)
}

// ParseError says what in a quantity could not be read.
type ParseError struct {
	Rule   string // one of the Rule constants
	Offset int    // rune offset in the text where the trouble starts
	Found  string // what was found there
	Accept string // what is accepted
	Hint   string // what to do
}

// The rules of reading. Each is the stable id that a message shows.
const (
	RuleQuantity     = "quantity"            // not a number with a unit
	RuleMissingUnit  = "missing-unit"        // a bare number, and no unit declared
	RuleUnknownUnit  = "unknown-unit"        // no such unit
	RuleDimension    = "wrong-dimension"     // a unit of something else
	RuleComma        = "decimal-comma"       // 4,3
	RuleThousands    = "thousands"           // 1 200, 1,200
	RuleAmbiguous    = "ambiguous-gauge"     // 18 gauge
	RuleUnknownGauge = "unknown-gauge"       // 99 swg
	RuleUnknownDrill = "unknown-drill"       // #99
	RuleOneReading   = "one-reading"         // readings [6.1]
	RuleLimits       = "limits"              // ± with a negative half, +0.2/-0.1, …
	RuleTooLong      = "too-long"            // over the bound of text, digits or readings
	RuleTooLarge     = "too-large"           // over the bound of magnitude
	RuleAbsoluteZero = "below-absolute-zero" // -300 °C
)

// Error gives found, accepted, rule and hint on one line.
func (e *ParseError) Error() string {
	s := e.Found
	if e.Accept != "" {
		s += "; accepted: " + e.Accept
	}
	s += " (rule " + e.Rule + ")"
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}
