package peer

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// mmPerPoint turns PDF points into mm.
const mmPerPoint = 25.4 / 72

// Papers in mm: ISO 216, and ANSI/ASME Y14.1 size A.
var papers = map[string][2]float64{"A4": {210, 297}, "A3": {297, 420}, "Letter": {215.9, 279.4}}

// word is a piece of text on a page, with its box in mm from the page's top left corner.
type word struct {
	x0, y0, x1, y1 float64
	s              string
}

type page struct {
	number int // from 1
	w, h   float64
	words  []word
}

// text is the page's words in reading order.
func (p page) text() string {
	var s []string
	for _, w := range p.words {
		s = append(s, w.s)
	}
	return strings.Join(s, " ")
}

// has says whether the words stand on the page one after the other.
func (p page) has(s string) bool { return strings.Contains(" "+p.text()+" ", " "+s+" ") }

// readPages takes the text and its places out of a PDF, by poppler.
func readPages(dir, file string) ([]page, error) {
	out, err := runIn(dir, "pdftotext", "-bbox", file, "-")
	if err != nil {
		return nil, err
	}
	var doc struct {
		Pages []struct {
			Width  float64 `xml:"width,attr"`
			Height float64 `xml:"height,attr"`
			Words  []struct {
				X0 float64 `xml:"xMin,attr"`
				Y0 float64 `xml:"yMin,attr"`
				X1 float64 `xml:"xMax,attr"`
				Y1 float64 `xml:"yMax,attr"`
				S  string  `xml:",chardata"`
			} `xml:"word"`
		} `xml:"body>doc>page"`
	}
	dec := xml.NewDecoder(strings.NewReader(string(out)))
	dec.Strict, dec.Entity = false, xml.HTMLEntity
	if err := dec.Decode(&doc); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	var pages []page
	for i, p := range doc.Pages {
		q := page{number: i + 1, w: p.Width * mmPerPoint, h: p.Height * mmPerPoint}
		for _, w := range p.Words {
			q.words = append(q.words, word{w.X0 * mmPerPoint, w.Y0 * mmPerPoint, w.X1 * mmPerPoint, w.Y1 * mmPerPoint, w.S})
		}
		pages = append(pages, q)
	}
	return pages, nil
}

// The PDFs are sound, sized as the job's paper, ask to be printed unscaled, and carry their letters with them.
func TestPDFSound(t *testing.T) {
	need(t, "qpdf", "pdfinfo", "pdffonts")
	eachPack(t, func(t *testing.T, p pack) {
		for _, file := range []string{"templates.pdf", "templates-behind.pdf", "strips.pdf", "stickers.pdf", "card.pdf", "labels.pdf"} {
			must(t, p.dir, "qpdf", "--check", file) // exit code 3 for mere warnings
			say(t, checkPaper(p, file))
			say(t, checkCatalogue(p, file))
			say(t, checkFonts(p, file))
		}
	})
}

var (
	pagesLine = regexp.MustCompile(`(?m)^Pages:\s+(\d+)$`)
	sizeLine  = regexp.MustCompile(`(?m)^Page\s+\d+ size:\s+([\d.]+) x ([\d.]+) pts`)
)

// checkPaper wants every page as large as the job's paper, upright or across. Points are rounded to 0.01.
func checkPaper(p pack, file string) (found []string) {
	out, err := runIn(p.dir, "pdfinfo", "-l", "9999", file)
	if err != nil {
		return []string{err.Error()}
	}
	m := pagesLine.FindSubmatch(out)
	sizes := sizeLine.FindAllSubmatch(out, -1)
	if m == nil || len(sizes) == 0 || string(m[1]) != strconv.Itoa(len(sizes)) {
		return []string{fmt.Sprintf("%s: pdfinfo lists %d page sizes: %s", file, len(sizes), out)}
	}
	paper, ok := papers[p.plan.Job.Paper]
	if !ok {
		return []string{fmt.Sprintf("plan.json: paper %q", p.plan.Job.Paper)}
	}
	for i, s := range sizes {
		var side [2]float64
		for k := range side {
			points, err := strconv.ParseFloat(string(s[k+1]), 64)
			if err != nil {
				return append(found, err.Error())
			}
			side[k] = points * mmPerPoint
		}
		slices.Sort(side[:])
		if math.Abs(side[0]-paper[0]) > 0.01 || math.Abs(side[1]-paper[1]) > 0.01 {
			found = append(found, fmt.Sprintf("%s page %d: %.3f × %.3f mm, the job's paper is %s", file, i+1, side[0], side[1], p.plan.Job.Paper))
		}
	}
	return found
}

// checkCatalogue reads the document's catalogue, as qpdf sees it, for /PrintScaling.
func checkCatalogue(p pack, file string) []string {
	out, err := runIn(p.dir, "qpdf", "--json=2", "--json-key=qpdf", file)
	if err != nil {
		return []string{err.Error()}
	}
	var doc struct{ Qpdf []map[string]json.RawMessage }
	if err := json.Unmarshal(out, &doc); err != nil || len(doc.Qpdf) != 2 {
		return []string{fmt.Sprintf("%s: qpdf's JSON: %v, %d parts", file, err, len(doc.Qpdf))}
	}
	var trailer struct {
		Value struct {
			Root string `json:"/Root"`
		}
	}
	var root struct {
		Value struct {
			Preferences struct {
				PrintScaling string `json:"/PrintScaling"`
			} `json:"/ViewerPreferences"`
		}
	}
	if err := json.Unmarshal(doc.Qpdf[1]["trailer"], &trailer); err != nil {
		return []string{fmt.Sprintf("%s: trailer: %v", file, err)}
	}
	if err := json.Unmarshal(doc.Qpdf[1]["obj:"+trailer.Value.Root], &root); err != nil {
		return []string{fmt.Sprintf("%s: catalogue %s: %v", file, trailer.Value.Root, err)}
	}
	if got := root.Value.Preferences.PrintScaling; got != "/None" {
		return []string{fmt.Sprintf("%s: /PrintScaling is %q in the catalogue, want /None", file, got)}
	}
	return nil
}

// checkFonts wants every face embedded and mapped to Unicode, so that the file prints and can be searched anywhere.
func checkFonts(p pack, file string) (found []string) {
	out, err := runIn(p.dir, "pdffonts", file)
	if err != nil {
		return []string{err.Error()}
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) < 3 {
		return []string{fmt.Sprintf("%s: pdffonts lists no face: %s", file, out)}
	}
	for _, line := range lines[2:] {
		f := strings.Fields(line) // … emb sub uni object generation
		if n := len(f); n < 5 || f[n-5] != "yes" || f[n-3] != "yes" {
			found = append(found, fmt.Sprintf("%s: face not embedded or not mapped to Unicode: %s", file, line))
		}
	}
	return found
}

var (
	printPages = regexp.MustCompile(`Print the (\d+) pages? of this panel at 100 %`)
	sheetOf    = regexp.MustCompile(`sheet (\d+) of (\d+)`)
	section    = regexp.MustCompile(`^Section [A-Z]+[ ,]`)
)

// template is one panel's part of templates.pdf: its overview and its full-size pages.
type template struct {
	panel    string
	overview page
	tiles    []page
}

// sortTemplates tells overviews, full-size pages and sections apart by what is written on them.
func sortTemplates(p pack, pages []page) (byPanel []template, sections []page, found []string) {
	for _, q := range pages {
		text := q.text()
		switch m := sheetOf.FindStringSubmatch(text); {
		case section.MatchString(text):
			sections = append(sections, q)
		case m != nil:
			if len(byPanel) == 0 {
				found = append(found, fmt.Sprintf("templates.pdf page %d: a full-size page before any overview", q.number))
				continue
			}
			of := &byPanel[len(byPanel)-1]
			of.tiles = append(of.tiles, q)
			want := printPages.FindStringSubmatch(of.overview.text())
			if m[1] != strconv.Itoa(len(of.tiles)) || want == nil || m[2] != want[1] || !q.has(of.panel) {
				found = append(found, fmt.Sprintf("templates.pdf page %d says %q, as page %d of panel %s, whose overview says %q",
					q.number, m[0], len(of.tiles), of.panel, want))
			}
		default:
			if len(byPanel) == len(p.plan.Panels) {
				found = append(found, fmt.Sprintf("templates.pdf page %d belongs to no panel: %.60s", q.number, text))
				continue
			}
			byPanel = append(byPanel, template{panel: p.plan.Panels[len(byPanel)].Name, overview: q})
		}
	}
	if len(byPanel) != len(p.plan.Panels) {
		found = append(found, fmt.Sprintf("templates.pdf has %d overviews for %d panels", len(byPanel), len(p.plan.Panels)))
	}
	for _, b := range byPanel {
		if m := printPages.FindStringSubmatch(b.overview.text()); m == nil || m[1] != strconv.Itoa(len(b.tiles)) {
			found = append(found, fmt.Sprintf("templates.pdf page %d promises %q, there are %d", b.overview.number, m, len(b.tiles)))
		}
	}
	return byPanel, sections, found
}

// The text of templates.pdf can be taken out: panels, stations, how to print; and its pages are those that it promises.
func TestTemplatesText(t *testing.T) {
	need(t, "pdftotext")
	eachPack(t, func(t *testing.T, p pack) {
		pages, err := readPages(p.dir, "templates.pdf")
		if err != nil {
			t.Fatal(err)
		}
		byPanel, sections, found := sortTemplates(p, pages)
		say(t, found)
		for i, b := range byPanel {
			if !b.overview.has(b.panel) || !b.overview.has("at 100 %,") {
				t.Errorf("page %d: lacks %q or how to print", b.overview.number, b.panel)
			}
			for _, q := range b.tiles {
				if !q.has("print at 100 %, measure both scales") {
					t.Errorf("page %d: does not say how to print", q.number)
				}
			}
			for _, s := range p.plan.Panels[i].Stations {
				if !b.overview.has(s.ID) {
					t.Errorf("page %d: station %s of %s is not on the overview", b.overview.number, s.ID, b.panel)
				}
			}
		}
		if len(sections) == 0 {
			t.Error("no section through a station")
		}
		for _, panel := range p.plan.Panels {
			if !slices.ContainsFunc(sections, func(q page) bool { return strings.Contains(q.text(), panel.Name+":") }) {
				t.Errorf("no section says that it is of %s", panel.Name)
			}
		}
	})
}

var cardPage = regexp.MustCompile(`(work card|take to the vehicle) · page (\d+) of (\d+)`)

// Each panel's part of the card has its pages in order, every station by name, the trial fit before the riveting, and at
// its end the page for the vehicle.
func TestCardText(t *testing.T) {
	need(t, "pdftotext")
	eachPack(t, func(t *testing.T, p pack) {
		pages, err := readPages(p.dir, "card.pdf")
		if err != nil {
			t.Fatal(err)
		}
		for _, panel := range p.plan.Panels {
			var all strings.Builder
			for n, total := 1, 1; n <= total; n++ {
				if len(pages) == 0 {
					t.Fatalf("card.pdf ends before page %d of %s", n, panel.Name)
				}
				q := pages[0]
				pages = pages[1:]
				m := cardPage.FindStringSubmatch(q.text())
				if m == nil || m[2] != strconv.Itoa(n) || !q.has(panel.Name) {
					t.Fatalf("card.pdf page %d: %q, want page %d of %s", q.number, m, n, panel.Name)
				}
				total, _ = strconv.Atoi(m[3])
				if last := n == total; last != (m[1] == "take to the vehicle") {
					t.Errorf("card.pdf page %d: %q", q.number, m)
				} else if last {
					for _, s := range panel.Stations {
						if !q.has(s.ID) {
							t.Errorf("card.pdf page %d: station %s is not on the page for the vehicle", q.number, s.ID)
						}
					}
				}
				all.WriteString(q.text() + " ")
			}
			fit := strings.Index(all.String(), "TRIAL FIT")
			if fit < 0 || !strings.Contains(all.String()[fit:], "Do not rivet or weld until") {
				t.Errorf("%s: no trial fit that holds back the riveting", panel.Name)
			}
		}
		if len(pages) > 0 {
			t.Errorf("card.pdf has %d pages that belong to no panel", len(pages))
		}
	})
}

// No word of either PDF lies off its page.
func TestWordsOnPage(t *testing.T) {
	need(t, "pdftotext")
	eachPack(t, func(t *testing.T, p pack) {
		for _, file := range []string{"templates.pdf", "templates-behind.pdf", "strips.pdf", "stickers.pdf", "card.pdf", "labels.pdf"} {
			pages, err := readPages(p.dir, file)
			if err != nil {
				t.Fatal(err)
			}
			say(t, checkOnPage(file, 0, pages))
		}
	})
}

// checkOnPage wants every word inside its page's margin, mm.
func checkOnPage(file string, margin float64, pages []page) (found []string) {
	edge := margin - 0.2 // a letter's box is wider than its ink
	for _, q := range pages {
		if len(q.words) == 0 {
			found = append(found, fmt.Sprintf("%s page %d has no text", file, q.number))
		}
		for _, w := range q.words {
			if w.x0 < edge || w.y0 < edge || w.x1 > q.w-edge || w.y1 > q.h-edge {
				found = append(found, fmt.Sprintf("%s page %d: %q lies off the page or in its margin, at %.1f–%.1f, %.1f–%.1f mm", file, q.number, w.s, w.x0, w.x1, w.y0, w.y1))
			}
		}
	}
	return found
}
