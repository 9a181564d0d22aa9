package drawing

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"panelwright/internal/decided"
	"panelwright/internal/outside"
	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// writePDF writes sheets to a file of the test's own folder.
func writePDF(t *testing.T, sheets []sheet.Sheet) string {
	t.Helper()
	var b bytes.Buffer
	if err := sheet.WritePDF(&b, sheets, sheet.Info{Title: "test"}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "t.pdf")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

var (
	readPath   = regexp.MustCompile(`<path [^>]*stroke-width[^>]* d="([^"]*)"(?: transform="matrix\(([^)]*)\)")?`)
	readNumber = regexp.MustCompile(`-?[\d.]+`)
)

func readNumbers(s string) (out []float64) {
	for _, n := range readNumber.FindAllString(s, -1) {
		x, _ := strconv.ParseFloat(n, 64)
		out = append(out, x)
	}
	return out
}

// readStrokes returns the points of every stroked path of a page as poppler reads them, mm from the top left.
func readStrokes(t *testing.T, pdf string, page int) (strokes [][]plane.Point, curved []bool) {
	t.Helper()
	svg := filepath.Join(t.TempDir(), "p.svg")
	n := fmt.Sprint(page)
	outside.Run(t, "pdftocairo", "-svg", "-f", n, "-l", n, "-noshrink", "-nocenter", "-paper", "match", pdf, svg)
	text, err := os.ReadFile(svg)
	if err != nil {
		t.Fatal(err)
	}
	const perMM = 72 / 25.4
	for _, m := range readPath.FindAllStringSubmatch(string(text), -1) {
		matrix := readNumbers(m[2])
		if len(matrix) != 6 {
			matrix = []float64{1, 0, 0, 1, 0, 0}
		}
		xy := readNumbers(m[1])
		var pts []plane.Point
		for i := 0; i+1 < len(xy); i += 2 {
			pts = append(pts, At((matrix[0]*xy[i]+matrix[2]*xy[i+1]+matrix[4])/perMM, (matrix[1]*xy[i]+matrix[3]*xy[i+1]+matrix[5])/perMM))
		}
		strokes = append(strokes, pts)
		curved = append(curved, strings.Contains(m[1], "C") && !strings.Contains(m[1], "L"))
	}
	return strokes, curved
}

// readCircle takes a path of Bézier curves for a circle when it is one, within 0.02 mm.
func readCircle(pts []plane.Point) (c viewDisc, ok bool) {
	n := (len(pts) - 1) / 3 * 3
	if n < 12 || pts[0].Dist(pts[n]) > 0.01 {
		return c, false
	}
	for i := 0; i < n; i += 3 {
		c.at = c.at.Add(pts[i].Scale(3 / float64(n)))
	}
	c.r = pts[0].Dist(c.at)
	for i := 0; i < n; i += 3 {
		for _, u := range []float64{0, 0.25, 0.5, 0.75} {
			v := 1 - u
			p := pts[i].Scale(v * v * v).Add(pts[i+1].Scale(3 * v * v * u)).Add(pts[i+2].Scale(3 * v * u * u)).Add(pts[i+3].Scale(u * u * u))
			if math.Abs(p.Dist(c.at)-c.r) > 0.02 {
				return c, false
			}
		}
	}
	return c, true
}

// Every hole of the plan is in the PDF, at its place within 0.05 mm through the origin of its page, round, and of its true
// diameter; every centre is found, and nothing but holes and registration marks is a circle there.
func TestTemplateHolesReadBack(t *testing.T) {
	for _, paper := range []string{"A4", "A3", "Letter"} {
		t.Run(paper, func(t *testing.T) {
			plan := decided.Drawn(paper)
			sheets, infos, err := TemplatePages(plan)
			if err != nil {
				t.Fatal(err)
			}
			pdf := writePDF(t, sheets)
			found := map[string]map[int]bool{}
			worst := 0.0
			for _, info := range infos {
				strokes, curved := readStrokes(t, pdf, info.Page+1)
				var circles []viewDisc
				for i, s := range strokes {
					if c, ok := readCircle(s); ok && curved[i] {
						circles = append(circles, viewDisc{info.View.Unmap(c.at), c.r})
					}
				}
				for _, panel := range plan.Panels {
					if panel.Job.ID != info.Panel {
						continue
					}
					if found[info.Panel] == nil {
						found[info.Panel] = map[int]bool{}
					}
					for i, h := range panel.Holes {
						if !info.Tile.Window.Has(h.At) {
							continue
						}
						best, off := math.Inf(1), math.Inf(1)
						for _, c := range circles {
							if d := math.Abs(2*c.r - h.Drill.Diameter); d < 0.05 && c.at.Dist(h.At) < best {
								best, off = c.at.Dist(h.At), d
							}
						}
						if best > 0.05 {
							t.Errorf("%s %s station %s %s: no circle of Ø %.2f within 0.05 mm of %v (nearest %.3f)", info.Panel, info.Tile.Name, h.Station, h.Purpose, h.Drill.Diameter, h.At, best)
						}
						worst = math.Max(worst, math.Max(best, off))
						found[info.Panel][i] = true
					}
				}
			}
			for _, panel := range plan.Panels {
				if n := len(found[panel.Job.ID]); n != len(panel.Holes) || n == 0 {
					t.Errorf("%s: %d of %d holes on a page", panel.Job.ID, n, len(panel.Holes))
				}
			}
			t.Logf("worst of place and diameter: %.4f mm", worst)
		})
	}
}

// The corners of a straight outline are on the pages, where the panel has them.
func TestTemplateOutlineReadBack(t *testing.T) {
	plan := decided.Drawn("A4")
	sheets, infos, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	pdf := writePDF(t, sheets)
	pod := plan.Panels[1]
	corners := map[int]bool{}
	for _, info := range infos {
		if info.Panel != pod.Job.ID {
			continue
		}
		strokes, _ := readStrokes(t, pdf, info.Page+1)
		for k, v := range pod.Job.Outline.Outer.V {
			want := info.View.Map(v.Point)
			for _, s := range strokes {
				for _, p := range s {
					if p.Dist(want) < 0.02 {
						corners[k] = true
					}
				}
			}
		}
	}
	if len(corners) != len(pod.Job.Outline.Outer.V) {
		t.Errorf("%d of %d corners of the outline found", len(corners), len(pod.Job.Outline.Outer.V))
	}
}

// The scales of every paper measure 100.0 ± 0.1 mm in a page rendered at 20 points per mm, across and down.
func TestTemplateScalesMeasure100mm(t *testing.T) {
	const perMM = 20
	for _, paper := range []string{"A4", "A3", "Letter"} {
		plan := decided.Drawn(paper)
		sheets, infos, err := TemplatePages(plan)
		if err != nil {
			t.Fatal(err)
		}
		pdf := writePDF(t, sheets)
		info := infos[len(infos)/2]
		page := sheets[info.Page]
		down := At(templateMargin+9.5, templateMargin+6)
		across := At(templateMargin+2, info.Window.Max.Y+27.5)
		if across.Y > page.H-4 {
			t.Errorf("%s: the scale lies %.1f mm from the edge of the paper", paper, page.H-across.Y)
		}
		for name, q := range map[string]struct {
			x, y, w, h float64 // a strip 1 mm beside the main line, over the ticks
		}{
			"across": {across.X - 1.5, across.Y - 1.5, 103, 0.5},
			"down":   {down.X - 1.5, down.Y - 1.5, 0.5, 103},
		} {
			out := filepath.Join(t.TempDir(), name)
			px := func(v float64) string { return fmt.Sprint(int(math.Round(v * perMM))) }
			n := fmt.Sprint(info.Page + 1)
			outside.Run(t, "pdftoppm", "-r", "508", "-gray", "-png", "-singlefile", "-f", n, "-l", n,
				"-x", px(q.x), "-y", px(q.y), "-W", px(q.w), "-H", px(q.h), pdf, out)
			ticks := readTicks(t, out+".png", q.w > q.h)
			if len(ticks) != 11 {
				t.Fatalf("%s %s: %d ticks: %v", paper, name, len(ticks), ticks)
			}
			for k := range ticks {
				ticks[k] /= perMM
			}
			if long := ticks[10] - ticks[0]; math.Abs(long-100) > 0.1 {
				t.Errorf("%s %s: the scale measures %.3f mm", paper, name, long)
			}
		}
	}
}

// readTicks returns the middles of the dark runs along an image's middle line, in points.
func readTicks(t *testing.T, path string, across bool) []float64 {
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
	b := img.Bounds()
	n := b.Dx()
	if !across {
		n = b.Dy()
	}
	var ticks []float64
	weight, moment := 0.0, 0.0
	for i := range n {
		x, y := i, b.Dy()/2
		if !across {
			x, y = b.Dx()/2, i
		}
		r, _, _, _ := img.At(x, y).RGBA()
		if dark := 1 - float64(r)/0xFFFF; dark > 0 {
			weight, moment = weight+dark, moment+dark*(float64(i)+0.5)
		} else if weight > 0 {
			ticks = append(ticks, moment/weight)
			weight, moment = 0, 0
		}
	}
	return ticks
}

// What a fitter must read stands in the file as text: names, drills, tape distances, the place of each page.
func TestTemplateTextReadBack(t *testing.T) {
	plan := decided.Drawn("A4")
	sheets, _, err := TemplatePages(plan)
	if err != nil {
		t.Fatal(err)
	}
	text := outside.Run(t, "pdftotext", "-layout", writePDF(t, sheets), "-")
	text = strings.ReplaceAll(text, "\u00a0", " ")
	for _, want := range []string{"Engine hatch", "this edge to the front", "print at 100 %", "row B, column 1", "sheet 3 of", "centre 1/2 in",
		"2 plate rivets 3.3 mm", "for 2 panels", "2 of this panel", "cut here, join to", "lay B1 on this line", "Not printed, nothing lies there",
		"keep out: lifting ring", "Section A", "a shim here tightens", "check: 100 mm"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in the file", want)
		}
	}
}
