package web

import (
	"context"
	"net/http"
	"strings"
	"testing"
)

// tapedJob is a panel by its lengths: 600 x 400 with one diagonal 40 mm too long, the other as it is (721.1 by Pythagoras).
const tapedJob = "job: { name: x, units: mm, drills: any size }\npanels:\n  - name: Hood\n    outline:\n      survey:\n        corners: [ A, B, C, D ]\n        tape: 1.5 mm\n" +
	"        lengths: { A-B: 600, B-C: 400, C-D: 600, D-A: 400, A-C: 761.1, B-D: 721.1 }\n" +
	"    outer: { material: grp_csm30, thickness: 2.5 ± 0.2 mm }\n    inner: { material: al5754h22, thickness: 1.5 mm }\n" +
	"    supports:\n      - { name: flange, flange: [ A-B, B-C, C-D, D-A ], width: 36 }\n"

// A tape survey that is suspected of a gross error is said beside the lengths, and on the vehicle's page.
func TestSuspectedLengthsAreSaid(t *testing.T) {
	b := newTestBench(t)
	b.add("x", tapedJob)
	const words = "before anything is cut"
	for _, path := range []string{"/v/1/p/hood/survey", "/v/1/"} {
		if page := b.get(path).Body.String(); !strings.Contains(page, words) {
			t.Errorf("%s does not say %q:\n%s", path, words, page)
		}
	}
	if strings.Contains(b.get("/v/1/p/hood/survey").Body.String(), "no faults</span>") {
		t.Error("a survey with a suspected length has the sign of one that holds")
	}
	b.planned(1)
	if page := b.get("/v/1/").Body.String(); !strings.Contains(page, words) {
		t.Errorf("planned, it is not said")
	}
}

// Each row of the lengths has the cells of the table's head; the corners of a length can be corrected; a new panel by the tape
// has a row for each side and two diagonals.
func TestLengthsTable(t *testing.T) {
	b := newTestBench(t)
	id := b.add("x", strings.Replace(tapedJob, "B-C: 400", "b-c: 400", 1))
	page := b.get("/v/1/p/hood/survey").Body.String()
	_, table, _ := strings.Cut(page, `<table class="survey-table few">`)
	table, _, _ = strings.Cut(table, "</table>")
	rows := strings.Split(table, "<tr")[1:]
	for _, row := range rows {
		if n := strings.Count(row, "<th ") + strings.Count(row, "<td"); n != 4 {
			t.Errorf("%d cells in\n%s", n, row)
		}
	}
	form := formIn(t, page)
	form.Set("f.outline.survey.lengths.b-c.between", "B-C")
	form.Set("f.outline.survey.lengths.b-c", "401")
	if w := b.post("/v/1/p/hood/survey", form); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	if v, _ := b.book.Get(context.Background(), id); !strings.Contains(v.Text, "B-C: 401") || strings.Contains(v.Text, "b-c") {
		t.Error(v.Text)
	}
	b.add("y", strings.Replace(tapedJob, "A-B: 600, B-C: 400, C-D: 600, D-A: 400, A-C: 761.1, B-D: 721.1", "", 1))
	if n := strings.Count(b.get("/v/2/p/hood/survey").Body.String(), `>another length</th>`); n < 6 {
		t.Errorf("%d rows for new lengths; a panel with four corners has four sides and two diagonals", n)
	}
}
