package drawing

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// cardFixture is the fixture's plan with what a card needs beside drawings: stages, tools, cures, cautions.
func cardFixture(paper string) *setout.Plan {
	p := fixturePlan(paper)
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
		h.Stage, h.Tool, h.RPM, h.Pilot, h.Clamped = 2, "twist drill", 1500, fixtureDrill("3.0 mm", 3), h.Purpose == "centre"
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
	o, e := fixtureRounded(1800, 900, 40, strings.Repeat("starboard ", 5), "b", "c", "d")
	pan := fixturePanel("long", strings.Repeat("Engine hatch ", 5)[:60], o, e, 5400/float64(n), fixtureChoice(stock.PlateOutside, stock.Behind, "raised"))
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
		fixtureHoles(pan, st)
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
		s, err := Card(p)
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
	page := plane.Box{Min: viewAt(margin, margin), Max: viewAt(s.W-margin, s.H-margin)}
	texts := viewTexts(s.Items)
	quads := make([]viewQuad, len(texts))
	for i, t := range texts {
		quads[i] = viewTextQuad(t)
		b := quads[i].box()
		if t.S != "" && !(page.Has(b.Min) && page.Has(b.Max)) {
			out = append(out, fmt.Sprintf("%q leaves the margin of %g mm: %.1f..%.1f × %.1f..%.1f of %g × %g", t.S, margin, b.Min.X, b.Max.X, b.Min.Y, b.Max.Y, s.W, s.H))
		}
	}
	for i := range texts {
		for k := range i {
			if texts[i].S != "" && texts[k].S != "" && quads[i].meets(quads[k]) {
				out = append(out, fmt.Sprintf("%q and %q overlap", texts[k].S, texts[i].S))
			}
		}
	}
	return out
}

func TestCardTextsStandFree(t *testing.T) {
	for name, p := range cardPlans() {
		sheets, err := Card(p)
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
