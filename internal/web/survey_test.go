package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/edit"
	"panelwright/internal/job"
)

func exampleTexts(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob("../../examples/*/job.yaml")
	if err != nil || len(names) < 3 {
		t.Fatal(names, err)
	}
	out := map[string]string{}
	for _, n := range names {
		text, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		out[n] = string(text)
	}
	return out
}

// formIn reads the fields of the survey form out of a page, as a browser would send them.
func formIn(t *testing.T, page string) url.Values {
	t.Helper()
	start := strings.Index(page, `id="survey"`)
	if start < 0 {
		t.Fatal("no survey form in the page")
	}
	page = page[start:]
	page = page[:strings.Index(page, "</form>")]
	form := url.Values{}
	attr := func(tag, name string) (string, bool) {
		m := regexp.MustCompile(`\s` + name + `="([^"]*)"`).FindStringSubmatch(tag)
		if m == nil {
			return "", false
		}
		return unescape(m[1]), true
	}
	parts := regexp.MustCompile(`(?s)<input[^>]*>|<select[^>]*>.*?</select>|<textarea[^>]*>.*?</textarea>`)
	for _, tag := range parts.FindAllString(page, -1) {
		name, _ := attr(tag, "name")
		switch {
		case strings.HasPrefix(tag, "<select"):
			m := regexp.MustCompile(`<option value="([^"]*)" selected>`).FindStringSubmatch(tag)
			if m == nil {
				m = regexp.MustCompile(`<option value="([^"]*)">`).FindStringSubmatch(tag)
			}
			form.Add(name, unescape(m[1]))
		case strings.HasPrefix(tag, "<textarea"):
			text := tag[strings.Index(tag, ">")+1 : strings.LastIndex(tag, "</")]
			form.Add(name, strings.ReplaceAll(unescape(strings.TrimPrefix(text, "\n")), "\n", "\r\n"))
		case strings.Contains(tag, `type="checkbox"`) && !strings.Contains(tag, " checked"):
		default:
			v, _ := attr(tag, "value")
			form.Add(name, v)
		}
	}
	return form
}

func unescape(s string) string {
	return strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&#43;", "+", "&amp;", "&").Replace(s)
}

func (b *testBench) send(path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(r)
}

func (b *testBench) textOf(id int64) string {
	v, err := b.book.Get(b.t.Context(), id)
	if err != nil {
		b.t.Fatal(err)
	}
	return v.Text
}

// A survey saved as it came leaves the bytes; one field changed changes that alone, and back again gives the same bytes.
func TestSurveyRoundTrip(t *testing.T) {
	b := newTestBench(t)
	for name, text := range exampleTexts(t) {
		id := b.add(name, text)
		j, _ := job.Read(name, []byte(text), nil)
		for _, p := range j.Panels {
			at := fmt.Sprintf("/v/%d/p/%s/survey", id, p.ID)
			page := b.get(at)
			if page.Code != http.StatusOK || !strings.Contains(page.Body.String(), "<svg") {
				t.Fatal(name, p.ID, page.Code, b.log.String())
			}
			form := formIn(t, page.Body.String())
			form.Set("do", "save")
			if got := b.send(at, form); got.Code != http.StatusSeeOther || b.textOf(id) != text {
				t.Fatalf("%s %s: unchanged, answered %d, and the text differs: %v", name, p.ID, got.Code, b.textOf(id) != text)
			}
			if v, _ := b.book.Get(t.Context(), id); v.Number != form2rev(t, form) {
				t.Errorf("%s %s: a new revision of the same text", name, p.ID)
			}
		}
	}
}

func form2rev(t *testing.T, form url.Values) int {
	t.Helper()
	var n int
	if _, err := fmt.Sscan(form.Get("rev"), &n); err != nil {
		t.Fatal(err)
	}
	return n
}

// What is changed in the form stands in the text, and nothing else does.
func TestSurveyChanges(t *testing.T) {
	text := exampleTexts(t)["../../examples/01-sprint/job.yaml"]
	for _, c := range []struct {
		panel  string
		change func(url.Values)
		lines  []string // before and after, in pairs
	}{
		{"nose-lid", func(f url.Values) { f.Set("f.outer.thickness", "2.4 ± 0.2 mm") },
			[]string{`    outer: { material: grp_csm30, thickness: "readings [2.5, 2.6, 2.4, 2.5, 2.6] mm" }`, `    outer: { material: grp_csm30, thickness: 2.4 ± 0.2 mm }`}},
		{"nose-lid", func(f url.Values) { f.Set("f.outline.trapezium.shift", "12") },
			[]string{`      trapezium: { bottom: 860, top: 620, height: 640 }   # from the windscreen forward: the bottom is the rear edge`,
				`      trapezium: { bottom: 860, top: 620, height: 640, shift: 12 }   # from the windscreen forward: the bottom is the rear edge`}},
		{"nose-lid", func(f url.Values) { f["f.cut-outs[1].rectangle.at"] = []string{"335", "250"} },
			[]string{`        rectangle: { at: [ 330, 250 ], size: [ 200, 120 ], corner radius: 20 }`, `        rectangle: { at: [ 335, 250 ], size: [ 200, 120 ], corner radius: 20 }`}},
		{"nose-lid", func(f url.Values) { f["f.behind"] = []string{"", "harness", "fuel line"} },
			[]string{`    behind: [ brake line, harness ]`, `    behind: [ harness, fuel line ]`}},
		{"nose-lid", func(f url.Values) { f["f.opens forward"] = []string{""} },
			[]string{`    opens forward: true           # the wind can lift it, so the plan asks for a second retention`, ""}},
		{"nose-lid", func(f url.Values) { f.Set("f.limits.least preload", "1/8 in") }, // wrong, and kept as typed
			[]string{`    limits: { greatest pitch: 240, least preload: 40 N }`, `    limits: { greatest pitch: 240, least preload: 1/8 in }`}},
		{"nose-lid", func(f url.Values) { f.Set("f.outline.edges", "rear, right, front, port") },
			[]string{`      edges: [ rear, right, front, left ]                 # from the bottom edge, anticlockwise`, `      edges: [ rear, right, front, port ]                 # from the bottom edge, anticlockwise`}},
		{"nose-lid", func(f url.Values) { f["delete"] = []string{"keep-outs[1]"} },
			[]string{`      - { name: right lamp bowl, circle: { at: [ 690, 470 ], diameter: 150 } }`, ""}},
		{"nose-lid", func(f url.Values) { f.Set("do", "add keep-outs circle") },
			[]string{`      - { name: left lamp bowl, circle: { at: [ 170, 470 ], diameter: 150 } }`, "      - { name: left lamp bowl, circle: { at: [ 170, 470 ], diameter: 150 } }\n      - { circle: {} }"}},
		{"tail-lid", func(f url.Values) { f["f.outline.points[2].curve"] = []string{"through", "950, 280"} },
			[]string{`        - { at: [ 900, 0 ], edge: right, bow: 15 }`, `        - { at: [ 900, 0 ], edge: right, through: [ 950, 280 ] }`}},
		{"tail-lid", func(f url.Values) { f["f.outline.points[4].at"] = []string{"", ""} },
			[]string{`        - { at: [ 0, 560 ], edge: left, bow: 15 }`, ""}},
		{"tail-lid", func(f url.Values) {
			f["new.outline.points.0.at"], f["new.outline.points.0.edge"] = []string{"0", "300"}, []string{"left two"}
		}, []string{`        - { at: [ 0, 560 ], edge: left, bow: 15 }`, "        - { at: [ 0, 560 ], edge: left, bow: 15 }\n        - { at: [ 0, 300 ], edge: left two }"}},
		{"tail-lid", func(f url.Values) { f.Set("f.supports[2].rib", "120, 290\r\n840, 300") },
			[]string{`rib: [ [ 120, 290 ], [ 840, 290 ] ]`, `rib: [ [ 120, 290 ], [ 840, 300 ] ]`}},
		{"side-pod-top", func(f url.Values) { f.Set("f.notes", "The left one is turned round.\r\nWaxed: \"yes\"") },
			[]string{`    notes: [ The left one is the same panel turned round. ]`, `    notes: [ The left one is turned round., 'Waxed: "yes"' ]`}},
		{"battery-hatch", func(f url.Values) { f.Set("f.stations.given[1].tape", "65") },
			[]string{`        - { id: A, edge: rear, tape: 60 }     # from where`, `        - { id: A, edge: rear, tape: 65 }     # from where`}},
		{"battery-hatch", func(f url.Values) { f.Set("f.outline.form", "survey") },
			[]string{"      rectangle: [ 420, 300 ]\n", "", "      edges: [ rear, right, front, left ]\n    front: front\n    outer: { material: gfrp_woven_ep, thickness: 2.0",
				"      edges: [ rear, right, front, left ]\n      survey: { corners: [ A, B, C, D ], lengths: {} }\n    front: front\n    outer: { material: gfrp_woven_ep, thickness: 2.0"}},
	} {
		b := newTestBench(t)
		id := b.add("sprint", text)
		at := fmt.Sprintf("/v/%d/p/%s/survey", id, c.panel)
		form := formIn(t, b.get(at).Body.String())
		form.Set("do", "save")
		c.change(form)
		want := text
		for i := 0; i < len(c.lines); i += 2 {
			old := c.lines[i]
			if c.lines[i+1] == "" {
				old = strings.TrimSuffix(old, "\n") + "\n"
			}
			if strings.Count(want, old) < 1 {
				t.Fatalf("the example has no line %q", old)
			}
			want = strings.Replace(want, old, c.lines[i+1], 1)
		}
		answer := b.send(at, form)
		if got := b.textOf(id); answer.Code != http.StatusSeeOther || got != want {
			t.Errorf("%s: %d\n%s", c.lines[0], answer.Code, firstDifference(got, want))
		}
	}
}

func firstDifference(got, want string) string {
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range min(len(g), len(w)) {
		if g[i] != w[i] {
			return fmt.Sprintf("line %d:\n got %s\nwant %s", i+1, g[i], w[i])
		}
	}
	return "one is longer"
}

// Every id of the page is there once, and every fault's link leads to one.
func TestSurveyPageWhole(t *testing.T) {
	files, _ := filepath.Glob("../../testdata/faults/*.yaml")
	examples, _ := filepath.Glob("../../examples/*/job.yaml")
	b := newTestBench(t)
	id := regexp.MustCompile(`\sid="([^"]*)"`)
	link := regexp.MustCompile(`href="#([^"]*)"|for="([^"]*)"`)
	pages := 0
	for i, file := range slices.Concat(examples, files) {
		if i >= len(examples) && i%4 > 0 {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		j, _ := job.Read("job.yaml", text, nil)
		if _, err := edit.Open(text); err != nil || j == nil || len(j.Panels) == 0 {
			continue
		}
		page := b.get(fmt.Sprintf("/v/%d/p/%s/survey", b.add(file, string(text)), j.Panels[0].ID))
		if page.Code != http.StatusOK {
			t.Fatal(file, page.Code, b.log.String())
		}
		pages++
		seen := map[string]bool{}
		for _, m := range id.FindAllStringSubmatch(page.Body.String(), -1) {
			if seen[m[1]] {
				t.Errorf("%s: id %s twice", file, m[1])
			}
			seen[m[1]] = true
		}
		for _, m := range link.FindAllStringSubmatch(page.Body.String(), -1) {
			if to := m[1] + m[2]; !seen[to] {
				t.Errorf("%s: nothing has the id %s", file, to)
			}
		}
		if strings.Contains(page.Body.String(), " style=") {
			t.Errorf("%s: a style attribute, which the page's own policy refuses", file)
		}
	}
	if pages < 20 {
		t.Errorf("only %d pages", pages)
	}
}

// The script's question is answered with the faults and a drawing, and nothing is kept.
func TestSurveyCheck(t *testing.T) {
	b := newTestBench(t)
	text := exampleTexts(t)["../../examples/01-sprint/job.yaml"]
	at := fmt.Sprintf("/v/%d/p/nose-lid/survey", b.add("sprint", text))
	form := formIn(t, b.get(at).Body.String())
	form.Set("f.outline.corner radius", "900")
	answer := b.send(at+"/check", form)
	for _, want := range []string{`"id":"f-outline-corner-radius"`, "radius 900.0 mm does not fit every corner", "the largest that fits is", "in revision 1", `\u003csvg`} {
		if !strings.Contains(answer.Body.String(), want) {
			t.Errorf("no %s in %d %.600s", want, answer.Code, answer.Body.String())
		}
	}
	form.Set("f.outline.corner radius", "30")
	if answer = b.send(at+"/check", form); !strings.Contains(answer.Body.String(), `"faults":[]`) || !strings.Contains(answer.Body.String(), `"from":""`) {
		t.Errorf("%.300s", answer.Body.String())
	}
	if b.textOf(1) != text {
		t.Error("a question changed the text")
	}
}

// A change made from an older revision is shown beside the newer one, and nothing is lost.
func TestSurveyStale(t *testing.T) {
	b := newTestBench(t)
	id := b.add("sprint", exampleTexts(t)["../../examples/01-sprint/job.yaml"])
	at := fmt.Sprintf("/v/%d/p/nose-lid/survey", id)
	mine := formIn(t, b.get(at).Body.String())
	theirs := formIn(t, b.get(at).Body.String())
	theirs.Set("f.supports[1].width", "41")
	if got := b.send(at, theirs); got.Code != http.StatusSeeOther {
		t.Fatal(got.Code)
	}
	kept := b.textOf(id)
	mine.Set("f.supports[1].width", "43")
	got := b.send(at, mine)
	if got.Code != http.StatusConflict || !strings.Contains(got.Body.String(), "width: 43") || !strings.Contains(got.Body.String(), "width: 41") || b.textOf(id) != kept {
		t.Errorf("%d %.300s", got.Code, got.Body.String())
	}
}

// Names that would be HTML, script or YAML are text, in the page and in the job.
func TestSurveyHostileNames(t *testing.T) {
	b := newTestBench(t)
	text := exampleTexts(t)["../../examples/02-launch/job.yaml"]
	id := b.add("launch", text)
	at := fmt.Sprintf("/v/%d/p/engine-hatch/survey", id)
	for _, name := range []string{`"><script>alert(1)</script>`, `{{.}} & <b>`, `a: [ b, #c`, `'"\ end`} {
		form := formIn(t, b.get(at).Body.String())
		form.Set("f.supports[1].name", name)
		form.Set("f.cut-outs[1].name", name)
		if got := b.send(at, form); got.Code != http.StatusSeeOther {
			t.Fatalf("%s: %d %.400s", name, got.Code, got.Body.String())
		}
		d, err := edit.Open([]byte(b.textOf(id)))
		if err != nil || d.Text("panels[1].supports[1].name") != name {
			t.Errorf("%q reads back as %q %v", name, d.Text("panels[1].supports[1].name"), err)
		}
		page := b.get(at).Body.String()
		if strings.Contains(page, "<script>alert") || strings.Contains(page, "<b>\"") {
			t.Errorf("%s stands in the page as markup", name)
		}
		if got := formIn(t, page).Get("f.supports[1].name"); got != name {
			t.Errorf("%q shows as %q", name, got)
		}
	}
}

// A drawing sent for the outline is kept with the vehicle, and the outline comes out of it.
func TestSurveyFile(t *testing.T) {
	b := newTestBench(t)
	id := b.add("sprint", exampleTexts(t)["../../examples/01-sprint/job.yaml"])
	at := fmt.Sprintf("/v/%d/p/battery-hatch/survey", id)
	upload := func(name, data string) *httptest.ResponseRecorder {
		const mark = "xxBOUNDARYxx"
		body := "--" + mark + "\r\nContent-Disposition: form-data; name=\"rev\"\r\n\r\n1\r\n--" + mark +
			"\r\nContent-Disposition: form-data; name=\"file\"; filename=\"" + name + "\"\r\n\r\n" + data + "\r\n--" + mark + "--\r\n"
		r := httptest.NewRequest("POST", at+"/file", strings.NewReader(body))
		r.Header.Set("Content-Type", "multipart/form-data; boundary="+mark)
		return b.do(r)
	}
	for _, name := range []string{"lid.exe", "lid", "", "a:b.dxf", "x.dxf "} {
		if got := upload(name, "0,0"); got.Code != http.StatusUnprocessableEntity {
			t.Errorf("%q: %d", name, got.Code)
		}
	}
	got := upload("hatch.csv", "x mm,y mm\n0,0\n410,0\n410,290\n0,290\n")
	if got.Code != http.StatusSeeOther {
		t.Fatalf("%d %.300s", got.Code, got.Body.String())
	}
	v, err := b.book.Get(t.Context(), id)
	if err != nil || len(v.Files["hatch.csv"]) == 0 || !strings.Contains(v.Text, "file: hatch.csv") || strings.Contains(v.Text, "rectangle: [ 420, 300 ]") {
		t.Errorf("%v %v", err, fileNames(v.Files))
	}
	j, _ := job.Read("job.yaml", []byte(v.Text), v.Open)
	if upload("../../deep.csv", "x mm,y mm\n0,0\n9,0\n9,9\n"); slices.ContainsFunc(fileNames(v.Files), func(n string) bool { return strings.Contains(n, "..") }) {
		t.Error("a name climbs out of its folder")
	}
	if box := j.Panels[2].Outline.Outer.Bounds(); box.Width() != 410 || box.Height() != 290 {
		t.Errorf("%g by %g", box.Width(), box.Height())
	}
}

// What cannot be written is said, nothing is saved, and what was typed is still there.
func TestSurveyNotWritten(t *testing.T) {
	b := newTestBench(t)
	id := b.add("sprint", exampleTexts(t)["../../examples/01-sprint/job.yaml"])
	at := fmt.Sprintf("/v/%d/p/battery-hatch/survey", id)
	form := formIn(t, b.get(at).Body.String())
	form.Set("f.outline.form", "survey")
	if got := b.send(at, form); got.Code != http.StatusSeeOther {
		t.Fatal(got.Code)
	}
	kept := b.textOf(id)
	form = formIn(t, b.get(at).Body.String())
	form.Set("new.outline.survey.lengths.0.key", "A-B")
	form.Set("new.outline.survey.lengths.0.length", "420")
	form.Set("new.outline.survey.lengths.1.length", "777 mm")
	form.Set("f.supports[1].width", "44")
	got := b.send(at, form)
	for _, want := range []string{"Not saved.", "a length from nowhere to nowhere", `value="777 mm"`, `value="44"`, `value="A-B"`} {
		if !strings.Contains(got.Body.String(), want) {
			t.Errorf("no %s in the page", want)
		}
	}
	if got.Code != http.StatusUnprocessableEntity || b.textOf(id) != kept {
		t.Errorf("%d, and the text is as it was: %v", got.Code, b.textOf(id) == kept)
	}
	form.Set("new.outline.survey.lengths.1.key", "A - C")
	if got := b.send(at, form); got.Code != http.StatusSeeOther || !strings.Contains(b.textOf(id), "lengths: { A-B: 420, A - C: 777 mm }") {
		t.Errorf("%d %s", got.Code, b.textOf(id))
	}
}
