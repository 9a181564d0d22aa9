package peer

import (
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// Between circles of one strip or card, mm.
const patternTol = 0.05

// holeCircles are the circles of a page that are holes or countersinks: no marks, no outlines.
func holeCircles(circles []circle) (out []circle) {
	for _, c := range circles {
		mark := math.Abs(c.diameter-registerDiameter) < diameterTol || math.Abs(c.diameter-datumDiameter) < diameterTol
		mark = mark && math.Abs(c.pen-registerPen) < 0.01 && !c.dashed
		if !mark && c.diameter <= largestHole && c.pen < outlinePen {
			out = append(out, c)
		}
	}
	return out
}

// The pages of templates-behind.pdf are the panel seen from behind: turned over again they have every hole of the schedule at
// its place, with its station's number; as they are they have not. Their words come out in the order of reading.
func TestHolesFromBehind(t *testing.T) {
	need(t, "pdftotext", "pdftocairo")
	eachPack(t, func(t *testing.T, p pack) {
		const file = "templates-behind.pdf"
		say(t, checkHolesOn(t.TempDir(), p, file, true))
		// Each page of the canopy's rectangles, with one or two alike stations on it, fits both ways.
		if p.name != "03-canopy" && len(checkHolesOn(t.TempDir(), p, file, false)) == 0 {
			t.Error("the pages fit the panel as seen from outside, too")
		}
		pages, err := readPages(p.dir, file)
		if err != nil {
			t.Fatal(err)
		}
		out, err := runIn(p.dir, "pdftotext", file, "-")
		if err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(string(out), "MIRRORED: for marking from behind"); n != len(pages) {
			t.Errorf("%d of %d pages say in order that they are mirrored", n, len(pages))
		}
	})
}

// turnedOver is a page as it is seen through its back.
func turnedOver(q page, circles []circle) (page, []circle) {
	out := page{number: q.number, w: q.w, h: q.h}
	for _, w := range q.words {
		w.x0, w.x1 = q.w-w.x1, q.w-w.x0
		out.words = append(out.words, w)
	}
	var back []circle
	for _, c := range circles {
		c.at.x = q.w - c.at.x
		back = append(back, c)
	}
	return out, back
}

// motion turns a page without mirror (its y runs downwards) and lays it on a panel.
type motion struct {
	cos, sin float64
	shift    point
}

func (m motion) panel(p point) point {
	return point{m.cos*p.x + m.sin*p.y + m.shift.x, m.sin*p.x - m.cos*p.y + m.shift.y}
}

// motionOf takes a to h and b to k, as nearly as a motion can.
func motionOf(a, b, h, k point) motion {
	from, to := math.Atan2(a.y-b.y, b.x-a.x), math.Atan2(k.y-h.y, k.x-h.x)
	m := motion{cos: math.Cos(to - from), sin: math.Sin(to - from)}
	mid := m.panel(point{(a.x + b.x) / 2, (a.y + b.y) / 2})
	m.shift = point{(h.x+k.x)/2 - mid.x, (h.y+k.y)/2 - mid.y}
	return m
}

// region is what is printed under one heading: a strip under its title, a card under its number.
type region struct {
	panel   string
	heading word
	drawn   []circle
	words   []word
}

// under is the heading that a place stands under: the lowest above it, of those of one row the last on its left; -1 when none.
func under(regions []region, at point) int {
	best := -1
	for i, r := range regions {
		if r.heading.y0 > at.y || r.heading.x0 > at.x+4 {
			continue
		}
		if b := best; b < 0 || r.heading.y0 > regions[b].heading.y0+1 ||
			r.heading.y0 > regions[b].heading.y0-1 && r.heading.x0 > regions[b].heading.x0 {
			best = i
		}
	}
	return best
}

// collect gives each circle and each word of a page to its heading.
func collect(regions []region, q page, circles []circle) (found []string) {
	for _, c := range circles {
		i := under(regions, c.at)
		if i < 0 {
			found = append(found, fmt.Sprintf("page %d: a circle Ø %.2f at %.1f, %.1f stands under no heading", q.number, c.diameter, c.at.x, c.at.y))
			continue
		}
		regions[i].drawn = append(regions[i].drawn, c)
	}
	for _, w := range q.words {
		if i := under(regions, point{(w.x0 + w.x1) / 2, (w.y0 + w.y1) / 2}); i >= 0 {
			regions[i].words = append(regions[i].words, w)
		}
	}
	return found
}

// layOn finds motions that lay all circles on holes of their size, and keeps the one by which most stations have their number
// beside them. Circles about one centre fit wherever their sizes do.
func layOn(words []word, drawn []circle, rows []hole) (fits bool, ids, names map[string]bool) {
	first, last := drawn[0], drawn[0]
	for _, a := range drawn {
		for _, b := range drawn {
			if a.at.dist(b.at) > first.at.dist(last.at) {
				first, last = a, b
			}
		}
	}
	long := first.at.dist(last.at)
	for _, h := range rows {
		if !h.shows(first, h.at) {
			continue
		}
		for _, k := range rows {
			if math.Abs(h.at.dist(k.at)-long) > patternTol || !k.shows(last, k.at) {
				continue
			}
			m := motionOf(first.at, last.at, h.at, k.at)
			if long < patternTol {
				m = motion{cos: 1, shift: point{h.at.x - first.at.x, h.at.y + first.at.y}}
			}
			if !slices.ContainsFunc(drawn, func(c circle) bool {
				at := m.panel(c.at)
				return !slices.ContainsFunc(rows, func(r hole) bool { return r.shows(c, at) })
			}) {
				on, beside := m.stations(words, drawn, rows)
				if !fits || len(beside) > len(names) {
					fits, ids, names = true, on, beside
				}
			}
		}
	}
	return fits, ids, names
}

// stations lists those all of whose holes are drawn, and those of them that have their number beside them.
func (m motion) stations(words []word, drawn []circle, rows []hole) (ids, names map[string]bool) {
	ids, names = map[string]bool{}, map[string]bool{}
	for _, r := range rows {
		ids[r.station] = true
	}
	for _, r := range rows {
		drill, rim := r.drill == 0, r.rim == 0
		for _, c := range drawn {
			if m.panel(c.at).dist(r.at) <= holeTol {
				drill = drill || math.Abs(c.diameter-r.drill) <= diameterTol
				rim = rim || math.Abs(c.diameter-r.rim) <= diameterTol
			}
		}
		ids[r.station] = ids[r.station] && drill && rim
	}
	for _, w := range words {
		if !ids[w.s] || w.y1-w.y0 < nameHigh {
			continue
		}
		for _, c := range drawn {
			at := m.panel(c.at)
			if c.at.dist(point{(w.x0 + w.x1) / 2, (w.y0 + w.y1) / 2}) <= nameReach &&
				slices.ContainsFunc(rows, func(r hole) bool { return r.station == w.s && r.at.dist(at) <= holeTol }) {
				names[w.s] = true
			}
		}
	}
	return ids, names
}

var stripTitle = regexp.MustCompile(`^, (.+?)(, strip (\d+) of (\d+))?$`)

// stripsOn finds the titles of strips on a page: words on one line that begin with a panel's name, larger than others.
func stripsOn(p pack, q page) (out []region) {
	for i, w := range q.words {
		line := w.s
		for _, next := range q.words[i+1:] {
			if math.Abs(next.y0-w.y0) > 0.3 {
				break
			}
			line += " " + next.s
		}
		for _, panel := range p.plan.Panels {
			rest, ok := strings.CutPrefix(line, panel.Name)
			if ok && w.y1-w.y0 > 4.6 && stripTitle.MatchString(rest) {
				out = append(out, region{panel: panel.Name, heading: w})
			}
		}
	}
	return out
}

// Every strip lies on its panel: all its circles are holes of the schedule, at one motion, within a twentieth of a mm; and
// every station of the schedule stands whole on one, under its number.
func TestHolesOnStrips(t *testing.T) {
	need(t, "pdftotext", "pdftocairo")
	eachPack(t, func(t *testing.T, p pack) { say(t, checkStrips(t.TempDir(), p)) })
}

func checkStrips(tmp string, p pack) (found []string) {
	const file = "strips.pdf"
	pages, err := readPages(p.dir, file)
	if err != nil {
		return []string{err.Error()}
	}
	holes, err := readHoles(p.dir)
	if err != nil {
		return []string{err.Error()}
	}
	whole := map[string]bool{}
	for _, q := range pages {
		circles, err := readCircles(tmp, filepath.Join(p.dir, file), q.number)
		if err != nil {
			return append(found, err.Error())
		}
		regions := stripsOn(p, q)
		found = append(found, collect(regions, q, holeCircles(circles))...)
		for _, r := range regions {
			if len(r.drawn) == 0 {
				continue
			}
			fits, _, names := layOn(r.words, r.drawn, holes[r.panel])
			if !fits {
				found = append(found, fmt.Sprintf("%s page %d: the %d circles of a strip of %s at %.0f, %.0f lie on no holes of holes.csv", file, q.number, len(r.drawn), r.panel, r.heading.x0, r.heading.y0))
			}
			for id := range names {
				whole[r.panel+" "+id] = true
			}
		}
	}
	return append(found, missing(p, holes, whole, file)...)
}

// missing lists the stations that have holes and are not among those seen.
func missing(p pack, holes map[string][]hole, seen map[string]bool, file string) (found []string) {
	for _, panel := range p.plan.Panels {
		for _, st := range panel.Stations {
			drilled := slices.ContainsFunc(holes[panel.Name], func(h hole) bool { return h.station == st.ID })
			if drilled && !seen[panel.Name+" "+st.ID] {
				found = append(found, fmt.Sprintf("%s: station %s of %s is nowhere whole", file, st.ID, panel.Name))
			}
		}
	}
	return found
}

// The cards come in the order of the plan, each under its station's number, and each has the holes of that station and no
// others, at their distances from each other.
func TestHolesOnStickers(t *testing.T) {
	need(t, "pdftotext", "pdftocairo")
	eachPack(t, func(t *testing.T, p pack) { say(t, checkStickers(t.TempDir(), p)) })
}

func checkStickers(tmp string, p pack) (found []string) {
	const file, headHigh, scaleColumn = "stickers.pdf", 9.0, 19.0
	pages, err := readPages(p.dir, file)
	if err != nil {
		return []string{err.Error()}
	}
	holes, err := readHoles(p.dir)
	if err != nil {
		return []string{err.Error()}
	}
	var want [][2]string
	for _, panel := range p.plan.Panels {
		for _, st := range panel.Stations {
			want = append(want, [2]string{panel.Name, st.ID})
		}
	}
	for _, q := range pages {
		circles, err := readCircles(tmp, filepath.Join(p.dir, file), q.number)
		if err != nil {
			return append(found, err.Error())
		}
		var cards []region
		for _, w := range q.words {
			if w.y1-w.y0 > headHigh && w.x0 > scaleColumn {
				cards = append(cards, region{heading: w})
			}
		}
		slices.SortStableFunc(cards, func(a, b region) int {
			if d := a.heading.y0 - b.heading.y0; math.Abs(d) > 1 {
				return int(math.Copysign(1, d))
			}
			return int(math.Copysign(1, a.heading.x0-b.heading.x0))
		})
		found = append(found, collect(cards, q, holeCircles(circles))...)
		for _, c := range cards {
			if len(want) == 0 || c.heading.s != want[0][1] {
				return append(found, fmt.Sprintf("%s page %d: card %q, %d are left, of %v", file, q.number, c.heading.s, len(want), want[:min(1, len(want))]))
			}
			var rows []hole
			for _, h := range holes[want[0][0]] {
				if h.station == want[0][1] {
					rows = append(rows, h)
				}
			}
			want = want[1:]
			if len(rows) == 0 && len(c.drawn) == 0 {
				continue
			}
			if len(c.drawn) == 0 {
				found = append(found, fmt.Sprintf("%s page %d: card %s has no holes", file, q.number, c.heading.s))
				continue
			}
			if fits, ids, _ := layOn(c.words, c.drawn, rows); !fits || !ids[c.heading.s] {
				found = append(found, fmt.Sprintf("%s page %d: the %d circles of card %s are not its holes in holes.csv", file, q.number, len(c.drawn), c.heading.s))
			}
		}
	}
	if len(want) > 0 {
		found = append(found, fmt.Sprintf("%s: %d stations have no card, the first %v", file, len(want), want[0]))
	}
	return found
}

// A schedule that is mirrored, one with a hole moved by a fifth of a mm and one with another size do not fit strips, cards or
// pages from behind.
func TestMarkingSeesDamage(t *testing.T) {
	need(t, "pdftotext", "pdftocairo")
	for name, damage := range map[string]func(t *testing.T, p pack){
		"moved": func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "x_mm", 1, addTo(t, 0.2)) },
		"size":  func(t *testing.T, p pack) { alterCells(t, p, "holes.csv", "drill_mm", 1, addTo(t, 0.1)) },
		"mirrored": func(t *testing.T, p pack) {
			alterCells(t, p, "holes.csv", "x_mm", -1, func(s string) string { return "-" + s })
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := copyPack(t, packs[0])
			damage(t, p)
			if len(checkStrips(t.TempDir(), p)) == 0 {
				t.Error("nothing was found on strips")
			}
			if len(checkHolesOn(t.TempDir(), p, "templates-behind.pdf", true)) == 0 {
				t.Error("nothing was found on the pages from behind")
			}
			// A card of three holes in a row is its own mirror image.
			if name != "mirrored" && len(checkStickers(t.TempDir(), p)) == 0 {
				t.Error("nothing was found on stickers")
			}
		})
	}
}
