package measure

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
)

// Fixed shows v with so many decimals, halves away from zero (3.175 is 3.18); never "-0.00". A value that is not known (NaN)
// reads "not known", one without bound "no limit", so that a verdict that lacks its number still prints. Negative decimals
// panic.
func Fixed(v float64, decimals int) string {
	if decimals < 0 {
		panic("measure: Fixed with negative decimals")
	}
	switch {
	case math.IsNaN(v):
		return "not known"
	case math.IsInf(v, 0):
		return "no limit"
	}
	// 1/8 in is 3.175 mm, which no float64 is: the nearest lies below it. What is a half but for such rounding goes up, as
	// with a pencil.
	const half, most = 1e-13, 1e15 // a larger number has no halves
	if math.Abs(v) < most {
		v *= 1 + half
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.HasPrefix(s, "-") && strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return s
}

// Apart shows two numbers with so many decimals, or as many more, up to six, as it takes that two which differ also read
// differently: 96.612 against 96.608, not 96.61 against 96.61.
func Apart(a, b float64, decimals int) (string, string) {
	const more = 6
	for d := decimals; ; d++ {
		x, y := Fixed(a, d), Fixed(b, d)
		if a == b || x != y || d == decimals+more {
			return x, y
		}
	}
}

// with puts the unit behind a figure, and nothing behind words.
func with(figure, unit string) string {
	if figure == "not known" || figure == "no limit" {
		return figure
	}
	return figure + " " + unit
}

// mostDecimals bounds what significant shows: what is smaller than half of its last place reads 0.
const mostDecimals = 9

// significant shows v with n significant figures and no exponent, never fewer than its whole digits, and never more than
// mostDecimals.
func significant(v float64, n int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return Fixed(v, 0)
	}
	exponent := int(math.Floor(math.Log10(math.Abs(v))))
	if exponent < -mostDecimals-1 {
		return Fixed(0, 0)
	}
	return Fixed(v, min(mostDecimals, max(0, n-1-exponent)))
}

// MM shows a length: 5.70 mm, 412.5 mm. Two decimals below 100 mm, zeros kept, for a thickness or a hole is worked to
// 0.01 mm; one decimal from there on, for a tape or a rule shows no more.
func MM(v float64) string {
	decimals := 2
	if math.Abs(v) >= 99.995 { // what would round to 100.00
		decimals = 1
	}
	return with(Fixed(v, decimals), "mm")
}

// Inch shows a length of v mm in inches, to a thousandth: 0.224 in.
func Inch(v float64) string { return with(Fixed(v/25.4, 3), "in") }

// MMInch shows a length both ways: 5.70 mm (0.224 in).
func MMInch(v float64) string { return MM(v) + " (" + Inch(v) + ")" }

// Fraction shows the nearest fraction of an inch with the denominator given (a power of two from 1 to 128) in its lowest
// terms: 7/32 in, 1-3/16 in, 2 in. off (mm) is by how much the fraction is larger than v: negative when it falls short.
// Another denominator, or a v that is not finite or beyond a kilometre, panics.
func Fraction(v float64, denominator int) (text string, off float64) {
	if denominator < 1 || denominator > 128 || denominator&(denominator-1) != 0 {
		panic("measure: Fraction with denominator " + strconv.Itoa(denominator))
	}
	if !(math.Abs(v) <= 1e6) {
		panic("measure: Fraction of no usable length")
	}
	n := int64(math.Round(math.Abs(v) / 25.4 * float64(denominator)))
	f := big.NewRat(n, int64(denominator))
	nearest, _ := times(f, inch).Float64()
	sign := ""
	if v < 0 && n != 0 {
		sign, nearest = "-", -nearest
	}
	whole, rest := n/int64(denominator), n%int64(denominator)
	switch part := big.NewRat(rest, int64(denominator)); {
	case rest == 0:
		text = fmt.Sprintf("%s%d in", sign, whole)
	case whole == 0:
		text = fmt.Sprintf("%s%s in", sign, part)
	default:
		text = fmt.Sprintf("%s%d-%s in", sign, whole, part)
	}
	return text, nearest - v
}

// Newton shows a force: 4.5 N, 320 N, 12.3 kN.
func Newton(v float64) string {
	switch a := math.Abs(v); {
	case a >= 9999.5:
		return with(Fixed(v/1000, 1), "kN")
	case a >= 99.95:
		return with(Fixed(v, 0), "N")
	}
	return with(Fixed(v, 1), "N")
}

// Pa shows a pressure of v MPa: 850 Pa, 2354 Pa, 12.5 kPa, 1.25 MPa, 68.9 MPa.
func Pa(v float64) string {
	switch a := math.Abs(v); {
	case a >= 9.995:
		return with(Fixed(v, 1), "MPa")
	case a >= 0.99995:
		return with(Fixed(v, 2), "MPa")
	case a >= 9999.5e-6:
		return with(Fixed(v*1e3, 1), "kPa")
	case a >= 9.95e-6 || a == 0:
		return with(Fixed(v*1e6, 0), "Pa")
	}
	return with(significant(v*1e6, 2), "Pa")
}

// MetrePerSecond shows a speed of v mm/s: 62.0 m/s.
func MetrePerSecond(v float64) string { return with(Fixed(v/1000, 1), "m/s") }

// Gravity shows an acceleration of v mm/s² as a multiple of 9.80665 m/s²: 2.00 g.
func Gravity(v float64) string { return with(Fixed(v/9806.65, 2), "g") }

// NewtonMetre shows a torque of v N·mm: 1.25 N·m, 32.0 N·m.
func NewtonMetre(v float64) string {
	decimals := 2
	if math.Abs(v) >= 9995 {
		decimals = 1
	}
	return with(Fixed(v/1000, decimals), "N·m")
}

// Kilogram shows a mass of v tonnes: 2.4 g, 450 g, 3.25 kg, 41.0 kg.
func Kilogram(v float64) string {
	switch a := math.Abs(v); {
	case a >= 9.995e-3:
		return with(Fixed(v*1e3, 1), "kg")
	case a >= 0.9995e-3:
		return with(Fixed(v*1e3, 2), "kg")
	case a >= 99.95e-6:
		return with(Fixed(v*1e6, 0), "g")
	}
	return with(Fixed(v*1e6, 1), "g")
}

// Degree shows an angle of v rad: 90.0°.
func Degree(v float64) string {
	s := Fixed(v*180/math.Pi, 1)
	if s == "not known" || s == "no limit" {
		return s
	}
	return s + "°"
}

// Percent shows a chance or share p: 97.3 %. A chance below 1 never reads 100 %, nor one above 0 reads 0 %: those show as
// > 99.9 % and < 0.1 %.
func Percent(p float64) string {
	s := Fixed(p*100, 1)
	switch {
	case p > 0 && p < 1 && s == "100.0":
		return "> 99.9 %"
	case p > 0 && s == "0.0":
		return "< 0.1 %"
	case p == 0 || p == 1:
		return with(Fixed(p*100, 0), "%")
	}
	return with(s, "%")
}

// Show shows v, in house units of dim, the way of the house. What it writes, Parse reads back, within the rounding.
func Show(v float64, dim Dimension) string {
	switch dim {
	case Number:
		return trimZeros(significant(v, 4))
	case Length:
		return MM(v)
	case Angle:
		return Degree(v)
	case Speed:
		return MetrePerSecond(v)
	case Acceleration:
		return Gravity(v)
	case Force:
		return Newton(v)
	case Pressure:
		return Pa(v)
	case Mass:
		return Kilogram(v)
	case Density:
		return with(significant(v*1e12, 4), "kg/m³")
	case Temperature:
		return with(trimZeros(Fixed(v, 1)), "°C")
	case Torque:
		return NewtonMetre(v)
	case Rate:
		return with(significant(v, 3), "N/mm")
	case Modulus:
		return with(significant(v, 3), "N/mm³")
	case Expansion:
		return with(Fixed(v*1e6, 1), "µm/mK")
	}
	panic("measure: no such dimension")
}

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
