package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"io"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"panelwright"
)

// pageFaults reads a page as strictly as XML would, but for HTML's void elements and names, and says what is wrong: tags that
// do not match, anything that runs or dresses itself in place, fields without a label, ids that stand twice, headings out of
// order, and links that lead nowhere on the page.
func pageFaults(text string) []string {
	var faults []string
	say := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	d := xml.NewDecoder(strings.NewReader(text))
	d.Strict = false
	d.AutoClose, d.Entity = xml.HTMLAutoClose, xml.HTMLEntity
	var open []string
	ids, labelled, toLabel, anchors := map[string]bool{}, map[string]bool{}, []string{}, []string{}
	level := 0
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			say("cannot be read: %v", err)
			return faults
		}
		switch e := token.(type) {
		case xml.StartElement:
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
				if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") || a.Name.Local == "style" {
					say("<%s> has %s in place", e.Name.Local, a.Name.Local)
				}
				if v := strings.ToLower(strings.TrimSpace(a.Value)); strings.HasPrefix(v, "javascript:") {
					say("<%s %s> runs", e.Name.Local, a.Name.Local)
				}
			}
			if id := at["id"]; id != "" {
				if ids[id] {
					say("id %q stands twice", id)
				}
				ids[id] = true
			}
			switch e.Name.Local {
			case "style":
				say("has a style in place")
			case "script":
				if at["src"] == "" {
					say("has a script in place")
				}
			case "img":
				if at["alt"] == "" {
					say("a picture without words: %s", at["src"])
				}
			case "label":
				labelled[at["for"]] = true
			case "a":
				if h := at["href"]; strings.HasPrefix(h, "#") {
					anchors = append(anchors, h[1:])
				}
			case "input", "select", "textarea":
				if at["type"] != "hidden" && at["aria-label"] == "" && !slices.Contains(open, "label") {
					if at["id"] == "" {
						say("<%s name=%q> has no label", e.Name.Local, at["name"])
					}
					toLabel = append(toLabel, at["id"])
				}
			case "form":
				if at["method"] == "" || strings.Contains(at["action"], "//") {
					say("a form to %q by %q", at["action"], at["method"])
				}
			case "h1", "h2", "h3", "h4":
				if n := int(e.Name.Local[1] - '0'); n > level+1 {
					say("a heading %s after one of level %d", e.Name.Local, level)
				} else {
					level = n
				}
			}
			open = append(open, e.Name.Local)
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1] != e.Name.Local {
				say("</%s> closes %v", e.Name.Local, open)
				return faults
			}
			open = open[:len(open)-1]
		}
	}
	for _, id := range toLabel {
		if !labelled[id] {
			say("the field %q has no label", id)
		}
	}
	for _, id := range anchors {
		if !ids[id] {
			say("a link to #%s, which is not there", id)
		}
	}
	if len(open) > 0 {
		say("%v is not closed", open)
	}
	return faults
}

// The reader of pages sees what it looks for.
func TestPageFaultsAreSeen(t *testing.T) {
	for text, want := range map[string]string{
		`<p onclick="x()">a</p>`:                        "onclick in place",
		`<p style="color: red">a</p>`:                   "style in place",
		`<script>alert(1)</script>`:                     "script in place",
		`<style>p {}</style>`:                           "style in place",
		`<a href="javascript:x()">a</a>`:                "runs",
		`<form method="post"><input name="x"></form>`:   "no label",
		`<input id="x"><label for="y">a</label>`:        `"x" has no label`,
		`<p id="a"></p><p id="a"></p>`:                  "stands twice",
		`<h1>a</h1><h3>b</h3>`:                          "after one of level 1",
		`<a href="#x">a</a>`:                            "not there",
		`<img src="x">`:                                 "without words",
		`<form action="//evil.example" method="post"/>`: "a form to",
	} {
		if got := strings.Join(pageFaults(text), "; "); !strings.Contains(got, want) {
			t.Errorf("%s: found %q, want %q", text, got, want)
		}
	}
	if got := pageFaults(`<h1>a</h1><form method="post" action="/x"><label>a <input name="x"></label><br></form>`); len(got) > 0 {
		t.Errorf("a good page: %q", got)
	}
}

// Every page of every example is whole, has its labels, and runs or dresses nothing in place; its links lead to pages.
func TestPagesOfExamples(t *testing.T) {
	folders, err := filepath.Glob("../../examples/*/job.yaml")
	if err != nil || len(folders) < 3 {
		t.Fatal(folders, err)
	}
	b := newTestBench(t)
	link := regexp.MustCompile(`(?:href|src|action)="(/[^"#]*|[a-z?][^":#]*)["#]`)
	for _, file := range folders {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		id := b.add(filepath.Base(filepath.Dir(file)), string(text))
		b.planned(id)
		b.post(address(id, "text"), url.Values{"rev": {"1"}, "text": {string(text) + "# more\n"}})
		b.post(address(id, "undo"), url.Values{"rev": {"2"}})
		v, err := b.book.Get(context.Background(), id)
		if err != nil {
			t.Fatal(err)
		}
		j, _ := readJob(v)
		pages := []string{"/", "/settings", "/enter", "/no/such/page", address(id, ""), address(id, "text"), address(id, "history"),
			address(id, "history?old=1&new=2"), address(id, "range"), address(id, "order"), address(id, "prints")}
		for _, p := range j.Panels {
			for _, kind := range []string{"survey", "setout", "card"} {
				pages = append(pages, address(id, "p/"+p.ID+"/"+kind))
			}
		}
		for _, units := range []string{"mm", "inch"} {
			b.cookies[unitCookie] = units
			for _, at := range pages {
				w := b.get(at)
				if w.Code != 200 && at != "/no/such/page" {
					t.Errorf("%s: status %d", at, w.Code)
				}
				for _, f := range pageFaults(w.Body.String()) {
					t.Errorf("%s: %s", at, f)
				}
				if units == "mm" {
					for _, m := range link.FindAllStringSubmatch(w.Body.String(), -1) {
						b.reaches(at, strings.ReplaceAll(m[1], "&amp;", "&"))
					}
				}
			}
		}
	}
	if b.log.Len() > 0 {
		t.Error(b.log.String())
	}
}

var reached = map[string]bool{}

// reaches follows a link, or sees that a form's address is one.
func (b *testBench) reaches(from, to string) {
	b.t.Helper()
	u, err := (&url.URL{Path: strings.Split(from, "?")[0]}).Parse(to)
	if err != nil {
		b.t.Errorf("%s leads to %q: %v", from, to, err)
		return
	}
	if reached[u.Path] || strings.HasSuffix(u.Path, "/run") {
		return
	}
	reached[u.Path] = true
	r := httptest.NewRequest("GET", u.String(), nil)
	if w := b.do(r); w.Code == 404 {
		b.t.Errorf("%s leads to %s, which is not there", from, u)
	}
}

// The pack that the bench gives is, byte for byte, the one that the command line makes of the job that the bench gives, and
// the archive itself is the same each time.
func TestPackIsTheCommandLines(t *testing.T) {
	for _, name := range []string{"02-launch", "03-canopy"} {
		b := newTestBench(t)
		id := b.add(name, example(t, name))
		given := unpacked(t, b.get(address(id, "job.zip")).Body.Bytes())
		first := b.get(address(id, "pack.zip")).Body.Bytes()
		got := unpacked(t, first)
		dir := filepath.Join(t.TempDir(), "pack")
		if err := panelwright.WritePack(dir, commandPack(t, given["job.yaml"])); err != nil {
			t.Fatal(err)
		}
		files, err := os.ReadDir(dir)
		if err != nil || len(files) != len(got) || len(got) < 15 {
			t.Errorf("%s: %d files, the command line has %d, %v", name, len(got), len(files), err)
		}
		for _, f := range files {
			want, err := os.ReadFile(filepath.Join(dir, f.Name()))
			if err != nil {
				t.Fatal(err)
			}
			if got[f.Name()] != string(want) {
				t.Errorf("%s: %s differs", name, f.Name())
			}
			if f.Name() != "pack.sha256" {
				if w := b.get(address(id, "files/"+f.Name())); w.Body.String() != string(want) {
					t.Errorf("%s: %s alone differs", name, f.Name())
				}
			}
			if packWord(f.Name()) == "" {
				t.Errorf("%s: nothing says what %s is for", name, f.Name())
			}
		}
		again := newTestBench(t)
		if id := again.add(name, example(t, name)); !bytes.Equal(first, again.get(address(id, "pack.zip")).Body.Bytes()) {
			t.Errorf("%s: another bench gives another archive", name)
		}
	}
}

func unpacked(t *testing.T, data []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatalf("%v: %.200q", err, data)
	}
	out := map[string]string{}
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		out[f.Name] = string(text)
	}
	return out
}

// A job with its files goes out as job.zip and comes in again as it was.
func TestJobZipComesBack(t *testing.T) {
	b := newTestBench(t)
	text := strings.Replace(smallJob("x"), "outline: { rectangle: [600, 400] }", "outline: { file: parts/lid.csv }", 1)
	c := Content{Name: "x", Text: text, Files: map[string][]byte{"parts/lid.csv": []byte("x,y\n0,0\n600,0\n600,400\n0,400\n")}, Note: "made"}
	id, err := b.book.Create(context.Background(), c, "2026-05-04T10:20:30Z")
	if err != nil {
		t.Fatal(err)
	}
	w := b.do(upload("job.zip", b.get(address(id, "job.zip")).Body.String())())
	back, err := b.book.Get(context.Background(), id+1)
	if err != nil || w.Code != 303 || back.Text != text || !sameFiles(back.Files, c.Files) {
		t.Errorf("status %d, %v: %+v", w.Code, err, back)
	}
}

// Ticks and readings stay: saved whole without script, one by one with it, for each piece its own.
func TestMarksStay(t *testing.T) {
	b := newTestBench(t)
	b.add("Lid", strings.Replace(smallJob("Lid"), "  - name: Lid\n", "  - name: Lid\n    quantity: 2\n", 1))
	b.planned(1)
	card := func(piece string) string { return b.get("/v/1/p/lid/card?piece=" + piece).Body.String() }
	names := regexp.MustCompile(`<input type="checkbox" value="yes" name="([^"]+)"`).FindAllStringSubmatch(card("1"), -1)
	if len(names) < 10 {
		t.Fatalf("only %d boxes", len(names))
	}
	seen := map[string]bool{}
	for _, n := range names {
		if seen[n[1]] {
			t.Errorf("two boxes are named %q", n[1])
		}
		seen[n[1]] = true
	}
	tick, other := "station 1: easy", "station 1: firm"
	b.post("/v/1/marks", url.Values{"panel": {"lid"}, "piece": {"1"}, "whole": {"yes"}, tick: {"yes"}, "station 1: stack found": {"5.71"}})
	ticked := func(page, name string) bool { return strings.Contains(page, `name="`+name+`" checked`) }
	if page := card("1"); !ticked(page, tick) || !strings.Contains(page, `value="5.71"`) {
		t.Error("the first save is not shown")
	}
	if ticked(card("2"), tick) {
		t.Error("the other piece has it too")
	}
	if w := b.post("/v/1/marks", url.Values{"panel": {"lid"}, "piece": {"1"}, "quiet": {"yes"}, other: {"yes"}, "clear": {tick}}); w.Code != 204 {
		t.Errorf("status %d", w.Code)
	}
	if page := card("1"); ticked(page, tick) || !ticked(page, other) || !strings.Contains(page, `value="5.71"`) {
		t.Error("a single change is not what stands")
	}
	b.post("/v/1/marks", url.Values{"panel": {"lid"}, "piece": {"1"}, "whole": {"yes"}, "was": {wasOf(t, card("1"))}})
	if page := card("1"); ticked(page, other) || strings.Contains(page, `value="5.71"`) {
		t.Error("what was taken off the whole card still stands")
	}
	if v, _ := b.book.Get(context.Background(), 1); v.Number != 1 {
		t.Error("a tick made a revision")
	}
}
