package stock

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/measure"
)

// printed is half a unit of the fourth decimal of an inch, in mm: the tables in print give no more.
const printed = 0.00005 * inch

// Drill sizes in inches, ASME B94.11M, SEEN in two public tables that agree. One public table misprints #1 as 0.288.
func TestDrillSpots(t *testing.T) {
	for name, in := range map[string]float64{"#1": .2280, "#11": .1910, "#21": .1590, "#30": .1285, "#40": .0980, "#52": .0635, "#80": .0135,
		"letter A": .234, "letter E": .250, "letter F": .257, "letter Z": .413} {
		d, ok := DrillNamed(name)
		if !ok || math.Abs(d.Diameter-in*inch) > 1e-4 { // the table gives mm to four decimals
			t.Errorf("%s: %v %v, want %v in", name, d.Diameter, ok, in)
		}
		if d.Source == "" || d.Status != "seen" {
			t.Errorf("%s: origin %+v", name, d.Origin)
		}
	}
	if d, _ := DrillNamed("#1"); d.Diameter != 5.7912 {
		t.Errorf("#1 is %v mm", d.Diameter)
	}
	if d, _ := DrillNamed("#30"); d.Diameter != 3.2639 {
		t.Errorf("#30 is %v mm", d.Diameter)
	}
	if d, _ := DrillNamed("#40"); d.Diameter != 2.4892 {
		t.Errorf("#40 is %v mm", d.Diameter)
	}
}

func TestDrillOrder(t *testing.T) {
	all := Drills()
	if len(all) != 361 {
		t.Errorf("%d drills, want 361: 80 numbers, 26 letters, 64 fractions, 191 metric", len(all))
	}
	for i := 1; i < len(all); i++ {
		if all[i].Diameter < all[i-1].Diameter {
			t.Errorf("%s after %s", all[i].Name, all[i-1].Name)
		}
	}
	last := math.Inf(1)
	for n := 1; n <= 80; n++ {
		mm, ok := Named("number", strconv.Itoa(n))
		if !ok || mm >= last {
			t.Errorf("#%d is %v mm, the one before %v: numbers strictly fall", n, mm, last)
		}
		last = mm
	}
	one, _ := Named("number", "1")
	last = one // #1 < A
	for c := 'A'; c <= 'Z'; c++ {
		mm, ok := Named("letter", string(c))
		if !ok || mm <= last {
			t.Errorf("letter %c is %v mm, the one before %v: letters strictly rise from #1", c, mm, last)
		}
		last = mm
	}
}

// What the rows print in inches and millimetres is one size, but for rounding.
func TestDrillUnitsAgree(t *testing.T) {
	for _, row := range readTable("drills.csv") {
		if mm, in := row.number("mm"), row.number("inch"); math.Abs(mm-in*inch) > printed {
			t.Errorf("%s: %v mm and %v in", row.text("name"), mm, in)
		}
	}
	for n := 1; n <= 64; n++ {
		want := inch * float64(n) / 64
		d, ok := DrillNamed(fmt.Sprintf("%d/64 in", n))
		if !ok || d.Diameter != want || d.Series != SeriesFractional {
			t.Errorf("%d/64 in: %+v", n, d)
		}
	}
}

func TestDrillNamed(t *testing.T) {
	for text, want := range map[string]string{
		"#30": "#30", "# 30": "#30", "number 30": "#30", "no. 30": "#30", "letter F": "F", "f": "F", "F": "F", "Letter f": "F",
		"1/8 in": "1/8 in", "1/8\"": "1/8 in", "0.125 in": "1/8 in", "2/16 in": "1/8 in", "3.3 mm": "3.3 mm", "3.30mm": "3.3 mm", "3 mm": "3 mm",
		"1/4 in": "1/4 in", "0.1285 in": "#30", " 12.5 mm ": "12.5 mm", "1 in": "1 in", "letter E": "E", "13/32 in": "13/32 in",
	} {
		if d, ok := DrillNamed(text); !ok || d.Name != want {
			t.Errorf("%q: %q %v, want %q", text, d.Name, ok, want)
		}
	}
	for _, text := range []string{"", "3.3", "#0", "#81", "letter Ä", "é", "3.33 mm", "16 swg", "3 ± 0.1 mm", "40 mm", "-3 mm", "readings [3, 3] mm"} {
		if d, ok := DrillNamed(text); ok {
			t.Errorf("%q gave %q", text, d.Name)
		}
	}
	// Every drill answers to its own name.
	for _, d := range Drills() {
		name := d.Name
		if d.Series == SeriesLetter {
			name = "letter " + name
		}
		if got, ok := DrillNamed(name); !ok || got != d {
			t.Errorf("%q gave %+v", name, got)
		}
	}
}

// Gauges in inches. SWG after BS 3737, MSG by weight, stainless and galvanized: SEEN in public tables; AWG by its law.
func TestGaugeSpots(t *testing.T) {
	for name, in := range map[string]float64{
		"swg 1": .300, "swg 10": .128, "swg 16": .064, "swg 18": .048, "swg 20": .036, "swg 22": .028, "swg 30": .0124,
		"awg 1": .2893, "awg 10": .1019, "awg 16": .0508, "awg 18": .0403, "awg 20": .0320, "awg 30": .0100,
		"msg 10": .1345, "msg 16": .0598, "msg 18": .0478, "msg 20": .0359, "msg 22": .0299, "msg 30": .0120,
		"gsg 16": .0635, "gsg 20": .0396, "gsg 18": .0516, "stainless 18": .0500,
	} {
		system, number, _ := strings.Cut(name, " ")
		if mm, ok := Named(system, number); !ok || math.Abs(mm-in*inch) > printed+1e-9 {
			t.Errorf("%s: %v mm %v, want %v in = %v mm", name, mm, ok, in, in*inch)
		}
	}
	if mm, _ := Named("swg", "16"); mm != 1.6256 {
		t.Errorf("16 swg is %v mm", mm)
	}
	for _, n := range [][2]string{{"swg", "99"}, {"xyz", "16"}, {"awg", ""}, {"number", "0"}, {"letter", "AA"}} {
		if mm, ok := Named(n[0], n[1]); ok {
			t.Errorf("%s %s is %v mm", n[0], n[1], mm)
		}
	}
}

// AWG: d = 0.005·92^((36−n)/39) in (ASTM B258), for every row, within the four decimals of a millimetre.
func TestGaugeLaw(t *testing.T) {
	n := 0
	last := map[string]float64{}
	for _, g := range Gauges() {
		if before, ok := last[g.System]; ok && g.Thickness >= before {
			t.Errorf("%s %s is not thinner than the one before", g.System, g.Name)
		}
		last[g.System] = g.Thickness
		if g.Source == "" || g.Status == "" {
			t.Errorf("%s %s has no origin", g.System, g.Name)
		}
		if g.System != "awg" {
			continue
		}
		n++
		number, err := strconv.Atoi(g.Name)
		if err != nil {
			t.Fatal(err)
		}
		if want := 0.005 * math.Pow(92, float64(36-number)/39) * inch; math.Abs(g.Thickness-want) > 0.00005+1e-12 {
			t.Errorf("%s awg is %v mm, by the law %v", g.Name, g.Thickness, want)
		}
	}
	if n != 30 || len(last) != 5 {
		t.Errorf("%d awg sizes, %d systems", n, len(last))
	}
	// 10 gauge steel weighs 41.82 lb/ft² per inch: 5.625 lb/ft². SEEN.
	if mm, _ := Named("msg", "10"); math.Abs(41.82*mm/inch-5.625) > 41.82*0.00005 {
		t.Errorf("10 msg weighs %v lb/ft²", 41.82*mm/inch)
	}
}

// "18 gauge" alone is refused, with the list of what it may mean: five thicknesses, 1.02 to 1.31 mm.
func TestGaugeAloneIsAmbiguous(t *testing.T) {
	p := measure.Parser{Named: Named}
	_, err := p.Parse("18 gauge", measure.Length)
	if err == nil || err.Rule != measure.RuleAmbiguous {
		t.Fatalf("18 gauge: %v", err)
	}
	for _, want := range []string{"18 awg = 1.02 mm (0.040 in)", "18 msg = 1.21 mm (0.048 in)", "18 swg = 1.22 mm (0.048 in)", "18 stainless = 1.27 mm (0.050 in)", "18 gsg = 1.31 mm (0.052 in)"} {
		if !strings.Contains(err.Hint, want) {
			t.Errorf("%q lacks %q", err.Hint, want)
		}
	}
}

func TestMaterials(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range Materials() {
		switch {
		case seen[m.ID]:
			t.Errorf("%s stands twice", m.ID)
		case !slices.Contains(Families(), m.Family):
			t.Errorf("%s is of family %q", m.ID, m.Family)
		case m.Source == "" || m.Status == "" || m.Name == "":
			t.Errorf("%s: %q, origin %+v", m.ID, m.Name, m.Origin)
		case m.Rho < 0.1e-9 || m.Rho > 9e-9:
			t.Errorf("%s: density %v tonne/mm³", m.ID, m.Rho)
		case m.Family.Metal() && (m.Galvanic <= 0 || m.GalvanicOrigin.Source == "" || m.E < 50e3 || m.CTE < 5e-6):
			t.Errorf("%s: %+v", m.ID, m)
		case m.Family == GlassFibre && m.Galvanic >= 0:
			t.Errorf("%s is no conductor, and has the index %v", m.ID, m.Galvanic)
		case m.Yield > m.Ultimate && m.Ultimate > 0:
			t.Errorf("%s yields at %v, breaks at %v", m.ID, m.Yield, m.Ultimate)
		}
		seen[m.ID] = true
	}
	m, ok := MaterialByID("al6061t6_typ") // 68.9 GPa, 0.33, 2700 kg/m³, bearing 607 MPa: SEEN
	if !ok || m.E != 68900 || m.Nu != 0.33 || math.Abs(m.Rho-2.7e-9) > 1e-20 || m.BearingUltimate != 607 || m.Status != "seen" {
		t.Errorf("%+v", m)
	}
	m.E = 1
	if again, _ := MaterialByID("al6061t6_typ"); again.E != 68900 {
		t.Error("a caller changed the table")
	}
	if _, ok := MaterialByID("cheese"); ok {
		t.Error("cheese is known")
	}
}

// Couples by the anodic index, MIL-STD-1250A lineage: the differences are arithmetic on rows that stand as SEEN or MEMORY.
func TestGalvanicCouples(t *testing.T) {
	volts := func(id string) float64 {
		m, ok := MaterialByID(id)
		if !ok {
			t.Fatalf("no %s", id)
		}
		return m.Galvanic
	}
	for _, c := range []struct {
		a, b string
		want float64
	}{{"al6061t6", "ss304", 0.40}, {"al6061t6", "stzinc", 0.35}, {"al2024t3", "st1018cd", 0.10}, {"cfrp_woven_qi", "al6061t6", 0.85}} {
		if got := math.Abs(volts(c.a) - volts(c.b)); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s on %s: %v V, want %v", c.a, c.b, got, c.want)
		}
	}
	last := -1.0
	for _, g := range GalvanicIndices() {
		if g.Volts < last || g.Source == "" {
			t.Errorf("%s: %v V after %v", g.Key, g.Volts, last)
		}
		last = g.Volts
	}
}

// Cutting speeds: 200 to 300 ft/min for aluminium and 70 to 100 for mild steel, SEEN in several public tables.
func TestSpeeds(t *testing.T) {
	for f, ft := range map[Family][2]float64{Aluminium: {200, 300}, Steel: {70, 100}, Stainless: {30, 50}, Titanium: {20, 40}, Plastic: {100, 300}} {
		s, ok := SpeedFor(f, "hss")
		if !ok || math.Abs(s.LowMPM-0.3048*ft[0]) > 1 || math.Abs(s.HighMPM-0.3048*ft[1]) > 2 || s.Status != "seen" { // tables round to whole m/min
			t.Errorf("%s: %+v, want %v ft/min", f, s, ft)
		}
	}
	for _, s := range Speeds() {
		if s.LowMPM <= 0 || s.HighMPM < s.LowMPM || s.CountersinkDivisor < 2 || s.CountersinkDivisor > 3 || s.Source == "" {
			t.Errorf("%+v", s)
		}
	}
	for _, f := range Families() {
		if _, ok := SpeedFor(f, "carbide"); ok != (f != Seal) {
			t.Errorf("%s with carbide: %v", f, ok)
		}
	}
	if _, ok := SpeedFor(CarbonFibre, "hss"); ok {
		t.Error("high-speed steel in carbon fibre is not advised")
	}
}
