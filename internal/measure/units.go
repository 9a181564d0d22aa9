package measure

import (
	"math"
	"math/big"
	"slices"
	"strings"
)

// unit is one unit of one dimension. house = (written + offset)·factor; every factor is exact, but for the angles.
type unit struct {
	dim    Dimension
	factor *big.Rat
	offset *big.Rat // added before the factor; nil: none. Temperatures only
	pi     bool     // times π besides
	names  []string // accepted spellings after squeeze; the first is the one that messages name
	shown  string   // how it is written when shown, where that differs from names[0]
}

// Exact conversions: NIST SP 811 (2008) appendix B.8: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, g = 9.80665 m/s²,
// 1 lbf = 4.4482216152605 N, 1 nautical mile = 1852 m. All others follow from them.
var (
	inch   = rat("25.4")
	foot   = rat("304.8")
	pound  = rat("0.00045359237")   // tonne
	lbf    = rat("4.4482216152605") // N
	gravit = rat("9806.65")         // mm/s²
)

// unitTable holds all units, by dimension, those that messages name first leading.
var unitTable = []unit{
	{dim: Number, factor: rat("1/100"), names: []string{"%", "percent", "per·cent", "pct"}},

	{dim: Length, factor: rat("1"), names: []string{"mm", "millimetre", "millimetres", "millimeter", "millimeters", "MM"}},
	{dim: Length, factor: inch, names: []string{"in", `"`, "''", "inch", "inches", "in.", "IN", "Inch"}},
	{dim: Length, factor: rat("10"), names: []string{"cm", "centimetre", "centimetres", "centimeter", "centimeters"}},
	{dim: Length, factor: rat("1000"), names: []string{"m", "metre", "metres", "meter", "meters"}},
	{dim: Length, factor: foot, names: []string{"ft", "'", "foot", "feet", "ft."}},
	{dim: Length, factor: rat("0.0254"), names: []string{"thou", "mil", "mils"}},
	{dim: Length, factor: rat("1/1000"), names: []string{"um", "micron", "microns", "micrometre", "micrometer"}, shown: "µm"},

	{dim: Angle, factor: rat("1/180"), pi: true, names: []string{"deg", "°", "degree", "degrees"}, shown: "°"},
	{dim: Angle, factor: rat("1"), names: []string{"rad", "radian", "radians"}},
	{dim: Angle, factor: rat("1/1000"), names: []string{"mrad"}},

	{dim: Speed, factor: rat("1000"), names: []string{"m/s"}},
	{dim: Speed, factor: rat("2500/9"), names: []string{"km/h", "kph", "kmh", "km/hr"}},
	{dim: Speed, factor: rat("447.04"), names: []string{"mph", "mi/h", "MPH"}},
	{dim: Speed, factor: rat("1852000/3600"), names: []string{"kn", "kt", "kts", "knot", "knots"}},
	{dim: Speed, factor: foot, names: []string{"ft/s", "fps"}},
	{dim: Speed, factor: rat("1"), names: []string{"mm/s"}},
	{dim: Speed, factor: inch, names: []string{"in/s", "ips"}},

	{dim: Acceleration, factor: rat("1000"), names: []string{"m/s2", "m/s/s"}, shown: "m/s²"},
	{dim: Acceleration, factor: gravit, names: []string{"g", "gee", "gees"}},
	{dim: Acceleration, factor: rat("1"), names: []string{"mm/s2"}, shown: "mm/s²"},
	{dim: Acceleration, factor: foot, names: []string{"ft/s2"}, shown: "ft/s²"},

	{dim: Force, factor: rat("1"), names: []string{"N", "newton", "newtons"}},
	{dim: Force, factor: rat("1000"), names: []string{"kN"}},
	{dim: Force, factor: lbf, names: []string{"lbf", "lbs·force", "pound·force"}},
	{dim: Force, factor: rat("9.80665"), names: []string{"kgf"}},

	{dim: Pressure, factor: rat("1/1000000"), names: []string{"Pa"}},
	{dim: Pressure, factor: rat("1/1000"), names: []string{"kPa"}},
	{dim: Pressure, factor: rat("1"), names: []string{"MPa", "N/mm2"}},
	{dim: Pressure, factor: rat("1000"), names: []string{"GPa", "kN/mm2"}},
	{dim: Pressure, factor: per(lbf, inch, inch), names: []string{"psi", "lbf/in2", "lb/in2", "PSI"}},
	{dim: Pressure, factor: rat("1/10"), names: []string{"bar"}},
	{dim: Pressure, factor: rat("1/10000"), names: []string{"mbar", "hPa"}},
	{dim: Pressure, factor: per(times(lbf, rat("1000")), inch, inch), names: []string{"ksi"}},
	{dim: Pressure, factor: per(lbf, foot, foot), names: []string{"psf", "lbf/ft2", "lb/ft2"}},
	{dim: Pressure, factor: rat("1/1000000"), names: []string{"N/m2"}, shown: "N/m²"},

	{dim: Mass, factor: rat("1/1000"), names: []string{"kg"}},
	{dim: Mass, factor: rat("1/1000000"), names: []string{"g", "gram", "grams", "gramme", "grammes"}},
	{dim: Mass, factor: rat("1"), names: []string{"t", "tonne", "tonnes"}},
	{dim: Mass, factor: pound, names: []string{"lb", "lbs", "lbm", "pound", "pounds"}},
	{dim: Mass, factor: per(pound, rat("16")), names: []string{"oz", "ounce", "ounces"}},

	{dim: Density, factor: rat("1/1000000000000"), names: []string{"kg/m3"}, shown: "kg/m³"},
	{dim: Density, factor: rat("1/1000000000"), names: []string{"g/cm3", "g/cc", "g/ml", "kg/l", "t/m3", "kg/dm3"}, shown: "g/cm³"},
	{dim: Density, factor: per(pound, foot, foot, foot), names: []string{"lb/ft3", "lbm/ft3"}, shown: "lb/ft³"},
	{dim: Density, factor: per(pound, inch, inch, inch), names: []string{"lb/in3", "lbm/in3"}, shown: "lb/in³"},

	{dim: Temperature, factor: rat("1"), names: []string{"C", "°C", "°·C", "degC", "deg·C", "celsius"}, shown: "°C"},
	{dim: Temperature, factor: rat("5/9"), offset: rat("-32"), names: []string{"F", "°F", "°·F", "degF", "deg·F", "fahrenheit"}, shown: "°F"},
	{dim: Temperature, factor: rat("1"), offset: rat("-273.15"), names: []string{"K", "kelvin"}},

	{dim: Torque, factor: rat("1000"), names: []string{"N·m", "Nm"}},
	{dim: Torque, factor: rat("1"), names: []string{"N·mm", "Nmm"}},
	{dim: Torque, factor: rat("10"), names: []string{"N·cm", "Ncm", "cN·m", "cNm"}},
	{dim: Torque, factor: times(lbf, inch), names: []string{"lbf·in", "in·lb", "in·lbf", "lb·in", "in·lbs", "lbs·in", "lbfin", "inlb"}},
	{dim: Torque, factor: times(lbf, foot), names: []string{"lbf·ft", "ft·lb", "ft·lbf", "lb·ft", "ft·lbs", "lbs·ft", "ftlb"}},
	{dim: Torque, factor: per(times(lbf, inch), rat("16")), names: []string{"ozf·in", "in·oz", "in·ozf", "oz·in"}},

	{dim: Rate, factor: rat("1"), names: []string{"N/mm"}},
	{dim: Rate, factor: rat("1/1000"), names: []string{"N/m"}},
	{dim: Rate, factor: rat("1"), names: []string{"kN/m"}},
	{dim: Rate, factor: per(lbf, inch), names: []string{"lbf/in", "lb/in"}},
	{dim: Rate, factor: per(lbf, foot), names: []string{"lbf/ft", "lb/ft"}},

	{dim: Modulus, factor: rat("1"), names: []string{"N/mm3", "MPa/mm"}, shown: "N/mm³"},
	{dim: Modulus, factor: rat("1/1000"), names: []string{"kPa/mm"}},
	{dim: Modulus, factor: per(lbf, inch, inch, inch), names: []string{"lbf/in3", "psi/in", "lb/in3"}, shown: "lbf/in³"},

	{dim: Expansion, factor: rat("1/1000000"), names: []string{"um/mK", "um/m·K", "um/m/K", "um/m°C", "um/m·°C", "um/m·C", "ppm/K", "ppm/C", "ppm/°C"}, shown: "µm/mK"},
	{dim: Expansion, factor: rat("1"), names: []string{"/K", "1/K", "/C", "/°C", "1/C", "1/°C"}},
	{dim: Expansion, factor: rat("9/5"), names: []string{"/F", "/°F", "1/F", "1/°F"}},
	{dim: Expansion, factor: rat("9/5000000"), names: []string{"uin/inF", "uin/in·F", "uin/in°F", "uin/in/F", "ppm/F", "ppm/°F"}, shown: "µin/in°F"},
}

// unitIndex finds a unit by dimension and squeezed spelling.
var unitIndex = indexUnits()

type unitKey struct {
	dim  Dimension
	name string
}

func indexUnits() map[unitKey]*unit {
	m := make(map[unitKey]*unit)
	for i := range unitTable {
		for _, n := range unitTable[i].names {
			k := unitKey{unitTable[i].dim, n}
			if m[k] != nil {
				panic("measure: unit " + n + " stands twice")
			}
			m[k] = &unitTable[i]
		}
	}
	return m
}

func rat(s string) *big.Rat {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		panic("measure: constant " + s)
	}
	return r
}

func times(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

func per(a *big.Rat, divisors ...*big.Rat) *big.Rat {
	r := new(big.Rat).Set(a)
	for _, d := range divisors {
		r.Quo(r, d)
	}
	return r
}

// house converts a written value to house units, rounding once.
func (u *unit) house(v *big.Rat) float64 {
	if u.offset != nil {
		v = new(big.Rat).Add(v, u.offset)
	}
	return u.span(v)
}

// span converts a difference or half-width, for which no offset counts.
func (u *unit) span(v *big.Rat) float64 {
	f, _ := times(v, u.factor).Float64()
	if u.pi {
		f *= math.Pi
	}
	return f
}

func (u *unit) String() string {
	if u.shown != "" {
		return u.shown
	}
	return u.names[0]
}

// squeeze brings the spellings of a unit to one: one · for every way to write a product, no brackets, no ^, plain
// figures for raised ones, u for µ, one kind of inch and foot mark. A text that begins or ends with a product sign or a
// hyphen is no unit: "".
func squeeze(s string) string {
	s = strings.Trim(s, " ")
	if strings.Trim(s, "·⋅∙•*×-") != s {
		return ""
	}
	var b strings.Builder
	pending := false // a product sign or space is waiting for the next letter
	for _, c := range s {
		switch c {
		case ' ', '\t', '\u00a0', '\u2009', '\u202f', '·', '⋅', '∙', '•', '*', '×', '-':
			pending = b.Len() > 0
			continue
		case '(', ')', '^':
			continue
		case '²':
			c = '2'
		case '³':
			c = '3'
		case 'µ', 'μ':
			c = 'u'
		case '″', '”', '“':
			c = '"'
		case '′', '’', '‘':
			c = '\''
		case 'º':
			c = '°'
		}
		if pending && c != '/' && !strings.HasSuffix(b.String(), "/") {
			b.WriteRune('·')
		}
		pending = false
		b.WriteRune(c)
	}
	return b.String()
}

func findUnit(dim Dimension, text string) *unit { return unitIndex[unitKey{dim, squeeze(text)}] }

// Accepted names the units of a dimension as a message shows them, the commonest first.
func Accepted(dim Dimension) []string {
	var out []string
	for i := range unitTable {
		if unitTable[i].dim == dim {
			out = append(out, unitTable[i].String())
		}
	}
	return out
}

// KnownUnit says whether text is a unit of dim, as Parse reads it; for checking what a job declares.
func KnownUnit(dim Dimension, text string) bool { return findUnit(dim, text) != nil }

// InUnit converts v from house units of dim to the unit named, as Parse reads it. False when it is no unit of dim.
func InUnit(v float64, dim Dimension, text string) (float64, bool) {
	u := findUnit(dim, text)
	if u == nil {
		return 0, false
	}
	f, _ := u.factor.Float64()
	if u.pi {
		f *= math.Pi
	}
	v /= f
	if u.offset != nil {
		o, _ := u.offset.Float64()
		v -= o
	}
	return v, true
}

// otherDimensions lists the dimensions that know the unit text, for a message about the wrong one.
func otherDimensions(text string) []Dimension {
	var out []Dimension
	key := squeeze(text)
	for i := range unitTable {
		if slices.Contains(unitTable[i].names, key) && !slices.Contains(out, unitTable[i].dim) {
			out = append(out, unitTable[i].dim)
		}
	}
	return out
}

var dimensionNames = map[Dimension]string{
	Number: "number", Length: "length", Angle: "angle", Speed: "speed", Acceleration: "acceleration", Force: "force",
	Pressure: "pressure", Mass: "mass", Density: "density", Temperature: "temperature", Torque: "torque", Rate: "rate",
	Modulus: "stiffness per area", Expansion: "expansion coefficient",
}

// String names the dimension in a message.
func (d Dimension) String() string {
	if s, ok := dimensionNames[d]; ok {
		return s
	}
	panic("measure: no such dimension")
}

// Unit names the house unit of dim, as a key or a column head may show it: "mm", "N", "t/mm³", "°C"; "" for a number.
func Unit(dim Dimension) string {
	switch dim {
	case Number:
		return ""
	case Length:
		return "mm"
	case Angle:
		return "rad"
	case Speed:
		return "mm/s"
	case Acceleration:
		return "mm/s²"
	case Force:
		return "N"
	case Pressure:
		return "MPa"
	case Mass:
		return "t"
	case Density:
		return "t/mm³"
	case Temperature:
		return "°C"
	case Torque:
		return "N·mm"
	case Rate:
		return "N/mm"
	case Modulus:
		return "N/mm³"
	case Expansion:
		return "1/K"
	}
	panic("measure: no such dimension")
}
