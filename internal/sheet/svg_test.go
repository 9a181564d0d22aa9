package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"panelwright/internal/outside"
	"panelwright/internal/plane"
)

var update = flag.Bool("update", false, "write the golden files anew")

// element is one XML element as a reader finds it.
type element struct {
	name string
	attr map[string]string
	text string
	in   []string // names and ids of what it stands in
}

func readXML(t *testing.T, b []byte) (out []element) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(b))
	d.Strict = true
	var open []int
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			for _, i := range open {
				e.in = append(e.in, out[i].name+"#"+out[i].attr["id"])
			}
			open = append(open, len(out))
			out = append(out, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				out[open[len(open)-1]].text += string(tok)
			}
		}
	}
}

func svg(t *testing.T, s Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSVG(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestSVG(t *testing.T) {
	b := svg(t, specimen())
	if !bytes.Equal(b, svg(t, specimen())) {
		t.Error("another file for the same sheet")
	}
	els := readXML(t, b)
	root := els[0]
	if root.attr["width"] != "210mm" || root.attr["height"] != "297mm" || root.attr["viewBox"] != "0 0 210 297" {
		t.Errorf("size: %v", root.attr)
	}
	ids, clips := map[string]bool{}, map[string]bool{}
	texts := ""
	for _, e := range els {
		if id := e.attr["id"]; id != "" {
			if ids[id] {
				t.Errorf("id %q twice", id)
			}
			ids[id] = true
		}
		if c := e.attr["clip-path"]; c != "" {
			clips[strings.TrimSuffix(strings.TrimPrefix(c, "url(#"), ")")] = true
		}
		if e.name == "text" {
			texts += e.text + "\n"
		}
		if e.name == "title" && e.text != specimen().Title {
			t.Errorf("title %q", e.text)
		}
	}
	for c := range clips {
		if !ids[c] {
			t.Errorf("clip %q is not defined", c)
		}
	}
	if len(clips) != 2 {
		t.Errorf("%d clips, want the outer and the inner met with it", len(clips))
	}
	for _, layer := range []string{LayerOutline, LayerHatch, LayerCentre, LayerDimension, LayerText, LayerTable, LayerScale, LayerRegister} {
		if !ids[layer] {
			t.Errorf("no group %q", layer)
		}
	}
	for _, s := range []string{"Nose lid, sample\n", "Ø 4.3 sample stud\n", "check: 100 mm\n"} {
		if !strings.Contains(texts, s) {
			t.Errorf("no text %q", s)
		}
	}
}

// tiny has one mark of each kind, with numbers that a reader can check by hand.
func tiny() Sheet {
	s := Sheet{Title: "Tiny & plain", W: 50, H: 40}
	s.Add(
		Stroke{Path: plane.Path{V: []plane.Vertex{{Point: pt(5, 5)}, {Point: pt(15, 5), Bulge: 0.41421356237309503}, {Point: pt(20, 10)}}}, Pen: &Outline, Layer: LayerOutline},
		Stroke{Path: plane.Path{Closed: true, V: []plane.Vertex{{Point: pt(5, 20), Bulge: -1}, {Point: pt(15, 20)}}}, Pen: &Hidden, Fill: &Shade, Layer: LayerHidden},
		Circle{At: pt(30.00049, 10.0005), R: 2.15, Pen: &Outline, Layer: LayerOutline},
		Hatch{Region: plane.Region{Outer: plane.Polygon(pt(25, 20), pt(35, 20), pt(35, 24.5), pt(25, 24.5))}, Pitch: 2, Pen: Fine, Layer: LayerHatch},
		Text{At: pt(40, 35), Size: 4, S: `a < b & "c"  d`, Align: Right, Font: Bold, Tone: Tone{200, 0, 16}, Layer: "my notes"},
		Text{At: pt(5, 35), Size: 4, S: "up", Turn: 1.5707963267948966, Halo: true, Layer: "my notes"},
		Clip{X: 40, Y: 5, W: 20, H: 8, Items: []Item{Line(pt(30, 0), pt(50, 20), &Pen{Width: 0.25, Tone: Grey(128)}, "clip")}},
	)
	return s
}

func TestSVGGolden(t *testing.T) {
	got := svg(t, tiny())
	path := filepath.Join("testdata", "tiny.svg")
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestSVGFragment(t *testing.T) {
	var b bytes.Buffer
	if err := SVGFragment(&b, specimen(), Fragment{ID: "panel-1", Label: `the "nose" lid`}); err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(b.Bytes(), []byte("<?xml")) || bytes.Contains(b.Bytes(), []byte("<title")) {
		t.Error("header or title in a fragment")
	}
	els := readXML(t, b.Bytes())
	if a := els[0].attr; a["role"] != "img" || a["aria-label"] != `the "nose" lid` || a["id"] != "panel-1" {
		t.Errorf("root %v", a)
	}
	for _, e := range els {
		if id := e.attr["id"]; id != "" && !strings.HasPrefix(id, "panel-1") {
			t.Errorf("id %q may be another drawing's", id)
		}
		if c := e.attr["clip-path"]; c != "" && !strings.HasPrefix(c, "url(#panel-1-") {
			t.Errorf("clip %q may be another drawing's", c)
		}
	}
	b.Reset()
	if err := SVGFragment(&b, specimen(), Fragment{ID: "p"}); err != nil || readXML(t, b.Bytes())[0].attr["aria-label"] != specimen().Title {
		t.Errorf("label without one given (%v)", err)
	}
	for _, id := range []string{"", "1a", "a b", `a"`, "ä"} {
		if SVGFragment(io.Discard, specimen(), Fragment{ID: id}) == nil {
			t.Errorf("id %q accepted", id)
		}
	}
}

// Layers that come again, or have names that no id may have, still get ids of their own.
func TestSVGIDs(t *testing.T) {
	s := Sheet{W: 9, H: 9}
	for _, l := range []string{"a", "b", "a", "a-2", "a", "", "ü", "clip", "2x", "a"} {
		s.Add(Clip{1, 1, 2, 2, []Item{Line(pt(0, 0), pt(9, 9), &Thin, l)}})
	}
	seen := map[string]bool{}
	for _, e := range readXML(t, svg(t, s)) {
		if id := e.attr["id"]; id != "" {
			if seen[id] {
				t.Errorf("id %q twice", id)
			}
			seen[id] = true
		}
	}
	if !seen["a"] || !seen["a-2"] || !seen["marks"] {
		t.Errorf("ids %v", seen)
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWritersPassOnErrors(t *testing.T) {
	for name, err := range map[string]error{"svg": WriteSVG(failing{}, tiny()), "pdf": WritePDF(failing{}, []Sheet{tiny()}, Info{}),
		"fragment": SVGFragment(failing{}, tiny(), Fragment{ID: "a"})} {
		if err == nil || !strings.Contains(err.Error(), "disk full") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Both writers draw the same picture: rendered by two programs that are not ours, they differ only where edges are smoothed.
func TestWritersAgree(t *testing.T) {
	s := specimen()
	pdfFile, svgFile := file(t, "a.pdf", pdf(t, Info{}, s)), file(t, "a.svg", svg(t, s))
	a, b := strings.TrimSuffix(pdfFile, ".pdf"), strings.TrimSuffix(svgFile, ".svg")+"-svg.png"
	outside.Run(t, "pdftoppm", "-r", "127", "-png", "-singlefile", pdfFile, a)
	outside.Run(t, "rsvg-convert", "-d", "127", "-p", "127", "-b", "white", "-o", b, svgFile)
	pa, pb := darkness(t, a+".png"), darkness(t, b)
	// Ink per box of 5 × 5 mm, without boxes of text, whose face the second program may not have.
	const box = 25
	boxes, off := 0, 0
	for y := 0; y+box <= min(len(pa), len(pb)); y += box {
		for x := 0; x+box <= min(len(pa[0]), len(pb[0])); x += box {
			ia, ib := ink(pa, x, y, box), ink(pb, x, y, box)
			boxes++
			if d := ia - ib; d > 0.06 || d < -0.06 {
				off++
			}
		}
	}
	if off > boxes/50 {
		t.Errorf("%d of %d boxes differ", off, boxes)
	}
	if total := ink(pa, 0, 0, 1000); total < 0.01 {
		t.Errorf("hardly anything drawn: %.4f", total)
	}
}

func darkness(t *testing.T, path string) [][]float64 {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	r := img.Bounds()
	out := make([][]float64, r.Dy())
	for y := range out {
		out[y] = make([]float64, r.Dx())
		for x := range out[y] {
			red, _, _, _ := img.At(x, y).RGBA()
			out[y][x] = 1 - float64(red)/0xFFFF
		}
	}
	return out
}

func ink(p [][]float64, x, y, size int) float64 {
	sum := 0.0
	for _, row := range p[y:min(y+size, len(p))] {
		for _, d := range row[x:min(x+size, len(row))] {
			sum += d
		}
	}
	return sum / float64(size*size)
}

func BenchmarkWriteSVG(b *testing.B) {
	s := specimen()
	for b.Loop() {
		if err := WriteSVG(io.Discard, s); err != nil {
			b.Fatal(err)
		}
	}
}
