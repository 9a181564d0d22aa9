package peer

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// A check scale is measured in a page drawn at 20 pixels to the mm.
const (
	pixelsPerMM = 20
	dpi         = "508" // 20 × 25.4
	scaleLength = 100.0
	scaleTol    = 0.1 // mm
)

// Both check scales of the full-size pages are 100 mm long, in the line and from tick to tick: every third page, and each
// panel's first.
func TestCheckScales(t *testing.T) {
	need(t, "pdftotext", "pdftoppm")
	eachPack(t, func(t *testing.T, p pack) {
		pages, err := readPages(p.dir, "templates.pdf")
		if err != nil {
			t.Fatal(err)
		}
		byPanel, _, found := sortTemplates(p, pages)
		say(t, found)
		for _, b := range byPanel {
			for i := 0; i < len(b.tiles); i += 3 {
				say(t, checkScales(t.TempDir(), filepath.Join(p.dir, "templates.pdf"), b.tiles[i]))
			}
		}
	})
}

// A page that was shrunk as a print dialogue would, by a part in two hundred, is found out.
func TestCheckScalesSeeShrinking(t *testing.T) {
	need(t, "pdftotext", "pdftocairo", "pdftoppm")
	p, dir := packs[0], t.TempDir()
	pages, err := readPages(p.dir, "templates.pdf")
	if err != nil {
		t.Fatal(err)
	}
	byPanel, _, _ := sortTemplates(p, pages)
	first := byPanel[0].tiles[0]
	points := func(mm float64) string { return fmt.Sprint(int(mm / mmPerPoint * 0.995)) }
	must(t, dir, "pdftocairo", "-pdf", "-f", fmt.Sprint(first.number), "-l", fmt.Sprint(first.number),
		"-paperw", points(first.w), "-paperh", points(first.h), filepath.Join(p.dir, "templates.pdf"), "small.pdf")
	small, err := readPages(dir, "small.pdf")
	if err != nil || len(small) != 1 {
		t.Fatal(len(small), err)
	}
	// The line and its ticks, in both directions.
	if found := checkScales(dir, filepath.Join(dir, "small.pdf"), small[0]); len(found) != 4 {
		t.Errorf("found %q, want four measures that are short", found)
	}
}

// checkScales measures both scales of a page.
func checkScales(tmp, file string, q page) (found []string) {
	across, upright := 0, 0
	for _, w := range q.words {
		if w.s != "check:" {
			continue
		}
		alongX := w.x1-w.x0 > w.y1-w.y0
		// The label stands a quarter of the way along, above the line or left of it: look from before the line's
		// beginning to behind its end. What else is drawn there runs out of the picture, or is not near 100 mm.
		x, y := (w.x0+w.x1)/2, (w.y0+w.y1)/2
		name, box := "across", [4]float64{x - 40, y - 4, x + 110, y + 9}
		if alongX {
			across++
		} else {
			name, box = "upright", [4]float64{x - 4, y - 60, x + 9, y + 110}
			upright++
		}
		pic, err := render(tmp, file, q, box)
		if err != nil {
			return append(found, err.Error())
		}
		if !alongX {
			pic = pic.turned()
		}
		line, ticks := pic.measureScale()
		for _, m := range []struct {
			what string
			got  float64
		}{{"line", line}, {"end ticks", ticks}} {
			if !(math.Abs(m.got-scaleLength) <= scaleTol) {
				found = append(found, fmt.Sprintf("page %d, scale %s: %s %.2f mm, want 100.0 ± 0.1", q.number, name, m.what, m.got))
			}
		}
	}
	if across != 1 || upright != 1 {
		found = append(found, fmt.Sprintf("page %d has %d scales across and %d upright, want one each", q.number, across, upright))
	}
	return found
}

// picture is grey pixels in rows.
type picture struct {
	w, h int
	pix  []byte
}

// render draws a part of a page, given in mm, by poppler.
func render(tmp, file string, q page, box [4]float64) (picture, error) {
	x0, y0 := max(0, box[0]), max(0, box[1])
	x1, y1 := min(q.w, box[2]), min(q.h, box[3])
	px := func(mm float64) string { return fmt.Sprint(int(math.Round(mm * pixelsPerMM))) }
	n := fmt.Sprint(q.number)
	_, err := runIn(tmp, "pdftoppm", "-gray", "-r", dpi, "-f", n, "-l", n, "-singlefile",
		"-x", px(x0), "-y", px(y0), "-W", px(x1-x0), "-H", px(y1-y0), file, "part")
	if err != nil {
		return picture{}, err
	}
	data, err := os.ReadFile(filepath.Join(tmp, "part.pgm"))
	if err != nil {
		return picture{}, err
	}
	var p picture
	var deepest int
	if _, err := fmt.Fscanf(bytes.NewReader(data), "P5\n%d %d\n%d", &p.w, &p.h, &deepest); err != nil || deepest != 255 ||
		len(data) < p.w*p.h {
		return picture{}, fmt.Errorf("pdftoppm wrote no picture: %.20q, %v", data, err)
	}
	p.pix = data[len(data)-p.w*p.h:]
	return p, nil
}

// turned swaps rows and columns.
func (p picture) turned() picture {
	q := picture{p.h, p.w, make([]byte, len(p.pix))}
	for y := range p.h {
		for x := range p.w {
			q.pix[x*q.w+y] = p.pix[y*p.w+x]
		}
	}
	return q
}

// runs lists the dark stretches of a row as first pixel and the one after the last.
func (p picture) runs(y int) (out [][2]int) {
	const dark = 128
	start := -1
	for x := 0; x <= p.w; x++ {
		on := x < p.w && p.pix[y*p.w+x] < dark
		if on && start < 0 {
			start = x
		} else if !on && start >= 0 {
			out = append(out, [2]int{start, x})
			start = -1
		}
	}
	return out
}

// measureScale finds a scale's line in a picture where it lies across, and measures it in mm: the shortest of the line's
// rows, since in the others the end ticks add half their width at both ends; and from the middle of the first tick to the
// middle of the last, 3 mm above, where only long ticks reach. What it does not find is not a number.
func (p picture) measureScale() (line, ticks float64) {
	line, ticks = math.NaN(), math.NaN()
	first, last, row := 0, 0, -1
	for y := range p.h {
		for _, r := range p.runs(y) {
			if r[0] == 0 || r[1] == p.w {
				continue
			}
			if n := float64(r[1]-r[0]) / pixelsPerMM; n > 0.9*scaleLength && n < 1.1*scaleLength && !(n >= line) {
				line, first, last = n, r[0], r[1]
				if row < 0 {
					row = y // the line's upper edge
				}
			}
		}
	}
	if row < 3*pixelsPerMM {
		return line, ticks
	}
	middles := []float64{}
	for _, r := range p.runs(row - 3*pixelsPerMM) {
		if r[1] > first-pixelsPerMM && r[0] < last+pixelsPerMM && r[1]-r[0] < pixelsPerMM/2 {
			middles = append(middles, float64(r[0]+r[1])/2)
		}
	}
	if len(middles) < 2 {
		return line, ticks
	}
	return line, (middles[len(middles)-1] - middles[0]) / pixelsPerMM
}
