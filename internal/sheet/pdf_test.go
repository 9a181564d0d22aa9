package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"panelwright/internal/outside"
	"panelwright/internal/plane"
)

func pdf(t *testing.T, info Info, sheets ...Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WritePDF(&b, sheets, info); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestPDFIsSound(t *testing.T) {
	for name, b := range map[string][]byte{
		"undated": pdf(t, Info{Title: "Specimen"}, specimen(), Sheet{Title: "Blank", W: 420, H: 297}),
		"dated":   pdf(t, Info{Title: "Specimen ½", Subject: "templates", Date: "2031-05-17"}, specimen()),
		"empty":   pdf(t, Info{}, Sheet{W: 10, H: 10}),
	} {
		if out := outside.Run(t, "qpdf", "--check", file(t, name+".pdf", b)); !strings.Contains(out, "No syntax or stream encoding errors") || strings.Contains(out, "WARNING") {
			t.Errorf("%s: %s", name, out)
		}
	}
}

// The cross-reference table, which finish writes anew, gives each object's place; without any outside program.
func TestPDFTable(t *testing.T) {
	for _, date := range []string{"", "2031-05-17"} {
		b := pdf(t, Info{Title: "T", Date: date}, specimen())
		x, err := readXref(b)
		if err != nil {
			t.Fatal(err)
		}
		for i, o := range x.offset {
			if i > 0 && !bytes.HasPrefix(b[o:], []byte(fmt.Sprintf("%d 0 obj\n", i))) {
				t.Errorf("object %d is not at %d, there is %q", i, o, b[o:o+12])
			}
		}
		if !bytes.HasPrefix(b, []byte("%PDF-1.6\n")) {
			t.Errorf("head is %q", b[:9])
		}
		catalog := b[x.offset[x.root]:x.at]
		if !bytes.Contains(catalog, []byte("/ViewerPreferences <</PrintScaling /None>>")) {
			t.Errorf("catalog asks for no full size:\n%s", catalog)
		}
		if n := bytes.Count(b, []byte("Date (")); (date == "") != (n == 0) {
			t.Errorf("date %q: %d dates in the file", date, n)
		}
	}
}

func TestPDFIsTheSameTwice(t *testing.T) {
	a := pdf(t, Info{Title: "T", Date: "2031-05-17"}, specimen())
	var wg sync.WaitGroup // at once, for faces that are shared
	for range 4 {
		wg.Go(func() {
			var b bytes.Buffer
			if err := WritePDF(&b, []Sheet{specimen()}, Info{Title: "T", Date: "2031-05-17"}); err != nil || !bytes.Equal(a, b.Bytes()) {
				t.Errorf("another file for the same sheet (%v)", err)
			}
		})
	}
	wg.Wait()
}

func TestPDFInfo(t *testing.T) {
	out := outside.Run(t, "pdfinfo", "-isodates", "-f", "1", "-l", "3", file(t, "i.pdf", pdf(t, Info{Title: "Klappe Ø ½", Subject: "templates", Date: "2031-05-17"},
		Sheet{W: A4.W, H: A4.H}, Sheet{W: A3.H, H: A3.W}, Sheet{W: Letter.W, H: Letter.H})))
	for _, line := range []string{"Title: +Klappe Ø ½", "Subject: +templates", "CreationDate: +2031-05-17T00:00:00", "ModDate: +2031-05-17", "Pages: +3",
		`1 size: +595\.28 x 841\.89 pts`, `2 size: +1190\.55 x 841\.89 pts`, `3 size: +612 x 792 pts`} {
		if !regexp.MustCompile(line).MatchString(out) {
			t.Errorf("no %q in\n%s", line, out)
		}
	}
}

// Titles are no drawn text: they may hold any rune, and bytes that are none.
func TestPDFTitles(t *testing.T) {
	const title = "(語) \\ 🚗 Ø"
	s := Sheet{Title: title, W: 9, H: 9}
	path := file(t, "t.pdf", pdf(t, Info{Title: title, Subject: "cut \xe8"}, s, s))
	out := outside.Run(t, "pdfinfo", path)
	for _, want := range []string{title, "cut \uFFFD"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if out := outside.Run(t, "qpdf", "--json", path); !strings.Contains(out, `"title": "(`) ||
		strings.Count(out, `"title": "(語) \\ 🚗 Ø"`) != strings.Count(out, `"title": `) {
		t.Errorf("outline:\n%s", out)
	}
}

// Nested clips meet: of a black page, what lies in all of them is black, and nothing else.
func TestPDFClips(t *testing.T) {
	black := Rectangle(0, 0, 60, 60, nil, &Black, "")
	for name, c := range map[string]struct {
		item Item
		area float64 // mm²
	}{
		"one": {Clip{10, 10, 30, 20, []Item{black}}, 600}, "two": {Clip{10, 10, 30, 20, []Item{Clip{20, 0, 100, 15, []Item{black}}}}, 100},
		"apart": {Clip{10, 10, 5, 5, []Item{Clip{30, 30, 5, 5, []Item{black}}}}, 0}, "none": {black, 3600},
		"hatch": {Clip{10, 10, 30, 20, []Item{Hatch{Region: plane.Region{Outer: plane.Polygon(pt(0, 0), pt(60, 0), pt(60, 60), pt(0, 60))},
			Pitch: 2, Pen: Pen{Width: 1}}}}, 9.5 * 30}, // the first of ten lines is cut along its middle
		"text": {Clip{10, 10, 5, 5, []Item{Text{At: pt(30, 30), Size: 5, S: "out"}}}, 0},
	} {
		path := file(t, "c.pdf", pdf(t, Info{}, Sheet{W: 60, H: 60, Items: []Item{c.item}}))
		png := strings.TrimSuffix(path, ".pdf")
		outside.Run(t, "pdftoppm", "-r", "254", "-gray", "-png", "-singlefile", path, png)
		sum := 0.0
		for _, row := range darkness(t, png+".png") {
			for _, d := range row {
				sum += d / 100 // pixels per mm²
			}
		}
		want(t, name+": black mm²", sum, c.area, 0.06*c.area+0.01) // the renderer moves edges to whole pixels
	}
}

func TestPDFText(t *testing.T) {
	out := outside.Run(t, "pdftotext", "-layout", file(t, "t.pdf", pdf(t, Info{}, specimen())), "-")
	for _, s := range []string{"Nose lid, sample", "50 ± 0.5", "Ø 4.3 sample stud", "✓ 6.2 mm", "check: 100 mm", "A second paragraph follows here."} {
		if !strings.Contains(out, s) {
			t.Errorf("text %q cannot be copied from\n%s", s, out)
		}
	}
	for _, r := range strings.ReplaceAll(usedRunes, " ", "") {
		if !strings.ContainsRune(out, r) {
			t.Errorf("letter %q (%U) cannot be copied", r, r)
		}
	}
}

// Where a reader finds a word is where the layout put it, at the width that it reckoned with.
func TestPDFTextPlace(t *testing.T) {
	s := Sheet{W: A4.W, H: A4.H}
	for i, a := range []Align{Left, Centre, Right} {
		s.Add(Text{At: pt(100, 50+20*float64(i)), Size: Letters50, S: "Receptacle", Align: a})
	}
	out := outside.Run(t, "pdftotext", "-bbox", file(t, "t.pdf", pdf(t, Info{}, s)), "-")
	words := regexp.MustCompile(`xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)"`).FindAllStringSubmatch(out, -1)
	if len(words) != 3 {
		t.Fatalf("%d words", len(words))
	}
	w := TextWidth("Receptacle", Letters50, Regular)
	for i, from := range []float64{100, 100 - w/2, 100 - w} {
		x0, _ := strconv.ParseFloat(words[i][1], 64)
		x1, _ := strconv.ParseFloat(words[i][2], 64)
		want(t, "left end", x0/perMM, from, 0.01)
		want(t, "width", (x1-x0)/perMM, w, 0.02) // sizes are written to 0.005 pt
	}
}

// Turned text runs along its direction, anticlockwise for a turn above zero, with its letters upright on it.
func TestPDFTurnedText(t *testing.T) {
	const word = "Receptacle"
	w := TextWidth(word, Letters50, Regular)
	at := pt(100, 150)
	for _, c := range []struct {
		turn         float64
		align        Align
		from, to, up float64 // along y of the page; up: side of x on which the letters stand
	}{
		{math.Pi / 2, Left, 150 - w, 150, -1}, {math.Pi / 2, Right, 150, 150 + w, -1}, {math.Pi / 2, Centre, 150 - w/2, 150 + w/2, -1},
		{-math.Pi / 2, Left, 150, 150 + w, 1}, {-math.Pi / 2, Right, 150 - w, 150, 1},
	} {
		s := Sheet{W: A4.W, H: A4.H, Items: []Item{Text{At: at, Size: Letters50, S: word, Turn: c.turn, Align: c.align}}}
		out := outside.Run(t, "pdftotext", "-bbox", file(t, "t.pdf", pdf(t, Info{}, s)), "-")
		m := regexp.MustCompile(`<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">` + word).FindStringSubmatch(out)
		if m == nil {
			t.Fatalf("turn %g: no word in\n%s", c.turn, out)
		}
		box := numbers(strings.Join(m[1:], " "))
		name := fmt.Sprintf("turn %g, align %d: ", c.turn, c.align)
		want(t, name+"upper end", box[1]/perMM, c.from, 0.02)
		want(t, name+"lower end", box[3]/perMM, c.to, 0.02)
		if side := (box[0]+box[2])/2/perMM - at.X; side*c.up < 1 {
			t.Errorf("%sletters stand %.2f mm to the side", name, side)
		}
	}
}

var (
	drawn  = regexp.MustCompile(`<path [^>]*stroke-width:([\d.]+)[^>]* d="([^"]*)"(?: transform="matrix\(([^)]*)\)")?`)
	figure = regexp.MustCompile(`-?[\d.]+`)
)

// strokesOf returns the points of every stroked path of a page as another program reads them, in mm from the top left.
func strokesOf(t *testing.T, b []byte) [][]plane.Point {
	t.Helper()
	path := file(t, "s.pdf", b)
	svg := filepath.Join(filepath.Dir(path), "s.svg")
	outside.Run(t, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-paper", "match", path, svg) // else it fits the page to a paper of its own
	text, err := os.ReadFile(svg)
	if err != nil {
		t.Fatal(err)
	}
	var out [][]plane.Point
	for _, m := range drawn.FindAllStringSubmatch(string(text), -1) {
		matrix := numbers(m[3])
		if len(matrix) != 6 {
			matrix = []float64{1, 0, 0, 1, 0, 0}
		}
		xy := numbers(m[2])
		var pts []plane.Point
		for i := 0; i+1 < len(xy); i += 2 {
			pts = append(pts, pt((matrix[0]*xy[i]+matrix[2]*xy[i+1]+matrix[4])/perMM, (matrix[1]*xy[i]+matrix[3]*xy[i+1]+matrix[5])/perMM))
		}
		out = append(out, pts)
	}
	return out
}

func numbers(s string) (out []float64) {
	for _, n := range figure.FindAllString(s, -1) {
		x, _ := strconv.ParseFloat(n, 64)
		out = append(out, x)
	}
	return out
}

// Lines stand where the sheet has them, as read by another program, which itself rounds to 1/256 pt.
func TestPDFLinesStandExactly(t *testing.T) {
	s := Sheet{W: A4.W, H: A4.H}
	ends := [][2]plane.Point{{pt(30, 150), pt(130, 150)}, {pt(0.1, 0.2), pt(209.9, 296.8)}, {pt(33.333, 66.667), pt(33.334, 266.667)}}
	for _, e := range ends {
		s.Add(Line(e[0], e[1], &Thin, LayerOutline))
	}
	got := strokesOf(t, pdf(t, Info{}, s))
	if len(got) != len(ends) {
		t.Fatalf("%d strokes read, drawn %d", len(got), len(ends))
	}
	for i, e := range ends {
		for k := range e {
			if d := got[i][k].Dist(e[k]); d > 0.0035 {
				t.Errorf("line %d end %d: %v instead of %v, %.4f mm off", i, k, got[i][k], e[k], d)
			}
		}
	}
}

// Circles and rounded outlines, as another program reads them: every point on the true curve.
func TestPDFArcsStandExactly(t *testing.T) {
	reg := View{Origin: pt(20, 280), Scale: 0.3}.Region(roundedPlate())
	s := Sheet{W: A4.W, H: A4.H, Items: []Item{
		Stroke{Path: reg.Outer, Pen: &Outline}, Circle{At: pt(105, 100), R: 90, Pen: &Thin}}}
	got := strokesOf(t, pdf(t, Info{}, s))
	if len(got) != 2 {
		t.Fatalf("%d strokes", len(got))
	}
	ends := 0
	for _, v := range reg.Outer.V {
		for _, p := range got[0] {
			if p.Dist(v.Point) < 0.004 {
				ends++
				break
			}
		}
	}
	want(t, "corners found", float64(ends), float64(len(reg.Outer.V)), 0)
	for i := 0; i < len(got[1])-1; i += 3 { // every third point of a Bézier is on the curve
		want(t, "radius", got[1][i].Dist(pt(105, 100)), 90, 0.004)
	}
}

// The check scale measures 100 mm in a page rendered at 20 points per mm: from middle to middle of its end ticks.
func TestCheckScaleMeasures100mm(t *testing.T) {
	for _, horizontal := range []bool{true, false} {
		s := Sheet{W: 130, H: 130}
		s.Add(CheckScale(15, 20, 100, horizontal)...)
		path := file(t, "c.pdf", pdf(t, Info{}, s))
		outside.Run(t, "pdftoppm", "-r", "508", "-gray", "-png", "-singlefile", path, strings.TrimSuffix(path, ".pdf"))
		f, err := os.Open(strings.TrimSuffix(path, ".pdf") + ".png")
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		const perMM = 20
		var ticks []float64 // middles, along a line 1 mm to the side of the main line
		weight, moment := 0.0, 0.0
		for i := range 130 * perMM {
			x, y := i, 19*perMM
			if !horizontal {
				x, y = 14*perMM, i
			}
			r, _, _, _ := img.At(x, y).RGBA()
			if dark := 1 - float64(r)/0xFFFF; dark > 0 {
				weight, moment = weight+dark, moment+dark*(float64(i)+0.5)
			} else if weight > 0 {
				ticks = append(ticks, moment/weight/perMM)
				weight, moment = 0, 0
			}
		}
		if len(ticks) != 11 {
			t.Fatalf("%d ticks: %.2f", len(ticks), ticks)
		}
		want(t, "check scale", ticks[10]-ticks[0], 100, 0.1)
		for k, x := range ticks {
			want(t, "tick", x, map[bool]float64{true: 15, false: 20}[horizontal]+10*float64(k), 0.05)
		}
	}
}

func TestPDFRefuses(t *testing.T) {
	nan := math.NaN()
	ok := Text{At: pt(1, 1), Size: 3, S: "a"}
	for name, it := range map[string]Item{
		"place": Text{At: pt(nan, 1), Size: 3, S: "a"}, "size": Text{S: "a"}, "radius": Circle{R: -1}, "infinite": Circle{R: math.Inf(1)},
		"pen": Line(pt(0, 0), pt(1, 1), &Pen{}, ""), "dash": Line(pt(0, 0), pt(1, 1), &Pen{Width: 1, Dash: []float64{0, 0}}, ""),
		"pitch": Hatch{Pitch: 0.1, Pen: Fine}, "path": Stroke{Path: plane.Open(pt(0, nan), pt(1, 1))}, "clip": Clip{W: nan},
		"cut-out": Hatch{Pitch: 1, Pen: Fine, Region: plane.Region{CutOuts: []plane.Path{plane.Open(pt(nan, 0))}}}, "nothing": nil,
	} {
		for _, s := range []Sheet{{Title: "T", W: 9, H: 9, Items: []Item{ok, it}}, {Title: "T", W: 9, H: 9, Items: []Item{Clip{0, 0, 1, 1, []Item{it}}}}} {
			var bad *BadMark
			for _, err := range []error{WritePDF(io.Discard, []Sheet{s}, Info{}), WriteSVG(io.Discard, s)} {
				if !errors.As(err, &bad) || bad.Index != 1 || bad.Sheet != "T" {
					t.Errorf("%s: %v", name, err)
				}
			}
		}
	}
	for _, s := range []Sheet{{W: 0, H: 9}, {W: 9, H: -1}, {W: nan, H: 9}, {W: 9, H: 5081}} {
		var bad *BadMark
		if err := WritePDF(io.Discard, []Sheet{s}, Info{}); !errors.As(err, &bad) || bad.Index != -1 {
			t.Errorf("%g × %g: %v", s.W, s.H, err)
		}
	}
	if WritePDF(io.Discard, nil, Info{}) == nil {
		t.Error("a file without pages")
	}
	for _, d := range []string{"17.5.2031", "2031-13-01", "2031-5-17", "2031-05-171", "today", "0000-01-01"} {
		if WritePDF(io.Discard, []Sheet{{W: 9, H: 9}}, Info{Date: d}) == nil {
			t.Errorf("date %q", d)
		}
	}
}

func BenchmarkWritePDF(b *testing.B) {
	s := specimen()
	for b.Loop() {
		if err := WritePDF(io.Discard, []Sheet{s, s, s, s, s}, Info{}); err != nil {
			b.Fatal(err)
		}
	}
}
