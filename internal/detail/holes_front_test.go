package detail

import (
	"math"
	"strings"
	"testing"

	"panelwright/internal/setout"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

// A receptacle on the front: its body passes the bracket through a hole of its own, the layer between is cut out over its foot,
// and no hole locates the panel, so the stud's play is that of wire and slot.
func TestFrontReceptacle(t *testing.T) {
	j := worked.Job()
	worked.Front(j)
	p := settled(j)
	pan := p.Panels[0]
	bodies, cuts := 0, 0
	for _, h := range pan.Holes {
		switch {
		case h.Locates:
			t.Errorf("hole %d, %s in %s, is said to locate the panel", h.No, h.Purpose, h.Layer)
		case h.Purpose == setout.PurposeBody:
			bodies++
			if h.Layer != "inner" || h.Drill == nil || h.Drill.Diameter != 16 || !strings.Contains(h.Note, "before the receptacle is riveted") {
				t.Errorf("body: %s, %v, %q", h.Layer, h.Drill, h.Note)
			}
		case h.Purpose == setout.PurposeCutOut:
			cuts++
			rc := &j.Range.Receptacles[0]
			if h.Layer != "strip" || h.Length != rc.Length+2 || h.Width != rc.Width+2 || !h.Cut || h.NoDrill != "" || !strings.Contains(h.Note, "40 × 18 mm") {
				t.Errorf("cut-out: %+v", h)
			}
		case h.Layer == "strip":
			t.Errorf("%s in a layer that is cut out there", h.Purpose)
		}
	}
	if bodies != 8 || cuts != 8 {
		t.Errorf("%d body holes and %d cut-outs for 8 stations", bodies, cuts)
	}
	near(t, "play of the stud", pan.DropOn.Clear, 1.0, 1e-9)
	if k := checkNamed(t, pan.Stations[0].Checks, "room-behind"); math.Abs(k.Value-14) > 1e-9 {
		t.Errorf("the receptacle is 14 mm high, and %.2f mm are asked for", k.Value)
	}
	for _, k := range pan.Stations[0].Checks {
		if k.ID == "body-room" || k.ID == "locating-hole" || k.ID == "stud-through" {
			t.Errorf("%s: %s", k.ID, k.Verdict)
		}
		if k.ID == "drills" && k.Verdict != setout.Holds {
			t.Errorf("a drill for every hole: %s", k.Cure)
		}
	}
	j.Range.Receptacles[0].CentreHole = stock.Toleranced{} // for a tube
	k := checkNamed(t, settled(j).Panels[0].Stations[0].Checks, "body-room")
	if k.Verdict != setout.NotKnown || !strings.Contains(k.Basis, "14.0 mm past the mounting face") || k.Cure == "" {
		t.Errorf("a body beside a tube: %+v", k)
	}
}

// Work on a hole that another row makes is marked, so that counts of holes are right.
func TestOperationsAreNoHoles(t *testing.T) {
	holes := 0
	for _, h := range settled(worked.Job()).Panels[0].Holes {
		if h.Operation != (h.Purpose == setout.PurposeTailCountersink) {
			t.Errorf("hole %d, %s: operation %v", h.No, h.Purpose, h.Operation)
		}
		if !h.Operation {
			holes++
		}
	}
	if holes != 8*6 {
		t.Errorf("%d holes at eight stations of two centres and four rivets", holes)
	}
}
