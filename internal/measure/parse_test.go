package measure

import (
	"math"
	"strings"
	"testing"
)

// shop knows a few sizes, as stock would. ASME B94.11M for drills; SWG after BS 3737, AWG by its formula, manufacturers'
// standard gauge by weight, all to the figures of the public tables.
var shop = Parser{
	Units: Units{Length: "mm"},
	Named: func(series, name string) (float64, bool) {
		mm, ok := map[string]float64{
			"number/30": 3.2639, "number/1": 5.7912, "letter/F": 6.5278, "letter/A": 5.9436,
			"swg/16": 1.6256, "swg/18": 1.2192, "awg/18": 1.0237, "msg/18": 1.2141, "msg/20": 0.9119,
			"stainless/16": 1.5875, "stainless/18": 1.27, "gsg/18": 1.3106, "swg/2/0": 8.839, "swg/000": 9.449,
		}[series+"/"+name]
		return mm, ok
	},
}

// near is a relative tolerance of a few roundings of a float64.
func near(a, b float64) bool { return math.Abs(a-b) <= 4e-16*math.Max(math.Abs(a), math.Abs(b)) }

func TestLengths(t *testing.T) {
	for text, want := range map[string]float64{
		"4.3 mm": 4.3, "4.3mm": 4.3, "4.30": 4.3, ".5 mm": 0.5, "5. mm": 5, "+5 mm": 5, "-1.2": -1.2, "−1.2 mm": -1.2, "–3 mm": -3,
		"0.187 in": 0.187 * 25.4, "3/32 in": 2.38125, "3/32\"": 2.38125, "3⁄32 in": 2.38125, "-3/32 in": -2.38125,
		"1-3/16\"": 30.1625, "1 3/16 in": 30.1625, "1-3/16 inch": 30.1625, "-1-3/16 in": -30.1625, "1-3/16″": 30.1625,
		"½ in": 12.7, "1½ in": 38.1, "1½″": 38.1, "-⅛ in": -3.175, "5 in.": 127, "2 inches": 50.8,
		"2 ft": 609.6, "2'": 609.6, "2 ft 3-1/2 in": 698.5, "2' 3-1/2\"": 698.5, "2’ 3½”": 698.5, "2'3\"": 685.8, "-2 ft 3 in": -685.8,
		"2 ft 0.5 in": 622.3, "0' 6\"": 152.4, "5 cm": 50, "1.2 m": 1200, "40 thou": 1.016, "40 mil": 1.016, "25 µm": 0.025, "25 μm": 0.025,
		"  4.3  mm ": 4.3, "4.3\u00a0mm": 4.3, "4.3\u202fmm": 4.3, "1e-3 mm": 0.001, "2.5E+2 mm": 250, "0 mm": 0, "1000000000000 mm": 1e12,
		"#30": 3.2639, "# 30": 3.2639, "number 30": 3.2639, "Number 30": 3.2639, "no. 30": 3.2639, "no 30": 3.2639, "nr. 30": 3.2639,
		"#30 drill": 3.2639, "number #30": 3.2639, "letter F": 6.5278, "letter f": 6.5278, "Letter F drill": 6.5278,
		"16 swg": 1.6256, "16swg": 1.6256, "SWG 16": 1.6256, "16 ga swg": 1.6256, "18 awg": 1.0237, "20 msg": 0.9119, "18 gsg": 1.3106,
		"16 ga stainless": 1.5875, "16 gauge stainless steel": 1.5875, "stainless 16 ga": 1.5875, "16 stainless": 1.5875, "16-gauge stainless": 1.5875,
		"18 ga galvanized": 1.3106, "18 galvanised sheet": 1.3106, "18 swg aluminium": 1.2192, "2/0 swg": 8.839, "000 swg": 9.449,
	} {
		q, err := shop.Parse(text, Length)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if !near(q.Value, want) || q.Dim != Length || q.Spread != Unstated || q.Text != text {
			t.Errorf("%q: %+v, want %v mm", text, q, want)
		}
	}
}

func TestUnitsAgreeWithPublishedFactors(t *testing.T) {
	const sp811 = "NIST SP 811 (2008) B.8, to the figures printed there (from memory, checked by their definitions)"
	for _, c := range []struct {
		text   string
		dim    Dimension
		want   float64 // house units
		figs   float64 // relative tolerance from the printed figures
		source string
	}{
		{"1 in", Length, 25.4, 0, "exact, SP 811"},
		{"1 ft", Length, 304.8, 0, "exact, SP 811"},
		{"1 mph", Speed, 447.04, 0, "exact, SP 811"},
		{"140 mph", Speed, 62585.6, 0, "140 × exact"},
		{"1 kn", Speed, 1852e3 / 3600, 0, "exact, SP 811: 1852 m in 3600 s"},
		{"1 knot", Speed, 514.4444, 1e-6, sp811},
		{"100 km/h", Speed, 27777.78, 1e-6, sp811},
		{"62 m/s", Speed, 62000, 0, "definition"},
		{"1 ft/s", Speed, 304.8, 0, "exact, SP 811"},
		{"1 g", Acceleration, 9806.65, 0, "exact, SP 811 (3rd CGPM)"},
		{"1 m/s²", Acceleration, 1000, 0, "definition"},
		{"1 m/s2", Acceleration, 1000, 0, "definition"},
		{"1 m/s^2", Acceleration, 1000, 0, "definition"},
		{"1 lbf", Force, 4.4482216152605, 0, "exact, SP 811"},
		{"1 kgf", Force, 9.80665, 0, "exact, SP 811"},
		{"2.5 kN", Force, 2500, 0, "definition"},
		{"1 psi", Pressure, 6894.757293168e-6, 1e-13, "SP 811: 6894.757 Pa; the longer figure is lbf/in² by definition"},
		{"1 ksi", Pressure, 6.894757, 1e-7, sp811},
		{"1 psf", Pressure, 47.88026e-6, 1e-6, sp811},
		{"1 bar", Pressure, 0.1, 0, "definition"},
		{"1 mbar", Pressure, 1e-4, 0, "definition"},
		{"2 kPa", Pressure, 2e-3, 0, "definition"},
		{"70 GPa", Pressure, 70e3, 0, "definition"},
		{"70 N/mm²", Pressure, 70, 0, "definition"},
		{"1 kg", Mass, 1e-3, 0, "definition"},
		{"1 g", Mass, 1e-6, 0, "definition"},
		{"1 t", Mass, 1, 0, "definition"},
		{"1 lb", Mass, 0.45359237e-3, 0, "exact, SP 811"},
		{"1 oz", Mass, 28.34952e-6, 1e-6, sp811},
		{"1.225 kg/m³", Density, 1.225e-12, 0, "ISO 2533 sea level, definition of the unit"},
		{"2.7 g/cm3", Density, 2.7e-9, 0, "definition"},
		{"1 lb/ft3", Density, 16.01846e-12, 1e-6, sp811},
		{"1 lb/in³", Density, 27679.90e-12, 1e-6, sp811},
		{"20 °C", Temperature, 20, 0, "definition"},
		{"20 C", Temperature, 20, 0, "definition"},
		{"68 °F", Temperature, 20, 0, "exact, SP 811"},
		{"-40 F", Temperature, -40, 0, "exact, SP 811"},
		{"293.15 K", Temperature, 20, 0, "exact, SP 811"},
		{"0 K", Temperature, -273.15, 0, "exact, SP 811"},
		{"-459.67 °F", Temperature, -273.15, 1e-15, "exact, SP 811"},
		{"1 N·m", Torque, 1000, 0, "definition"},
		{"1 N m", Torque, 1000, 0, "definition"},
		{"1 Nm", Torque, 1000, 0, "definition"},
		{"1 N-m", Torque, 1000, 0, "definition"},
		{"1 N⋅mm", Torque, 1, 0, "definition"},
		{"1 lbf·in", Torque, 112.9848, 1e-6, sp811},
		{"1 in-lb", Torque, 112.9848, 1e-6, sp811},
		{"1 in lb", Torque, 112.9848, 1e-6, sp811},
		{"1 ft-lb", Torque, 1355.818, 1e-6, sp811},
		{"1 ozf·in", Torque, 7.061552, 1e-6, sp811},
		{"1 N/mm", Rate, 1, 0, "definition"},
		{"1 kN/m", Rate, 1, 0, "definition"},
		{"1 lbf/in", Rate, 0.1751268, 1e-6, sp811},
		{"1 lb/ft", Rate, 0.01459390, 1e-6, sp811},
		{"1 N/mm3", Modulus, 1, 0, "definition"},
		{"1 MPa/mm", Modulus, 1, 0, "definition"},
		{"1 psi/in", Modulus, 6894.757293168e-6 / 25.4, 1e-13, "from psi and in"},
		{"23 µm/mK", Expansion, 23e-6, 0, "definition"},
		{"23 um/m/K", Expansion, 23e-6, 0, "definition"},
		{"23 µm/(m·K)", Expansion, 23e-6, 0, "definition"},
		{"23e-6 /K", Expansion, 23e-6, 0, "definition"},
		{"23e-6/K", Expansion, 23e-6, 0, "definition"},
		{"0.000023 1/K", Expansion, 23e-6, 0, "definition"},
		{"23 ppm/°C", Expansion, 23e-6, 0, "definition"},
		{"10 ppm/°F", Expansion, 18e-6, 0, "9/5 by the size of a degree"},
		{"90°", Angle, math.Pi / 2, 0, "definition"},
		{"90 deg", Angle, math.Pi / 2, 0, "definition"},
		{"0.5 rad", Angle, 0.5, 0, "definition"},
		{"35 %", Number, 0.35, 0, "definition"},
		{"-1.2", Number, -1.2, 0, "no unit"},
		{"3/4", Number, 0.75, 0, "no unit"},
	} {
		q, err := Parser{}.Parse(c.text, c.dim)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if !near(q.Value, c.want) && math.Abs(q.Value-c.want) > c.figs*math.Abs(c.want) {
			t.Errorf("%q: %.17g, want %.17g (%s)", c.text, q.Value, c.want, c.source)
		}
	}
}

func TestSpreads(t *testing.T) {
	for _, c := range []struct {
		text        string
		dim         Dimension
		value, half float64
	}{
		{"2.6 ± 0.3 mm", Length, 2.6, 0.3}, {"2.6 mm ± 0.3 mm", Length, 2.6, 0.3}, {"2.6 mm ± 0.3", Length, 2.6, 0.3},
		{"2.6 ± 0.3", Length, 2.6, 0.3}, {"2.6+/-0.3 mm", Length, 2.6, 0.3}, {"2.6 +- 0.3 mm", Length, 2.6, 0.3},
		{"0.1 in ± 0.05 mm", Length, 2.54, 0.05}, {"0.1 ± 0.01 in", Length, 2.54, 0.254}, {"1/8 ± 1/64 in", Length, 3.175, 0.396875},
		{"2.6 mm ± 5 %", Length, 2.6, 0.13}, {"-2 mm ± 5%", Length, -2, 0.1}, {"16 swg ± 0.05 mm", Length, 1.6256, 0.05},
		{"16 swg ± 10 %", Length, 1.6256, 0.16256}, {"3 mm ± 0", Length, 3, 0},
		{"20 ± 5 °C", Temperature, 20, 5}, {"68 ± 9 °F", Temperature, 20, 5}, {"293.15 K ± 9 °F", Temperature, 20, 5},
		{"50 % ± 5 %", Number, 0.5, 0.05}, {"50 % ± 5", Number, 0.5, 0.05}, {"0.3 ± 0.1", Number, 0.3, 0.1}, {"90 ± 2°", Angle, math.Pi / 2, math.Pi / 90},
	} {
		q, err := shop.Parse(c.text, c.dim)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if !near(q.Value, c.value) || !near(q.Half, c.half) || q.Spread != Limits {
			t.Errorf("%q: %+v, want %v ± %v", c.text, q, c.value, c.half)
		}
	}
}

// Mean and s/√n of three readings: 6.2, 0.1/√3 by hand (JCGM 100:2008 4.2.2 and 4.2.3).
func TestReadings(t *testing.T) {
	for text, want := range map[string]struct{ mean, unc float64 }{
		"readings [6.1, 6.3, 6.2] mm":      {6.2, 0.1 / math.Sqrt(3)},
		"Readings [6.1,6.3,6.2]":           {6.2, 0.1 / math.Sqrt(3)},
		"readings[6.1; 6.3; 6.2] mm":       {6.2, 0.1 / math.Sqrt(3)},
		"readings [6.1 mm, 6.3, 0.62 cm]":  {6.2, 0.1 / math.Sqrt(3)},
		"readings [1/8, 1/8] in":           {3.175, 0},
		"readings [0.1, 0.2, 0.3, 0.4] in": {6.35, 25.4 * math.Sqrt(0.05/3/4)},
	} {
		q, err := shop.Parse(text, Length)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if !near(q.Value, want.mean) || math.Abs(q.StdUnc-want.unc) > 1e-14 || q.Spread != Readings || len(q.Readings) < 2 {
			t.Errorf("%q: %+v, want %+v", text, q, want)
		}
	}
	q, err := Parser{}.Parse("readings [68, 86] °F", Temperature)
	if err != nil || !near(q.Value, 25) || !near(q.StdUnc, 5) {
		t.Errorf("degrees Fahrenheit: %+v %v", q, err)
	}
}

// Each refusal: rule, rune offset, and words that the message must hold.
func TestRefusals(t *testing.T) {
	long := strings.Repeat("9", 31)
	for _, c := range []struct {
		text, rule string
		dim        Dimension
		offset     int
		holds      string
	}{
		{"", RuleQuantity, Length, 0, "write the length"},
		{"wide", RuleQuantity, Length, 0, "start with a number"},
		{"F", RuleQuantity, Length, 0, "letter F"},
		{"mm", RuleQuantity, Length, 0, "start with a number"},
		{"NaN", RuleQuantity, Number, 0, "a plain number"},
		{"inf mm", RuleQuantity, Length, 0, "start with a number"},
		{"about 3 mm", RuleQuantity, Length, 0, "± 0.3 mm"},
		{"> 3 mm", RuleQuantity, Length, 0, "the limit itself"},
		{"- 3 mm", RuleQuantity, Length, 0, "next to the number"},
		{".", RuleQuantity, Number, 0, "start with a number"},
		{"0x1F mm", RuleUnknownUnit, Length, 1, "one number with one unit"},
		{"4,3 mm", RuleComma, Length, 0, "write 4.3"},
		{"0,187 in", RuleComma, Length, 0, "write 0.187"},
		{"4,3", RuleComma, Number, 0, "write 4.3"},
		{"1,200 mm", RuleComma, Length, 0, "write 1.200 or 1200"},
		{"1,200,000 mm", RuleThousands, Length, 0, "leave thousands marks out"},
		{"1.200,5 mm", RuleThousands, Length, 0, "a point before the decimals"},
		{"1.200.000 mm", RuleThousands, Length, 0, "leave thousands marks out"},
		{"1 200 mm", RuleThousands, Length, 0, "write 1200"},
		{"1'200 N", RuleThousands, Force, 0, "write 1200"},
		{"1_000 mm", RuleThousands, Length, 0, "leave thousands marks out"},
		{"4, mm", RuleQuantity, Length, 0, "leave the comma out"},
		{"3 4 mm", RuleQuantity, Length, 0, "two numbers"},
		{"2-3 mm", RuleQuantity, Length, 0, "not a range"},
		{"3/0 in", RuleQuantity, Length, 0, "division by nought"},
		{"1-5/4 in", RuleQuantity, Length, 0, "check the fraction"},
		{"1.5/2 in", RuleQuantity, Length, 0, "fractions of whole numbers"},
		{"3/4/5 in", RuleQuantity, Length, 0, "one number"},
		{"2 ft 13 in", RuleQuantity, Length, 0, "less than 12 in"},
		{"2.5 ft 3 in", RuleQuantity, Length, 0, "whole feet"},
		{"2 ft 3 mm", RuleQuantity, Length, 7, "inches after feet"},
		{"62", RuleMissingUnit, Speed, 0, "write the unit, as 62 m/s"},
		{"0", RuleMissingUnit, Force, 0, "N, kN, lbf or kgf"},
		{"5 kg", RuleDimension, Length, 2, "a unit of mass"},
		{"30 lb", RuleDimension, Force, 3, "write lbf"},
		{"30 kg", RuleDimension, Force, 3, "write N, or kgf"},
		{"3 mm", RuleDimension, Number, 2, "a unit of length"},
		{"3 g", RuleDimension, Speed, 2, "a unit of acceleration or mass"},
		{"3 furlongs", RuleUnknownUnit, Length, 2, "which is no unit known here"},
		{"3 -mm", RuleUnknownUnit, Length, 2, "no unit known"},
		{"3 mm-", RuleUnknownUnit, Length, 2, "no unit known"},
		{"23e6 -/K", RuleUnknownUnit, Expansion, 5, "no unit known"},
		{"3 ·", RuleUnknownUnit, Force, 2, "no unit known"},
		{"3 mpa", RuleUnknownUnit, Pressure, 2, `did you mean "MPa"`},
		{"3 Mm", RuleUnknownUnit, Length, 2, `did you mean "mm"`},
		{"18 gauge", RuleAmbiguous, Length, 0, "18 awg = 1.02 mm (0.040 in) for aluminium"},
		{"18 ga", RuleAmbiguous, Length, 0, "18 gsg = 1.31 mm (0.052 in) for galvanized"},
		{"gauge 18", RuleAmbiguous, Length, 0, "18 swg = 1.22 mm (0.048 in)"},
		{"18g", RuleAmbiguous, Length, 0, "18 stainless = 1.27 mm (0.050 in)"},
		{"18 ga steel", RuleAmbiguous, Length, 0, "18 msg = 1.21 mm (0.048 in)"},
		{"77 ga", RuleAmbiguous, Length, 0, "write the thickness"},
		{"18 swg awg", RuleAmbiguous, Length, 0, "two systems"},
		{"99 swg", RuleUnknownGauge, Length, 0, "which no table here has"},
		{"#99", RuleUnknownDrill, Length, 0, "#1 to #80"},
		{"#", RuleUnknownDrill, Length, 0, "#1 to #80"},
		{"letter FF", RuleUnknownDrill, Length, 0, "A to Z"},
		{"readings [6.1] mm", RuleOneReading, Length, 0, "one reading says nothing"},
		{"readings [] mm", RuleOneReading, Length, 0, "two readings or more"},
		{"readings 6.1, 6.2 mm", RuleQuantity, Length, 0, "square brackets"},
		{"readings ]6.1, 6.2[ mm", RuleQuantity, Length, 0, "square brackets"},
		{"readings of [6.1, 6.2] mm", RuleQuantity, Length, 0, "nothing between"},
		{"readings [6.1, , 6.2] mm", RuleQuantity, Length, 15, "an empty reading"},
		{"readings [6.1, xy] mm", RuleQuantity, Length, 15, "start with a number"},
		{"readings [6,1; 6,2] mm", RuleComma, Length, 10, "write 6.1"},
		{"readings [6.1, 6.2]", RuleMissingUnit, Force, 10, "write the unit"},
		{"readings [6.1, 6.2] kg", RuleDimension, Length, 20, "a unit of mass"},
		{"readings [1" + strings.Repeat(",1", 200) + "] mm", RuleTooLong, Length, 0, "at most 200"},
		{"2.6 ± mm", RuleQuantity, Length, 6, "start with a number"},
		{"± 3 mm", RuleLimits, Length, 0, "nothing beside ±"},
		{"3 mm ±", RuleLimits, Length, 6, "nothing beside ±"},
		{"3 ± -0.1 mm", RuleLimits, Length, 4, "negative half-width"},
		{"3 ± 0.1 ± 0.1 mm", RuleLimits, Length, 4, "a second ±"},
		{"2.6 +0.2/-0.1 mm", RuleLimits, Length, 4, "the middle of the limits"},
		{"2.6 +0.2 -0.1 mm", RuleLimits, Length, 4, "the middle of the limits"},
		{"20 °C ± 5 %", RuleLimits, Temperature, 8, "write degrees"},
		{"50 ± 5 %", RuleLimits, Number, 5, "on both sides"},
		{"0.5 ± 5 %", RuleLimits, Number, 6, "on both sides"},
		{"3 ± 0.1 kg", RuleDimension, Length, 8, "a unit of mass"},
		{"3 ± 0.1", RuleMissingUnit, Force, 0, "write the unit"},
		{"-300 °C", RuleAbsoluteZero, Temperature, 0, "check the sign"},
		{"-1 K", RuleAbsoluteZero, Temperature, 0, "check the sign"},
		{"-270 ± 5 °C", RuleAbsoluteZero, Temperature, 0, "check the sign"},
		{"readings [-300, 0] °C", RuleAbsoluteZero, Temperature, 0, "check the sign"},
		{long + " mm", RuleTooLong, Length, 0, "at most 30 digits"},
		{"1/" + long + " in", RuleTooLong, Length, 0, "digits"},
		{"1000000000001 mm", RuleTooLarge, Length, 0, "1 000 000 000 000"},
		{"1e31 mm", RuleTooLarge, Length, 0, "exponents"},
		{"1e100000000000000000000 mm", RuleTooLarge, Length, 0, "exponents"},
		{strings.Repeat("x", 2001), RuleTooLong, Length, 0, "at most 2000"},
		{"3 \xff", RuleUnknownUnit, Length, 2, "no unit known"},
	} {
		q, err := shop.Parse(c.text, c.dim)
		if err == nil {
			t.Errorf("%.40q was read as %v", c.text, q.Value)
			continue
		}
		if err.Rule != c.rule || err.Offset != c.offset || !strings.Contains(err.Error(), c.holds) {
			t.Errorf("%.40q: offset %d, %v\nwant rule %s, offset %d, and %q", c.text, err.Offset, err, c.rule, c.offset, c.holds)
		}
	}
}

func TestNothingNamed(t *testing.T) {
	for _, text := range []string{"#30", "letter F", "16 swg", "18 gauge"} {
		if _, err := (Parser{}).Parse(text, Length); err == nil || err.Hint == "" {
			t.Errorf("%q without tables: %v", text, err)
		}
	}
}

func TestDeclaredUnits(t *testing.T) {
	p := Parser{Units: Units{Length: "in", Speed: "mph", Temperature: "°F"}}
	for _, c := range []struct {
		text string
		dim  Dimension
		want float64
	}{{"1/8", Length, 3.175}, {"100", Speed, 44704}, {"68", Temperature, 20}, {"68 ± 9", Temperature, 20}, {"1-3/16", Length, 30.1625}} {
		if q, err := p.Parse(c.text, c.dim); err != nil || !near(q.Value, c.want) {
			t.Errorf("%q: %v %v, want %v", c.text, q.Value, err, c.want)
		}
	}
	p.Units[Length] = "cubit"
	if _, err := p.Parse("3", Length); err == nil || !strings.Contains(err.Error(), "cubit") {
		t.Errorf("an unknown declared unit: %v", err)
	}
	for name, want := range map[string]bool{"mm": true, "in": true, "m m": false, "kg": false, "": false} {
		if KnownUnit(Length, name) != want {
			t.Errorf("KnownUnit(%q) is not %v", name, want)
		}
	}
}

// Shifting every reading shifts the mean and leaves the uncertainty.
func TestReadingsShift(t *testing.T) {
	a, _ := shop.Parse("readings [0.1, 0.4, 0.2] mm", Length)
	b, _ := shop.Parse("readings [100.1, 100.4, 100.2] mm", Length)
	if math.Abs(b.Value-a.Value-100) > 1e-13 || math.Abs(b.StdUnc-a.StdUnc) > 1e-13 {
		t.Errorf("%+v against %+v", a, b)
	}
}
