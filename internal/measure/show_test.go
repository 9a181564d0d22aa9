package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func ExampleParser_Parse() {
	p := Parser{Units: Units{Length: "mm"}}
	for _, text := range []string{"4.3", "1-3/16\"", "2.6 ± 0.3 mm", "readings [6.1, 6.3, 6.2] mm", "4,3 mm"} {
		q, err := p.Parse(text, Length)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%s ± %s, u %.3f\n", MMInch(q.Value), MM(q.Half), q.StdUnc)
	}
	// Output:
	// 4.30 mm (0.169 in) ± 0.00 mm, u 0.000
	// 30.16 mm (1.188 in) ± 0.00 mm, u 0.000
	// 2.60 mm (0.102 in) ± 0.30 mm, u 0.000
	// 6.20 mm (0.244 in) ± 0.00 mm, u 0.058
	// "4,3 mm"; accepted: a point before the decimals (rule decimal-comma); write 4.3
}

func TestShown(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct{ got, want string }{
		{Fixed(1.005, 1), "1.0"}, {Fixed(25.4/8, 2), "3.18"}, {Fixed(-25.4/8, 2), "-3.18"}, {Fixed(3.17499, 2), "3.17"}, {Fixed(2.5, 0), "3"}, {Fixed(-0.001, 2), "0.00"}, {Fixed(-0.4, 0), "0"}, {Fixed(-0.6, 0), "-1"}, {Fixed(math.Copysign(0, -1), 1), "0.0"},
		{Fixed(nan, 2), "not known"}, {Fixed(inf, 2), "no limit"}, {Fixed(-inf, 2), "no limit"},
		{MM(5.7), "5.70 mm"}, {MM(-5.7), "-5.70 mm"}, {MM(0), "0.00 mm"}, {MM(99.994), "99.99 mm"}, {MM(99.996), "100.0 mm"}, {MM(412.46), "412.5 mm"},
		{MM(2500), "2500.0 mm"}, {MM(nan), "not known"}, {MM(inf), "no limit"},
		{Inch(5.7), "0.224 in"}, {MMInch(5.7), "5.70 mm (0.224 in)"}, {Inch(25.4), "1.000 in"},
		{Newton(4.46), "4.5 N"}, {Newton(99.96), "100 N"}, {Newton(320.4), "320 N"}, {Newton(9999.4), "9999 N"}, {Newton(12345), "12.3 kN"}, {Newton(nan), "not known"}, {Newton(-0.01), "0.0 N"},
		{Pa(0), "0 Pa"}, {Pa(850e-6), "850 Pa"}, {Pa(2354.4e-6), "2354 Pa"}, {Pa(12.5e-3), "12.5 kPa"}, {Pa(68.94), "68.9 MPa"}, {Pa(1.246), "1.25 MPa"}, {Pa(0.99996), "1.00 MPa"}, {Pa(9.996), "10.0 MPa"}, {Pa(3.4e-6), "3.4 Pa"}, {Pa(-850e-6), "-850 Pa"}, {Pa(nan), "not known"},
		{MetrePerSecond(62000), "62.0 m/s"}, {Gravity(19613.3), "2.00 g"}, {NewtonMetre(1254), "1.25 N·m"}, {NewtonMetre(32000), "32.0 N·m"},
		{Kilogram(2.4e-6), "2.4 g"}, {Kilogram(450e-6), "450 g"}, {Kilogram(3.25e-3), "3.25 kg"}, {Kilogram(41e-3), "41.0 kg"}, {Kilogram(0), "0.0 g"}, {Kilogram(0.9999e-3), "1.00 kg"},
		{Degree(math.Pi / 2), "90.0°"}, {Degree(nan), "not known"},
		{Percent(0), "0 %"}, {Percent(1), "100 %"}, {Percent(0.973), "97.3 %"}, {Percent(0.99949), "99.9 %"}, {Percent(0.99951), "> 99.9 %"},
		{Percent(math.Nextafter(1, 0)), "> 99.9 %"}, {Percent(1e-300), "< 0.1 %"}, {Percent(0.00049), "< 0.1 %"}, {Percent(0.00051), "0.1 %"}, {Percent(0.5), "50.0 %"}, {Percent(nan), "not known"}, {Percent(1.2), "120.0 %"}, {Percent(-0.0001), "0.0 %"},
		{Show(0.15, Number), "0.15"}, {Show(3, Number), "3"}, {Show(1.225e-12, Density), "1.225 kg/m³"}, {Show(2.7e-9, Density), "2700 kg/m³"},
		{Show(20, Temperature), "20 °C"}, {Show(-12.34, Temperature), "-12.3 °C"}, {Show(62.04, Rate), "62.0 N/mm"}, {Show(0.5, Modulus), "0.500 N/mm³"},
		{Show(2.7e-31, Rate), "0 N/mm"}, {Show(-2.7e-31, Number), "0"}, {Show(1.23456e-9, Rate), "0.000000001 N/mm"}, {Show(23e-6, Expansion), "23.0 µm/mK"}, {Show(100, Temperature), "100 °C"}, {Show(0, Density), "0 kg/m³"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestFraction(t *testing.T) {
	for _, c := range []struct {
		v    float64
		den  int
		text string
		off  float64
	}{
		{5.7, 32, "7/32 in", 7.0/32*25.4 - 5.7}, {30.1625, 16, "1-3/16 in", 0}, {50.8, 64, "2 in", 0}, {0.1, 16, "0 in", -0.1}, {-30.1625, 16, "-1-3/16 in", 0},
		{-0.1, 16, "0 in", 0.1}, {3.175, 128, "1/8 in", 0}, {12.5, 1, "0 in", -12.5}, {13, 1, "1 in", 12.4}, {25.3, 64, "1 in", 0.1},
	} {
		text, off := Fraction(c.v, c.den)
		if text != c.text || math.Abs(off-c.off) > 1e-12 {
			t.Errorf("Fraction(%v, %d) = %q %v, want %q %v", c.v, c.den, text, off, c.text, c.off)
		}
	}
}

// A fraction that is shown reads back as v + off, and never lies further off than half a step.
func TestFractionReadsBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 2000 {
		den := 1 << rng.IntN(8)
		v := (rng.Float64() - 0.3) * 3000
		text, off := Fraction(v, den)
		q, err := Parser{}.Parse(text, Length)
		if err != nil || math.Abs(q.Value-v-off) > 1e-9 || math.Abs(off) > 25.4/float64(den)/2+1e-9 {
			t.Fatalf("seed 7,8: %v at 1/%d is %q, off %v; read %v %v", v, den, text, off, q.Value, err)
		}
	}
}

func TestPanicsSayWhose(t *testing.T) {
	for name, f := range map[string]func(){
		"Fixed":     func() { Fixed(1, -1) },
		"denom 3":   func() { Fraction(1, 3) },
		"denom 0":   func() { Fraction(1, 0) },
		"denom 256": func() { Fraction(1, 256) },
		"NaN":       func() { Fraction(math.NaN(), 16) },
		"dimension": func() { Show(1, Dimension(99)) },
		"unit":      func() { Unit(Dimension(-1)) },
		"name":      func() { _ = Dimension(99).String() },
		"table": func() {
			bad := Parser{Named: func(string, string) (float64, bool) { return math.NaN(), true }}
			_, _ = bad.Parse("#30", Length)
		},
	} {
		func() {
			defer func() {
				if s, ok := recover().(string); !ok || !strings.HasPrefix(s, "measure: ") {
					t.Errorf("%s: no panic of ours, but %v", name, s)
				}
			}()
			f()
		}()
	}
}

// spans are magnitudes that each dimension meets in a job, in house units.
var spans = map[Dimension]float64{
	Number: 10, Length: 5000, Angle: 3, Speed: 90000, Acceleration: 50000, Force: 20000, Pressure: 300, Mass: 0.1,
	Density: 8e-9, Temperature: 200, Torque: 20000, Rate: 500, Modulus: 10, Expansion: 1e-4,
}

// steps bounds what rounding may take: a part in a thousand of the value, or the least step shown.
var steps = map[Dimension]float64{
	Number: 0.51e-9, Length: 0.0051, Angle: 0.00088, Speed: 51, Acceleration: 50, Force: 0.051, Pressure: 0.51e-6, Mass: 0.051e-6,
	Density: 0.51e-21, Temperature: 0.051, Torque: 5.1, Rate: 0.51e-9, Modulus: 0.51e-9, Expansion: 0.051e-6,
}

func TestShowReadsBack(t *testing.T) {
	for dim := Number; dim <= Expansion; dim++ {
		rng, span := rand.New(rand.NewPCG(9, uint64(dim))), spans[dim]
		for range 3000 {
			v := span * math.Pow(rng.Float64(), 6) // small ones too
			if rng.IntN(3) == 0 && (dim != Temperature) {
				v = -v
			}
			text := Show(v, dim)
			q, err := Parser{}.Parse(text, dim)
			// 0.5 % is half of the last of three figures at its worst (1.00 to 1.01).
			if err != nil || math.Abs(q.Value-v) > math.Max(steps[dim], 0.005*math.Abs(v)) {
				t.Fatalf("seed 9,dimension: %s %v shown as %q, read back as %v %v", dim, v, text, q.Value, err)
			}
			if strings.HasPrefix(text, "-0 ") || strings.HasPrefix(text, "-0.0 ") || strings.HasPrefix(text, "-0.00 ") {
				t.Fatalf("%q", text)
			}
		}
	}
}

// Every spelling in the table reads back what InUnit gives, and the unit that messages name first is read too.
func TestEveryUnitBothWays(t *testing.T) {
	for i := range unitTable {
		u := &unitTable[i]
		for _, name := range append([]string{u.String()}, u.names...) {
			v, ok := InUnit(spans[u.dim], u.dim, name)
			if !ok {
				t.Errorf("%s: InUnit does not know %q", u.dim, name)
				continue
			}
			text := fmt.Sprintf("%.15g %s", v, name)
			q, err := Parser{}.Parse(text, u.dim)
			if err != nil || math.Abs(q.Value-spans[u.dim]) > 1e-12*(spans[u.dim]+300) { // 300: degrees have an offset
				t.Errorf("%s: %q read as %v %v, want %v", u.dim, text, q.Value, err, spans[u.dim])
			}
		}
	}
	if _, ok := InUnit(1, Length, "kg"); ok {
		t.Error("a length in kg")
	}
}

// The house unit that Unit names is one that Parse takes with factor 1.
func TestHouseUnits(t *testing.T) {
	for dim := range spans {
		name := Unit(dim)
		if dim == Number || dim == Density { // none; t/mm³ is never written
			continue
		}
		q, err := Parser{}.Parse("0.5 "+name, dim)
		if err != nil || q.Value != 0.5 {
			t.Errorf("%s: 0.5 %s is %v %v", dim, name, q.Value, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"4.3 mm", "1-3/16\"", "2 ft 3-1/2 in", "#30", "letter F", "16 ga stainless", "18 gauge", "2.6 ± 0.3 mm", "readings [6.1, 6.3, 6.2] mm",
		"1.200,5 mm", "−1.2", "½ in", "20 ± 5 °C", "23e-6 /K", "5 in-lb", "1e30 kg/m³", "3/0 in", "readings [", "±", "+/-", "#", "0' 6\""} {
		for dim := range spans {
			f.Add(s, int(dim))
		}
	}
	f.Fuzz(func(t *testing.T, text string, d int) {
		dim := Dimension(((d % 14) + 14) % 14)
		q, err := shop.Parse(text, dim)
		if err != nil {
			if err.Rule == "" || err.Found == "" || err.Offset < 0 || err.Offset > len([]rune(text)) {
				t.Fatalf("%q as %s: %+v", text, dim, err)
			}
			return
		}
		for _, v := range append([]float64{q.Value, q.Half, q.StdUnc}, q.Readings...) {
			if math.IsNaN(v) || math.Abs(v) > 1e40 {
				t.Fatalf("%q as %s gave %v", text, dim, v)
			}
		}
		if q.Half < 0 || q.StdUnc < 0 || (q.Spread == Readings) != (len(q.Readings) >= 2) || q.Text != text {
			t.Fatalf("%q as %s gave %+v", text, dim, q)
		}
		if math.Abs(q.Value) > 1e6*spans[dim] { // what is shown may exceed what Parse takes in the unit that Show picks
			return
		}
		shown := Show(q.Value, dim)
		back, err := shop.Parse(shown, dim)
		if err != nil || math.Abs(back.Value-q.Value) > math.Max(steps[dim], 0.005*math.Abs(q.Value)) {
			t.Fatalf("%q as %s is %v, shown as %q, read back as %v %v", text, dim, q.Value, shown, back.Value, err)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"4.3 mm", "1-3/16\"", "16 swg", "2.6 ± 0.3 mm", "readings [6.1, 6.3, 6.2] mm"} {
		b.Run(strings.ReplaceAll(text, "/", "|"), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := shop.Parse(text, Length); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkShow(b *testing.B) {
	for b.Loop() {
		Show(5.7, Length)
	}
}

// Numbers that differ read differently, with no more decimals than that takes.
func TestApart(t *testing.T) {
	for _, c := range []struct {
		a, b     float64
		decimals int
		x, y     string
	}{
		{96.612, 96.608, 2, "96.612", "96.608"}, {97, 96.6, 0, "97.0", "96.6"}, {1, 2, 2, "1.00", "2.00"}, {5, 5, 2, "5.00", "5.00"},
		{1.0000001, 1, 2, "1.0000001", "1.0000000"}, {1, 1 + 1e-12, 2, "1.00000000", "1.00000000"},
		{math.NaN(), 1, 1, "not known", "1.0"}, {math.NaN(), math.NaN(), 1, "not known", "not known"},
	} {
		if x, y := Apart(c.a, c.b, c.decimals); x != c.x || y != c.y {
			t.Errorf("%g, %g: %q, %q", c.a, c.b, x, y)
		}
	}
}
