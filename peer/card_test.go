package peer

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// The work card as a page: one for each panel, seen in a browser.
func TestCardPages(t *testing.T) {
	need(t, "pdftotext")
	browser := chromium(t)
	for _, p := range packs {
		pages, err := readPages(p.dir, "card.pdf")
		if err != nil {
			t.Fatal(err)
		}
		for _, panel := range p.plan.Panels {
			var ids []string
			for _, s := range panel.Stations {
				ids = append(ids, s.ID)
			}
			t.Run(p.name+"/"+panel.ID, func(t *testing.T) { testCardPage(t, browser, p, panel.Name, panel.ID, ids, pages) })
		}
	}
}

func testCardPage(t *testing.T, browser context.Context, p pack, name, id string, stations []string, pdf []page) {
	v := view(t, browser, filepath.Join(p.dir, "card-"+id+".html"))
	if title := run(t, v, chromedp.Title()); title != name+", work card" {
		t.Errorf("its title is %q", title)
	}
	steps := run(t, v, chromedp.Evaluate[[]string](`[...document.querySelectorAll("article.step > h3")].map((h) => h.innerText.trim().replace(/\s+/g, " "))`))
	for i, s := range steps {
		if !strings.HasPrefix(s, fmt.Sprintf("%d ", i+1)) {
			t.Errorf("step %d is %q", i+1, s)
		}
	}
	if n := run(t, v, chromedp.Evaluate[int](`document.querySelectorAll("svg").length`)); len(steps) < 6 || n < 3 {
		t.Errorf("only %d pictures, and the steps %q", n, steps)
	}
	found, _ := look[any](t, v, "structure", []string{})
	say(t, found)
	say(t, checkSteps(steps, name, pdf))
	for _, width := range []int64{1280, 768, 360} {
		run(t, v, chromedp.EmulateViewport(width, 800))
		found, _ = look[any](t, v, "drawings")
		say(t, found)
		found, _ = look[int](t, v, "narrow")
		say(t, found)
	}
	for _, scheme := range []string{"light", "dark"} {
		light(t, v, scheme)
		found, _ = look[int](t, v, "contrast")
		say(t, found)
	}
	for table, inputs := range map[string]int{"planned": 0, "station": 7} {
		rows := run(t, v, chromedp.Evaluate[[]string](fmt.Sprintf(`[...document.querySelectorAll("tr[data-%[1]s]")].map((r) => r.dataset.%[1]s + " " + r.querySelectorAll("input").length)`, table)))
		var want []string
		for _, s := range stations {
			want = append(want, fmt.Sprintf("%s %d", s, inputs))
		}
		if !slices.Equal(rows, want) {
			t.Errorf("rows of stations with their boxes %q, want %q", rows, want)
		}
	}
	bare := run(t, v, chromedp.Evaluate[int](`[...document.querySelectorAll("input")].filter((i) => !i.ariaLabel && !i.closest("label")?.innerText.trim()).length`))
	if bare > 0 {
		t.Errorf("%d boxes say to nobody what they are for", bare)
	}
	testCardPrinted(t, v, steps)
	say(t, v.complaints())
}

// checkSteps wants the page's steps in card.pdf, in the same order.
func checkSteps(steps []string, name string, pdf []page) (found []string) {
	var all strings.Builder
	for _, q := range pdf {
		if text := q.text(); strings.HasPrefix(text, name+" work card") {
			all.WriteString(text + " ")
		}
	}
	rest := all.String()
	if rest == "" {
		return []string{"card.pdf has no page of " + name}
	}
	for _, s := range steps {
		_, title, _ := strings.Cut(s, " ") // the number stands in a column of its own
		_, after, ok := strings.Cut(rest, " "+title+" ")
		if !ok {
			found = append(found, fmt.Sprintf("card.pdf lacks the step %q, or has it in another place", s))
			continue
		}
		rest = after
	}
	return found
}

// testCardPrinted has the browser print the page on both small papers: nothing off the paper, every step there.
func testCardPrinted(t *testing.T, v *viewer, steps []string) {
	need(t, "qpdf", "pdftotext")
	run(t, v, chromedp.ResetViewport())
	for _, paper := range []struct {
		name string
		size chromedp.PaperSize
	}{{"A4", chromedp.PaperA4}, {"Letter", chromedp.PaperLetter}} {
		dir := t.TempDir()
		data := run(t, v, chromedp.PrintToPDF(chromedp.PDFPaper(paper.size)))
		if err := os.WriteFile(filepath.Join(dir, "print.pdf"), data, 0o644); err != nil {
			t.Fatal(err)
		}
		must(t, dir, "qpdf", "--check", "print.pdf")
		pages, err := readPages(dir, "print.pdf")
		if err != nil {
			t.Fatal(err)
		}
		say(t, checkOnPage(paper.name, 9, pages))
		var all strings.Builder
		for _, q := range pages {
			all.WriteString(q.text() + " ")
		}
		for _, s := range steps {
			if !strings.Contains(all.String(), s) {
				t.Errorf("%s: printed, it lacks the step %q", paper.name, s)
			}
		}
	}
}
