package peer

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
)

const (
	holeTol     = 0.05 // mm, between a centre in the PDF and the schedule
	diameterTol = 0.02 // mm
	// A registration mark's circle: thin and whole, where a countersink of the same size is fine.
	registerDiameter, registerPen = 6.0, 0.25
	// The ring at the sharp corner from which a tape is read: drawn with the same pen, which no hole has.
	datumDiameter = 2.4
	// Larger circles are no holes but keep-outs; what is drawn with a thicker pen is the edge of a cut-out.
	largestHole, outlinePen = 60.0, 0.45
	// From a station's hole to its number on the page, at most.
	nameReach = 120.0
	// A station's number is larger than any other figure in the drawing.
	nameHigh = 6.0
)

type point struct{ x, y float64 }

func (p point) dist(q point) float64 { return math.Hypot(p.x-q.x, p.y-q.y) }

// hole is a row of holes.csv: where, how large, and the rim of its countersink, zero where there is none.
type hole struct {
	station    string
	at         point
	drill, rim float64
}

// readHoles gives the rows of holes.csv by panel.
func readHoles(dir string) (map[string][]hole, error) {
	f, err := os.Open(filepath.Join(dir, "holes.csv"))
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) < 2 {
		return nil, fmt.Errorf("holes.csv: %d rows, %v", len(rows), err)
	}
	out := map[string][]hole{}
	for _, row := range rows[1:] {
		field := func(name string) string { return row[slices.Index(rows[0], name)] }
		number := func(name string) float64 {
			v, e := strconv.ParseFloat(field(name), 64)
			if e != nil && field(name) != "" {
				err = e
			}
			return v
		}
		panel := field("panel")
		out[panel] = append(out[panel], hole{field("station"), point{number("x_mm"), number("y_mm")},
			number("drill_mm"), number("countersink_diameter_mm")})
	}
	return out, err
}

// The templates, taken apart by a program that is not ours, have every hole of the schedule at its place and size, seen from
// the same side, and no circle that the schedule does not have.
func TestHolesOnTemplates(t *testing.T) {
	need(t, "pdftotext", "pdftocairo")
	eachPack(t, func(t *testing.T, p pack) { say(t, checkHoles(t.TempDir(), p)) })
}

// One hole moved by a fifth of a mm in the schedule, one of another size, a schedule that is mirrored, and one with other
// numbers are found out.
func TestHolesOnTemplatesSeeDamage(t *testing.T) {
	need(t, "pdftotext", "pdftocairo")
	for name, damage := range map[string]func(t *testing.T, p pack){
		"moved": func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "x_mm", 1, addTo(t, 0.2)) },
		"size":  func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "drill_mm", 1, addTo(t, 0.1)) },
		"mirrored": func(t *testing.T, p pack) {
			alterCells(t, p, "holes.csv", "x_mm", -1, func(s string) string { return "-" + s })
		},
		"renamed": func(t *testing.T, p pack) {
			alterCells(t, p, "holes.csv", "station", -1, func(s string) string { return s + "0" })
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := copyPack(t, packs[0])
			damage(t, p)
			if len(checkHoles(t.TempDir(), p)) == 0 {
				t.Error("nothing was found")
			}
		})
	}
}

// addTo gives a change that adds v to a cell.
func addTo(t *testing.T, v float64) func(string) string {
	return func(s string) string {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Errorf("%q is no number to damage", s)
		}
		return fmt.Sprintf("%.3f", f+v)
	}
}

func checkHoles(tmp string, p pack) (found []string) {
	return checkHolesOn(tmp, p, "templates.pdf", false)
}

// checkHolesOn reads the circles of each full-size page of a file, turned over where it is seen from behind, and lays them on
// the panel's holes.
func checkHolesOn(tmp string, p pack, file string, behind bool) (found []string) {
	pages, err := readPages(p.dir, file)
	if err != nil {
		return []string{err.Error()}
	}
	holes, err := readHoles(p.dir)
	if err != nil {
		return []string{err.Error()}
	}
	byPanel, _, found := sortTemplates(p, pages)
	for _, b := range byPanel {
		rows := holes[b.panel]
		seen := make([]bool, len(rows)) // at its place and size on some page
		named := map[string]bool{}      // stations whose number stands by their holes
		for _, q := range b.tiles {
			circles, err := readCircles(tmp, filepath.Join(p.dir, file), q.number)
			if err != nil {
				return append(found, err.Error())
			}
			if behind {
				q, circles = turnedOver(q, circles)
			}
			found = append(found, checkTile(q, circles, rows, seen, named)...)
		}
		for i, h := range rows {
			if !seen[i] {
				found = append(found, fmt.Sprintf("%s: hole Ø %.3f (rim %.3f) of station %s at %.3f, %.3f is on no page",
					b.panel, h.drill, h.rim, h.station, h.at.x, h.at.y))
			}
			if !named[h.station] {
				named[h.station] = true
				found = append(found, fmt.Sprintf("%s: the number %s stands on no page by its holes", b.panel, h.station))
			}
		}
	}
	return found
}

// checkTile finds where the page lies on the panel and compares.
func checkTile(q page, circles []circle, rows []hole, seen []bool, named map[string]bool) (found []string) {
	var drawn []circle
	for _, c := range circles {
		mark := math.Abs(c.diameter-registerDiameter) < diameterTol || math.Abs(c.diameter-datumDiameter) < diameterTol
		mark = mark && math.Abs(c.pen-registerPen) < 0.01 && !c.dashed
		if !mark && c.diameter <= largestHole && c.pen < outlinePen {
			drawn = append(drawn, c)
		}
	}
	if len(drawn) == 0 {
		return nil
	}
	place, matched, names := findPlacement(q, drawn, rows)
	for _, c := range drawn {
		if at := place.panel(c.at); matched < len(drawn) && !slices.ContainsFunc(rows, func(h hole) bool { return h.shows(c, at) }) {
			found = append(found, fmt.Sprintf("page %d: a circle Ø %.3f at %.3f, %.3f of the panel is in no row of holes.csv (%d of %d are)",
				q.number, c.diameter, at.x, at.y, matched, len(drawn)))
		}
	}
	if len(names) == 0 {
		return found // holes in the overlap, which stand on the neighbour with their number: which they are cannot be told here
	}
	for id := range names {
		named[id] = true
	}
	for i, h := range rows {
		drill, rim := h.drill == 0, h.rim == 0
		for _, c := range drawn {
			if place.panel(c.at).dist(h.at) <= holeTol {
				drill = drill || math.Abs(c.diameter-h.drill) <= diameterTol
				rim = rim || math.Abs(c.diameter-h.rim) <= diameterTol
			}
		}
		seen[i] = seen[i] || drill && rim
	}
	return found
}

// shows says whether the circle, which lies at a place of the panel, is this hole or its countersink.
func (h hole) shows(c circle, at point) bool {
	return at.dist(h.at) <= holeTol && (math.Abs(c.diameter-h.drill) <= diameterTol || math.Abs(c.diameter-h.rim) <= diameterTol)
}

// placement lays a page on a panel: quarter turns, then a shift. The page's y runs downwards, the panel's upwards, and both
// are seen from outside: there is no mirror.
type placement struct {
	turns int
	shift point
}

func (l placement) panel(p point) point {
	q := point{p.x, -p.y}
	for range l.turns {
		q = point{-q.y, q.x}
	}
	return point{q.x + l.shift.x, q.y + l.shift.y}
}

// findPlacement tries to lay the first circles on every hole. It keeps the placement in which most circles are holes and,
// of those, most stations have their number beside them: stations that are alike are told apart by nothing else. The shift
// is then the mean over all circles that match, so that each is off by its own error only.
func findPlacement(q page, drawn []circle, rows []hole) (best placement, matched int, names map[string]bool) {
	for turns := range 4 {
		for _, c := range drawn[:min(3, len(drawn))] {
			for _, h := range rows {
				l := placement{turns: turns}
				at := l.panel(c.at)
				l.shift = point{h.at.x - at.x, h.at.y - at.y}
				n, off, stations := l.count(drawn, rows)
				if n < matched || n == 0 {
					continue
				}
				beside := l.beside(q, rows, stations)
				if n > matched || len(beside) > len(names) {
					best, matched, names = placement{turns, point{l.shift.x + off.x, l.shift.y + off.y}}, n, beside
				}
			}
		}
	}
	return best, matched, names
}

// count gives the circles that are holes, how far they are off in the mean, and the stations that the holes are of.
func (l placement) count(drawn []circle, rows []hole) (n int, off point, stations map[string]bool) {
	stations = map[string]bool{}
	for _, c := range drawn {
		at := l.panel(c.at)
		if i := slices.IndexFunc(rows, func(h hole) bool { return h.shows(c, at) }); i >= 0 {
			n++
			off.x += rows[i].at.x - at.x
			off.y += rows[i].at.y - at.y
			stations[rows[i].station] = true
		}
	}
	return n, point{off.x / float64(max(1, n)), off.y / float64(max(1, n))}, stations
}

// beside gives those of the stations whose number stands on the page within reach of one of their holes. It need not be the
// nearest number: a leader joins the two.
func (l placement) beside(q page, rows []hole, stations map[string]bool) map[string]bool {
	out := map[string]bool{}
	for _, w := range q.words {
		if !stations[w.s] || w.y1-w.y0 < nameHigh {
			continue
		}
		mid := l.panel(point{(w.x0 + w.x1) / 2, (w.y0 + w.y1) / 2})
		if slices.ContainsFunc(rows, func(h hole) bool { return h.station == w.s && mid.dist(h.at) <= nameReach }) {
			out[w.s] = true
		}
	}
	return out
}
