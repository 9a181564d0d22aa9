package peer

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

//go:embed testdata/page.js
var pageJS string

// browserTime bounds all that one page is looked at for.
const browserTime = 60 * time.Second

// chromium starts one browser for a test; pages are its tabs. It may reach nothing of its own accord.
func chromium(t *testing.T) context.Context {
	t.Helper()
	need(t, "chromium")
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath("chromium"), chromedp.NoSandbox,
		chromedp.DisableGPU, chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-background-networking", true))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	return ctx
}

// viewer is a tab that hears what the page asks for and complains about.
type viewer struct {
	ctx   context.Context
	mu    sync.Mutex
	heard []string
}

// view opens a page in a tab of its own.
func view(t *testing.T, browser context.Context, file string) *viewer {
	t.Helper()
	ctx, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, browserTime)
	t.Cleanup(stop)
	v := &viewer{ctx: ctx}
	at := (&url.URL{Scheme: "file", Path: file}).String()
	err := chromedp.Listen(ctx, func(event any) {
		if e, ok := event.(*network.EventRequestWillBeSent); ok && e.Request.URL != at && !strings.HasPrefix(e.Request.URL, "data:") {
			v.mu.Lock()
			v.heard = append(v.heard, "asks for "+e.Request.URL)
			v.mu.Unlock()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			v.mu.Lock()
			v.heard = append(v.heard, "says "+m.String())
			v.mu.Unlock()
		}
	}()
	call(t, v, network.Enable, network.EnableParams{})
	if err := chromedp.Do(ctx, chromedp.Navigate(at)); err != nil {
		t.Fatal(err)
	}
	run(t, v, chromedp.Evaluate[any](pageJS))
	return v
}

// complaints is what the page asked for, or said on its console, so far.
func (v *viewer) complaints() []string {
	v.mu.Lock()
	defer v.mu.Unlock()
	return append([]string(nil), v.heard...)
}

func run[T any](t *testing.T, v *viewer, a chromedp.Action[T]) T {
	t.Helper()
	got, err := chromedp.Run(v.ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// look runs one of the checks of page.js and gives what it found and the value that it returned.
func look[T any](t *testing.T, v *viewer, check string, args ...any) (found []string, value T) {
	t.Helper()
	list, err := json.Marshal(append([]any{check}, args...))
	if err != nil {
		t.Fatal(err)
	}
	type answer struct {
		Found []string
		Value T
	}
	got := run(t, v, chromedp.Evaluate[answer](fmt.Sprintf("look(...%s)", list)))
	return got.Found, got.Value
}

// light sets what the reader's system prefers.
func light(t *testing.T, v *viewer, scheme string) {
	t.Helper()
	call(t, v, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
}

// openAll opens what is folded away, so that it is looked at too.
const openAll = `document.querySelectorAll("details").forEach((d) => d.open = true)`

func TestPlanPage(t *testing.T) {
	browser := chromium(t)
	for _, p := range packs {
		t.Run(p.name, func(t *testing.T) { testPage(t, browser, p) })
	}
}

func testPage(t *testing.T, browser context.Context, p pack) {
	v := view(t, browser, filepath.Join(p.dir, "plan.html"))
	if title := run(t, v, chromedp.Title()); title != p.plan.Job.Name {
		t.Errorf("its title is %q, the job %q", title, p.plan.Job.Name)
	}
	var names []string
	want := map[string]int{"checks hold": p.plan.Tally.Holds, "do not hold": p.plan.Tally.DoesNotHold, "not known": p.plan.Tally.NotKnown}
	for _, panel := range p.plan.Panels {
		names = append(names, panel.Name)
		want["panels"] += panel.Quantity
		want["stations"] += panel.Quantity * len(panel.Stations)
	}
	found, _ := look[any](t, v, "structure", names)
	say(t, found)
	_, facts := look[map[string]int](t, v, "facts")
	for label, n := range want {
		if got, ok := facts[label]; !ok || got != n {
			t.Errorf("says %d %s, plan.json has %d", got, label, n)
		}
	}

	run(t, v, chromedp.Evaluate[any](openAll))
	for _, width := range []int64{1280, 360} {
		run(t, v, chromedp.EmulateViewport(width, 800))
		found, _ = look[any](t, v, "drawings")
		say(t, found)
		found, scrolled := look[int](t, v, "narrow")
		say(t, found)
		if width == 360 && scrolled == 0 {
			t.Error("no table scrolls on a narrow page: the check has seen nothing")
		}
	}
	for _, scheme := range []string{"light", "dark"} {
		light(t, v, scheme)
		found, seen := look[int](t, v, "contrast")
		for _, f := range found {
			t.Errorf("%s: %s", scheme, f)
		}
		if seen < 100 {
			t.Errorf("%s: only %d texts were seen", scheme, seen)
		}
	}
	testPrinted(t, v, p)
	say(t, v.complaints())
}

// testPrinted has the browser print the page on A4 and reads the print: all panels, nothing off the paper, folded parts too.
func testPrinted(t *testing.T, v *viewer, p pack) {
	need(t, "qpdf", "pdftotext")
	run(t, v, chromedp.ResetViewport())
	dir := t.TempDir()
	data := run(t, v, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
	if err := os.WriteFile(filepath.Join(dir, "print.pdf"), data, 0o644); err != nil {
		t.Fatal(err)
	}
	must(t, dir, "qpdf", "--check", "print.pdf")
	pages, err := readPages(dir, "print.pdf")
	if err != nil || len(pages) < len(p.plan.Panels) {
		t.Fatalf("printed on %d pages, %v", len(pages), err)
	}
	say(t, checkOnPage("print.pdf", 9, pages)) // the browser leaves 1 cm, less what it rounds
	var all strings.Builder
	for _, q := range pages {
		all.WriteString(q.text() + " ")
	}
	for _, panel := range p.plan.Panels {
		if !strings.Contains(all.String(), panel.Name) {
			t.Errorf("printed, it lacks %s", panel.Name)
		}
	}
	// The last column of every table: what a print that is cut off at the right loses.
	columns := run(t, v, chromedp.Evaluate[[]string](`[...document.querySelectorAll("thead th:last-child")].map((th) => th.textContent)`))
	if len(columns) == 0 {
		t.Error("no table has a last column")
	}
	slices.Sort(columns)
	for _, column := range slices.Compact(columns) {
		words := strings.Fields(regexp.QuoteMeta(column)) // other headings may stand between them, where they wrap
		if !regexp.MustCompile(strings.Join(words, `.{0,200}`)).MatchString(all.String()) {
			t.Errorf("printed, it lacks the column %q", column)
		}
	}
}

// A page with one fault of each kind: every check finds its own.
func TestPlanPageSeesDamage(t *testing.T) {
	browser := chromium(t)
	p := copyPack(t, packs[0])
	alter(t, p, "plan.html", "<main>", `<main>
<h5 id="order">skipped</h5><table><tr><th>bare</th></tr></table><a href="#nowhere">nowhere</a>
<p style="color: #999; background: #eee">faint</p><p style="width: 900px">wide</p>
<svg role="img" aria-label="nothing" width="90" height="90"></svg><svg width="300" height="9"><path d="M0 0H9V9Z"/></svg>
<img src="http://127.0.0.1:9/never.png" alt=""><script>console.error("damage"); undefined.nothing</script>`)
	v := view(t, browser, filepath.Join(p.dir, "plan.html"))
	run(t, v, chromedp.EmulateViewport(360, 800))
	var names []string
	for _, panel := range p.plan.Panels {
		names = append(names, panel.Name)
	}
	expect := func(check string, found []string, wanted ...string) {
		t.Helper()
		all := strings.Join(found, "\n")
		for _, w := range wanted {
			if !strings.Contains(all, w) {
				t.Errorf("%s: %q was not found, only:\n%s", check, w, all)
			}
		}
	}
	found, _ := look[any](t, v, "structure", append(names, "one too many"))
	expect("structure", found, "id order comes twice", "heading skips", "header without scope", "#nowhere", "sections for", "drawing without role")
	found, _ = look[any](t, v, "drawings")
	expect("drawings", found, "empty drawing", "drawing of 300 × 9")
	found, _ = look[any](t, v, "narrow")
	expect("narrow", found, "wide on a page of 360", "text runs to")
	found, _ = look[any](t, v, "contrast")
	expect("contrast", found, "contrast 2.")
	expect("console", v.complaints(), "asks for http://127.0.0.1:9/never.png", "damage", "undefined")
}

// call sends the tab a command of the protocol.
func call[P, R any](t *testing.T, v *viewer, command cdp.Command[P, R], params P) R {
	t.Helper()
	got, err := chromedp.Call(v.ctx, command, params)
	if err != nil {
		t.Fatal(err)
	}
	return got
}
