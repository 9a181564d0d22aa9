package card

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/drawing"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// cardFixture is the fixture's plan with what a card needs beside drawings: stages, tools, cures, cautions.
func cardFixture(paper string) *setout.Plan {
	p := decided.Drawn(paper)
	p.Job.Conditions.TopSpeed.Value = 62000
	p.Job.Conditions.Marking = "match"
	texts := map[string]string{
		"eyes":              "Wear eye protection, also those who stand by.",
		"glass-dust":        "Glass dust: draw it off at the tool, wear a mask, wash before you eat.",
		"sharp-edges":       "Cut sheets have sharp edges: gloves while you carry them, none near a turning drill.",
		"rivet-stems":       "Spent rivet stems fly and roll: catch them, count them, leave none in the vehicle.",
		"fuel":              "A fuel line lies behind: know where before a drill goes through; stop the drill's depth.",
		"welding":           "Take the sprung wire out before welding. Zinc gives fume that makes ill: grind it off, draw the fume away.",
		"second-retention":  "A panel that the wind can lift needs a second retention.",
		"access":            "Keep the isolator within reach with the panel on.",
		"something-unknown": "A caution that no table knows stands in the head.",
		"recheck":           "Check every station again after the first run.",
	}
	for _, id := range []string{"fuel", "glass-dust", "sharp-edges", "eyes", "access", "recheck", "rivet-stems", "second-retention", "something-unknown", "welding"} {
		c := setout.Caution{ID: id, Text: texts[id]}
		for _, pan := range p.Panels {
			if id == "welding" && pan.Job.ID != "pod" {
				continue
			}
			c.Panels = append(c.Panels, pan.Job.ID)
			pan.Cautions = append(pan.Cautions, id)
		}
		p.Cautions = append(p.Cautions, c)
	}
	for _, pan := range p.Panels {
		cardFixturePanel(pan)
	}
	p.Panels[0].Job.OpensForward = true
	p.Panels[0].Job.Supports[0].Seal = &job.SealStrip{PushPerLength: 0.4}
	return p
}

func cardFixturePanel(pan *setout.Panel) {
	pan.DropOn = &setout.DropOn{Marking: "match drilling", Zone: 0.1, Clear: 1.3, Chance: 0.9993}
	pan.Load.Mass = 0.0042
	for i, st := range pan.Stations {
		st.Corner = i%4 == 0
		st.Close.Cure = "loose: one shim of 0.50 mm more under the receptacle; tight: the stud of the next reach, 8.6 mm, or re-set the wire towards the head, once, by at most 0.4 mm"
	}
	for i := range pan.Holes {
		h := &pan.Holes[i]
		h.Stage, h.Tool, h.RPM, h.Pilot, h.Clamped = 2, "twist drill", 1500, decided.Drill("3.0 mm", 3), h.Purpose == "centre"
		switch {
		case h.Purpose == "relief":
			h.Stage, h.Note = 4, "for the tail of the rivet in the outer panel"
		case h.Layer == "outer":
			h.Tool, h.Note = "carbide drill with backing board", "no oil; collect the dust at the tool"
		default:
			h.Note = "a drop of light oil"
		}
		if h.Countersink != nil {
			h.Note += "; countersink slowly, with a drop of light oil"
			h.Countersink.RPM, h.Countersink.Purpose = 300, "rivet head"
		}
	}
	for i := range pan.Joins {
		pan.Joins[i].Grip, pan.Joins[i].Reason = 3.8, "the tail stands proud on a meeting face, and the inner panel has room for a relief hole"
		if pan.Joins[i].Part == "plate" {
			pan.Joins[i].WasherDiameter, pan.Joins[i].WasherThickness = 8, 0.8
		}
	}
}

// cardLong gives a panel n stations along its edge, and names of 60 letters.
func cardLong(paper string, n int) *setout.Plan {
	p := cardFixture(paper)
	o, e := decided.Rounded(1800, 900, 40, strings.Repeat("starboard ", 5), "b", "c", "d")
	pan := decided.Panel("long", strings.Repeat("Engine hatch ", 5)[:60], o, e, 5400/float64(n), decided.Choice(stock.PlateOutside, stock.Behind, "raised"))
	pan.Job.Front = e[0].Name
	cardFixturePanel(pan)
	for i := range pan.Stations {
		if i%7 == 3 {
			pan.Stations[i].ID = fmt.Sprintf("station with a long name, %d", i)
		}
	}
	// The joints and holes keep the old ids, which the names must match.
	pan.Holes, pan.Joins = nil, nil
	for _, st := range pan.Stations {
		decided.Holes(pan, st)
	}
	cardFixturePanel(pan)
	p.Job.Name = strings.Repeat("A car of a long name ", 4)
	p.Panels = []*setout.Panel{pan}
	return p
}

// cardPlans are plans that every card must stand.
func cardPlans() map[string]*setout.Plan {
	out := map[string]*setout.Plan{}
	for _, paper := range []string{"A4", "A3", "Letter"} {
		out["fixture "+paper] = cardFixture(paper)
	}
	inch := cardFixture("Letter")
	inch.Job.Inch = true
	out["inch"] = inch
	out["long"] = cardLong("A4", 40)
	out["very long"] = cardLong("Letter", 240)
	none := cardFixture("A4")
	none.Panels[0].Stations, none.Panels[0].Holes, none.Panels[0].Joins, none.Panels[0].Choices, none.Panels[0].DropOn = nil, nil, nil, nil, nil
	none.Panels[0].Faults = []string{"nothing fits: the deepest stack is 9.20 mm, the longest reach 8.00 mm; a stud of reach 9.4 to 10.2 mm would close it"}
	lost := none.Panels[1]
	lost.Choices, lost.Holes, lost.Joins, lost.DropOn = nil, nil, nil, nil
	for _, st := range lost.Stations {
		st.Choice, st.Stack, st.Close = nil, setout.StackSum{}, setout.Closing{}
	}
	out["nothing fits"] = none
	fails := cardFixture("A4")
	for _, st := range fails.Panels[0].Stations {
		st.Checks = append(st.Checks, setout.Check{ID: "edge-distance", Name: "rivet edge distance", Value: 7.2, Limit: 9, Unit: "mm", AtLeast: true, Verdict: setout.DoesNotHold})
	}
	for i := range fails.Panels[0].Holes {
		if i%5 == 0 {
			fails.Panels[0].Holes[i].Drill, fails.Panels[0].Holes[i].NoDrill = nil, "none of yours fits: needs 12.70 to 13.00 mm; buy 12.7 mm or 1/2 in; 12.5 mm, 12.500 mm, is too small"
			fails.Panels[0].Holes[i].WantedMax = 13
		}
	}
	out["fails"] = fails
	return out
}

func TestCardLook(t *testing.T) {
	dir := os.Getenv("CARD_LOOK")
	if dir == "" {
		return
	}
	for name, p := range cardPlans() {
		s, err := Pages(p)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := sheet.WritePDF(&b, s, sheet.Info{Title: "look"}); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(dir+"/"+strings.ReplaceAll(name, " ", "-")+".pdf", b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// sheetFaults lists texts of a page that leave its margins or run into each other.
func sheetFaults(s sheet.Sheet, margin float64) []string {
	var out []string
	page := plane.Box{Min: drawing.At(margin, margin), Max: drawing.At(s.W-margin, s.H-margin)}
	texts := drawing.TextsOf(s.Items)
	quads := make([]drawing.Quad, len(texts))
	for i, t := range texts {
		quads[i] = drawing.TextQuad(t)
		b := quads[i].Box()
		if t.S != "" && !(page.Has(b.Min) && page.Has(b.Max)) {
			out = append(out, fmt.Sprintf("%q leaves the margin of %g mm: %.1f..%.1f × %.1f..%.1f of %g × %g", t.S, margin, b.Min.X, b.Max.X, b.Min.Y, b.Max.Y, s.W, s.H))
		}
	}
	for i := range texts {
		for k := range i {
			if texts[i].S != "" && texts[k].S != "" && quads[i].Meets(quads[k]) {
				out = append(out, fmt.Sprintf("%q and %q overlap", texts[k].S, texts[i].S))
			}
		}
	}
	return out
}

func TestCardTextsStandFree(t *testing.T) {
	for name, p := range cardPlans() {
		sheets, err := Pages(p)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range sheets {
			for _, f := range sheetFaults(s, 10) {
				t.Errorf("%s, page %d (%s): %s", name, i+1, s.Title, f)
			}
		}
	}
}

func TestSheetFaultsSeesFaults(t *testing.T) {
	s := sheet.Sheet{W: 100, H: 100}
	s.Add(sheet.Text{At: drawing.At(20, 20), Size: 5, S: "one"}, sheet.Text{At: drawing.At(24, 21), Size: 5, S: "two"}, sheet.Text{At: drawing.At(95, 60), Size: 5, S: "out"})
	if f := sheetFaults(s, 2); len(f) != 2 {
		t.Errorf("want an overlap and a text outside, got %q", f)
	}
}

// cardWords joins the texts of a panel's pages, so that wrapped sentences read on.
func cardWords(sheets []sheet.Sheet) string {
	var words []string
	for _, s := range sheets {
		for _, t := range drawing.TextsOf(s.Items) {
			words = append(words, t.S)
		}
	}
	return strings.ReplaceAll(strings.Join(words, " "), "\u00a0", " ")
}

func TestCardSaysWhatThePlanHolds(t *testing.T) {
	p := cardFixture("A4")
	texts := map[string]string{}
	for _, c := range p.Cautions {
		texts[c.ID] = c.Text
	}
	for _, pan := range p.Panels {
		w := cardWorkOf(p, pan)
		sheets := cardPages(p, pan, sheet.A4)
		words := cardWords(sheets)
		for _, id := range pan.Cautions {
			if !strings.Contains(words, texts[id]) {
				t.Errorf("%s: caution %s is not on the card", pan.Job.ID, id)
			}
		}
		if got := strings.Contains(words, "Weld the receptacles"); got != (pan.Job.ID == "pod") {
			t.Errorf("%s: welding on the card: %v", pan.Job.ID, got)
		}
		for i, s := range sheets {
			if last := strings.Contains(cardWords([]sheet.Sheet{s}), "take to the vehicle · "); last != (i == len(sheets)-1) {
				t.Errorf("%s: page %d is for the vehicle: %v", pan.Job.ID, i+1, last)
			}
			if !strings.Contains(cardWords([]sheet.Sheet{s}), fmt.Sprintf("page %d of %d", i+1, len(sheets))) || !strings.Contains(cardWords([]sheet.Sheet{s}), "Not for aircraft") {
				t.Errorf("%s: page %d lacks its number or the scope", pan.Job.ID, i+1)
			}
		}
		// Every hole stands in exactly one row of the open and relief steps, every joint's rivets in the rivet step.
		holes, sinks, rivets := 0, 0, 0
		order := []cardStage{}
		for _, s := range w.steps {
			order = append(order, s.stage)
			for _, r := range s.rows {
				switch s.stage {
				case cardOpen, cardRelief:
					holes += atoi(t, r[2])
				case cardSink:
					sinks += atoi(t, r[2])
				case cardRivet:
					rivets += atoi(t, r[3])
				}
			}
		}
		wantSinks, wantRivets := 0, 0
		for _, h := range pan.Holes {
			if h.Countersink != nil {
				wantSinks++
			}
		}
		for _, j := range pan.Joins {
			wantRivets += w.jointRivets(j)
		}
		if holes != len(pan.Holes) || sinks != wantSinks || rivets != wantRivets {
			t.Errorf("%s: %d holes of %d, %d countersinks of %d, %d rivets of %d", pan.Job.ID, holes, len(pan.Holes), sinks, wantSinks, rivets, wantRivets)
		}
		if !slices.IsSorted(order) {
			t.Errorf("%s: steps out of order: %v", pan.Job.ID, order)
		}
	}
}

func atoi(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestCardOrders(t *testing.T) {
	for _, sealed := range []bool{false, true} {
		for _, pan := range cardFixture("A4").Panels {
			closing := cardClosing(pan, sealed)
			for _, list := range [][]*setout.Station{closing, cardOpening(closing, pan.Job.Front)} {
				seen := map[string]bool{}
				for _, st := range list {
					seen[st.ID] = true
				}
				if len(seen) != len(pan.Stations) || len(list) != len(pan.Stations) {
					t.Fatalf("%s: %d stations in order, want %d", pan.Job.ID, len(list), len(pan.Stations))
				}
			}
			past := false
			for _, st := range closing {
				if !st.Corner {
					past = true
				} else if past {
					t.Errorf("%s: corner %s after other stations", pan.Job.ID, st.ID)
				}
			}
			past = false
			for _, st := range cardOpening(closing, pan.Job.Front) {
				if st.Edge == pan.Job.Front {
					past = true
				} else if past {
					t.Errorf("%s: %s opens after the front edge", pan.Job.ID, st.ID)
				}
			}
		}
	}
}

// Four corners are closed crosswise, A–C then D–B since D lies farther from C than B; a row of five from its middle outwards.
func TestCardOrderKnown(t *testing.T) {
	at := func(id string, x, y float64, corner bool) *setout.Station {
		return &setout.Station{ID: id, At: plane.Point{X: x, Y: y}, Corner: corner, Edge: "a"}
	}
	pan := &setout.Panel{Job: &job.Panel{}, Stations: []*setout.Station{
		at("A", 0, 0, true), at("p", 1, 0, false), at("q", 2, 0, false), at("r", 3, 0, false), at("s", 4, 0, false), at("u", 5, 0, false),
		at("B", 6, 0, true), at("C", 6, 5, true), at("D", 0, 5, true)}}
	var got []string
	for _, st := range cardClosing(pan, false) {
		got = append(got, st.ID)
	}
	if s := strings.Join(got, " "); s != "A C D B r q s p u" {
		t.Errorf("closing order %s", s)
	}
}

// A stack at either end of the stated band gives the deflection at that end.
func TestCardStackBand(t *testing.T) {
	st := cardFixture("A4").Panels[0].Stations[0]
	if got := cardStackBand(st); got != "4.00–5.20 mm" { // T 4.20, δ 0.40, from 0.20 to 1.40
		t.Errorf("stack band %s", got)
	}
	st.Close.DeltaHi = math.Inf(1)
	if got := cardStackBand(st); got != "not known" {
		t.Errorf("stack band without a limit: %s", got)
	}
}

func TestCardMarksEachSheetByItself(t *testing.T) {
	p := cardFixture("A4")
	p.Job.Conditions.Marking = "template"
	for _, s := range cardWorkOf(p, p.Panels[0]).pilotSpots() {
		if len(s.layers) > 1 {
			t.Fatalf("pilot through %v, though each sheet is marked by itself", s.layers)
		}
	}
}

func TestCardIsTheSameTwice(t *testing.T) {
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		s, err := Pages(cardFixture("A4"))
		if err != nil {
			t.Fatal(err)
		}
		if err := sheet.WritePDF(w, s, sheet.Info{}); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two cards of one plan differ")
	}
}

func TestCardRefusesUnknownPaper(t *testing.T) {
	if _, err := Pages(cardFixture("A5")); err == nil {
		t.Error("A5 is no paper that we print on")
	}
}

func BenchmarkCard(b *testing.B) {
	p := cardLong("A4", 40)
	for b.Loop() {
		if _, err := Pages(p); err != nil {
			b.Fatal(err)
		}
	}
}
