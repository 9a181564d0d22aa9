package drawing

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

func sectionFixture(face stock.Face, mount stock.Mount, shim bool) (*setout.Panel, *sectionModel) {
	o, e := decided.Rounded(300, 200, 20, "a", "b", "c", "d")
	c := decided.Choice(face, mount, "raised")
	if shim {
		c.Shim = &stock.Shim{ID: "sample-shim", Name: "sample shim", Thickness: stock.Toleranced{Nom: 0.5}}
	}
	p := decided.Panel("p", "P", o, e, 200, c, job.Layer{Name: "between 1", Material: decided.Foam, Thickness: job.Thickness{Nom: 1}})
	return p, sectionOf(p, p.Stations[0])
}

// Depths of a section are the plan's: the receptacle's face lies T under the seat, the wires R and z, and the layers that
// the mounting counts end at that face. Expected figures by hand from outer 2.6, between 1.0, inner 1.6.
func TestSectionDepths(t *testing.T) {
	for _, c := range []struct {
		face         stock.Face
		mount        stock.Mount
		seat, mountY float64
	}{
		{stock.PlateOutside, stock.Behind, 0, 5.2},
		{stock.PlateNone, stock.Behind, 0, 5.2},
		{stock.PlateBehind, stock.Behind, 2.6, 5.2},
		{stock.PlateOutside, stock.FrontBesideSeat, 0, 3.6},
		{stock.PlateBehind, stock.FrontUnderPanel, 2.6, 3.6},
	} {
		_, m := sectionFixture(c.face, c.mount, false)
		for what, v := range map[string][2]float64{
			"seat": {m.seat, c.seat}, "mounting face": {m.mount, c.mountY},
			"locked wire": {m.locked, c.seat + m.c.Stud.Reach.Nom}, "free wire": {m.free, c.mountY + m.c.Receptacle.Depth.Nom},
			"deflection": {m.free - m.locked, m.st.Close.Delta},
		} {
			if math.Abs(v[0]-v[1]) > 1e-9 {
				t.Errorf("%s, %s: %s at %.3f, want %.3f", c.face, c.mount, what, v[0], v[1])
			}
		}
	}
}

// The words beside the shim say which way the wire goes, and the model moves it that way by the shim.
func TestSectionShimDirection(t *testing.T) {
	for mount, want := range map[stock.Mount]float64{stock.Behind: 0.5, stock.FrontBesideSeat: -0.5, stock.FrontUnderPanel: 0} {
		_, bare := sectionFixture(stock.PlateOutside, mount, false)
		_, shimmed := sectionFixture(stock.PlateOutside, mount, true)
		if got := shimmed.free - bare.free; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: a shim of 0.5 mm moves the free wire by %.3f", mount, got)
		}
		words, way := ShimWay(mount)
		verb := map[float64]string{0.5: "tightens", -0.5: "loosens", 0: "nothing"}[want]
		if way != want*2 || !strings.Contains(words, verb) {
			t.Errorf("%s: %q, way %g", mount, words, way)
		}
	}
}

// What is left of a layer is its length less its holes, less the cones of its countersinks, by area.
func TestSectionSolidsArea(t *testing.T) {
	const r, R, depth, thick = 2.0, 4.0, 1.5, 3.0
	for _, c := range []struct {
		name string
		o    sectionOpening
		gone float64 // area of the opening
	}{
		{"plain", sectionOpening{r: r}, 2 * r * thick},
		{"front", sectionOpening{r: r, front: sectionSink{R, depth}}, 2*r*thick + (R-r)*depth},
		{"back", sectionOpening{r: r, back: sectionSink{R, depth}}, 2*r*thick + (R-r)*depth},
		{"both", sectionOpening{r: r, front: sectionSink{R, 1}, back: sectionSink{R, 1}}, 2*r*thick + 2*(R-r)},
		// A cone of depth 4 in a sheet of 3: at the back it is still R − (R−r)·3/4 = 2.5.
		{"knife edge", sectionOpening{r: r, front: sectionSink{R, 4}}, (R + 2.5) * thick},
	} {
		b := sectionBand{x0: -20, x1: 20, y1: thick, openings: []sectionOpening{c.o}}
		sum := 0.0
		for _, p := range b.solids() {
			sum += math.Abs(p.Area())
		}
		if math.Abs(sum+c.gone-40*thick) > 1e-9 {
			t.Errorf("%s: %.4f left, want %.4f", c.name, sum, 40*thick-c.gone)
		}
	}
	b := sectionBand{x0: -20, x1: 20, y1: 1, openings: []sectionOpening{{x: 3, r: 2}, {x: -3, r: 2}, {x: 4, r: 2}}}
	if n := len(b.solids()); n != 3 {
		t.Errorf("two openings that run into each other: %d solids", n)
	}
}

// Rivets bear on the faces that the plan names: the dome on the plate, the tail on the outer panel's back, and reversed
// ones the other way round.
func TestSectionRivets(t *testing.T) {
	p, m := sectionFixture(stock.PlateOutside, stock.Behind, false)
	for _, v := range m.rivets {
		switch v.joint.Part {
		case "plate":
			if v.head != -1.2 || v.tail != 2.6 || v.out != -1 {
				t.Errorf("plate rivet from %.2f to %.2f, out %g", v.head, v.tail, v.out)
			}
		case "receptacle":
			if math.Abs(v.head-3.6) > 1e-9 || math.Abs(v.tail-6.2) > 1e-9 || v.out != -1 {
				t.Errorf("receptacle rivet from %.2f to %.2f, out %g", v.head, v.tail, v.out)
			}
		}
	}
	if len(m.rivets) != 4 {
		t.Errorf("%d rivets, want 4", len(m.rivets))
	}
	for i := range p.Joins {
		p.Joins[i].Joins = []string{p.Joins[i].Joins[1], p.Joins[i].Joins[0]}
	}
	for _, v := range sectionOf(p, p.Stations[0]).rivets {
		if v.out != 1 || v.head < v.tail {
			t.Errorf("reversed: head at %.2f, tail at %.2f, out %g", v.head, v.tail, v.out)
		}
	}
}

// Stations that look alike share a section; another shim or stack gets its own; all are listed once.
func TestSectionKinds(t *testing.T) {
	plan := decided.Drawn("A4")
	total := 0
	for _, p := range plan.Panels {
		total += len(p.Stations)
	}
	kinds := SectionKinds(plan)
	if len(kinds) != 3 {
		t.Fatalf("%d kinds, want 3", len(kinds))
	}
	st := plan.Panels[0].Stations[4]
	st.Close.T, st.Stack.Measured = 4.5, true
	kinds = SectionKinds(plan)
	if len(kinds) != 4 {
		t.Fatalf("%d kinds with one measured stack, want 4", len(kinds))
	}
	listed := 0
	for _, k := range kinds {
		for _, s := range k.Stations {
			listed += len(s.Stations)
		}
	}
	if listed != total {
		t.Errorf("%d stations listed, there are %d", listed, total)
	}
	if m := sectionOf(plan.Panels[0], st); math.Abs(m.layers[len(m.layers)-1].y1-4.5) > 1e-9 {
		t.Errorf("a measured stack of 4.5 mm is drawn %.3f mm thick", m.layers[len(m.layers)-1].y1)
	}
	plan.Panels[0].Stations[0].Choice = nil // nothing fits there: no section, no crash
	if _, err := Templates(plan); err != nil {
		t.Error(err)
	}
}

func TestSectionRuns(t *testing.T) {
	for want, ids := range map[string][]string{"1–4, 7": {"1", "2", "3", "4", "7"}, "1, 2": {"1", "2"}, "left, 9, 10": {"left", "9", "10"}, "": nil, "01, 02, 03": {"01", "02", "03"}} {
		if got := StationRuns(ids); got != want {
			t.Errorf("%v: %q, want %q", ids, got, want)
		}
	}
}

// The numbers' leaders do not cross, and the numbers keep their distance.
func TestSectionLeadersDoNotCross(t *testing.T) {
	plan := decided.Drawn("A4")
	for _, k := range SectionKinds(plan) {
		m := sectionOf(k.Panel, k.Station)
		var c Canvas
		rows := sectionParts(plan.Job, k.Panel, m)
		s := sectionPlot{m: m, c: &c, scale: 3, full: true, origin: At(140, 80)}
		s.balloons(15, rows, 30, 120)
		var lines [][2]plane.Point
		for _, it := range c.Items {
			if l, ok := it.(sheet.Stroke); ok {
				lines = append(lines, [2]plane.Point{l.Path.V[0].Point, l.Path.V[1].Point})
			}
		}
		for i := range lines {
			for j := range i {
				if viewCross(lines[i][0], lines[i][1], lines[j][0], lines[j][1]) {
					t.Errorf("section %s: two leaders cross", k.Name)
				}
			}
		}
		texts := TextsOf(c.Items)
		for i := 1; i < len(texts); i++ {
			if d := texts[i].At.Y - texts[i-1].At.Y; d < 5.8 {
				t.Errorf("section %s: numbers %.1f mm apart", k.Name, d)
			}
		}
	}
}

func TestUnknownPaper(t *testing.T) {
	plan := decided.Drawn("A7")
	if _, err := Templates(plan); err == nil || !strings.Contains(err.Error(), "A7") {
		t.Errorf("Templates: %v", err)
	}
	if _, err := Sections(plan); err == nil {
		t.Error("Sections took paper A7")
	}
}
