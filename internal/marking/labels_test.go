package marking

import (
	"errors"
	"strings"
	"testing"

	"panelwright/internal/exampleplan"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Every label of the examples, on every paper: its marks stand on the paper inside its own cut marks, its words within the
// label, and its modules are no smaller than 0.5 mm (common practice, no source) with four of white around them
// (ISO/IEC 18004, from memory). That the codes say what they should is read back in peer, by another program.
func TestLabelsOfExamples(t *testing.T) {
	for name, p := range exampleplan.All(t, "../..") {
		testLabels(t, name, p)
		testRecordAddress(t, p)
		testWordsAreCut(t, p)
	}
}

func testLabels(t *testing.T, name string, p *setout.Plan) {
	labels, err := LabelsOf(p)
	if err != nil {
		t.Fatal(err)
	}
	pieces := 0
	for _, pan := range p.Panels {
		pieces += pan.Job.Quantity
	}
	if len(labels) != pieces {
		t.Errorf("%s: %d labels for %d pieces", name, len(labels), pieces)
	}
	for _, l := range labels {
		if _, high := labelWords(l); high > labelH {
			t.Errorf("%s, %s: words are %.1f mm high", name, l.Lines[0], high)
		}
	}
	for _, paper := range []string{"A4", "A3", "Letter"} {
		p.Job.Paper = paper
		sheets, err := Labels(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sheets {
			checkMarks(t, name+", "+paper, s)
		}
	}
}

// checkMarks wants everything on the page 10 mm or more from its edge, and modules of at least 0.5 mm.
func checkMarks(t *testing.T, name string, s sheet.Sheet) {
	t.Helper()
	modules := 0
	for _, it := range s.Items {
		switch it := it.(type) {
		case sheet.Stroke:
			b := it.Path.Bounds()
			if b.Min.X < 10 || b.Min.Y < 10 || b.Max.X > s.W-10 || b.Max.Y > s.H-10 {
				t.Errorf("%s: a mark at %v to %v", name, b.Min, b.Max)
			}
			if it.Layer == "code" {
				modules++
				if b.Height() < 0.5-1e-9 {
					t.Fatalf("%s: a module of %.3f mm", name, b.Height())
				}
			}
		case sheet.Text:
			wide := sheet.TextWidth(it.S, it.Size, it.Font)
			from := it.At.X
			if it.Align == sheet.Right {
				from -= wide
			}
			if from < 10 || from+wide > s.W-10 || it.At.Y > s.H-10 {
				t.Errorf("%s: %q runs from %.1f to %.1f", name, it.S, from, from+wide)
			}
		}
	}
	if modules < 100 {
		t.Errorf("%s: %d runs of modules: no code", name, modules)
	}
}

// Names as long as a job may have are cut until label and code hold them; what tells the piece stays.
func testWordsAreCut(t *testing.T, p *setout.Plan) {
	p.Job.Name = strings.Repeat("Größtes Fahrzeug der Werkstatt ", 9)
	for _, pan := range p.Panels {
		pan.Job.Name, pan.Job.ID = strings.Repeat("W", 300), strings.Repeat("w", 300)
	}
	labels, err := LabelsOf(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range labels {
		_, high := labelWords(l)
		if high > labelH-2*labelPad || len(l.Code) > labelBytes || !strings.Contains(l.Code, "piece 1 of") && !strings.Contains(l.Code, "piece 2 of") {
			t.Errorf("%d bytes, %.1f mm high: %q", len(l.Code), high, l.Code)
		}
		if _, err := l.draw(0, 0); err != nil {
			t.Error(err)
		}
	}
}

// With a record address the code is the address of the piece; one that no code holds is an error that says so.
func testRecordAddress(t *testing.T, p *setout.Plan) {
	p.Job.Record = "http://bench.local/p/{panel}?piece={piece}"
	labels, err := LabelsOf(p)
	if err != nil {
		t.Fatal(err)
	}
	if want := "http://bench.local/p/" + p.Panels[0].Job.ID + "?piece=1"; labels[0].Code != want {
		t.Errorf("the code is %q, want %q", labels[0].Code, want)
	}
	p.Panels[0].Job.ID = strings.Repeat("x", 300)
	var long *LabelTooLong
	if _, err = Labels(p); !errors.As(err, &long) || !strings.Contains(err.Error(), "record address") {
		t.Errorf("an address of 300 characters gives %v", err)
	}
	p.Job.Record = ""
}

// A code holds what labelBytes says, in modules no smaller than they may be, and no more.
func TestCodeHoldsItsBytes(t *testing.T) {
	const side = labelH - 2*labelPad
	if _, err := Code(strings.Repeat("ä", labelBytes/2), 0, 0, side); err != nil {
		t.Error(err)
	}
	if _, err := Code(strings.Repeat("ä", labelBytes/2+1), 0, 0, side); err == nil {
		t.Error("holds more than it says")
	}
	if _, err := Code(strings.Repeat("a", 4000), 0, 0, 500); err == nil {
		t.Error("4000 bytes are more than any code holds at error correction M")
	}
}
