package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// Faults of a form speak of its fields and not of the text's keys; what no form of ours sends is refused.
func TestFormsSpeakOfFields(t *testing.T) {
	b := newTestBench(t)
	b.add("x", strings.Replace(smallJob("x"), "thickness: 2.5 ± 0.2 mm", "", 1)+"    cut-outs:\n      - circle: { diameter: 50 }\n")
	page := b.get("/v/1/p/lid/survey").Body.String()
	if strings.Contains(page, "is missing; accepted") || !strings.Contains(page, "the place is not filled in") || !strings.Contains(page, "Thickness of the outer sheet") {
		t.Error(page)
	}
	if strings.Count(page, ">AISI 1018 steel, cold drawn bar<") == 0 || strings.Count(page, ">AISI 1018 steel<") != 0 {
		t.Error("two materials of one name are not told apart")
	}
	if w := b.post("/settings", url.Values{"units": {"furlong"}}); w.Code != http.StatusUnprocessableEntity || len(b.cookies[unitCookie]) > 0 {
		t.Error(w.Code, b.cookies)
	}
	if w := b.post("/vehicles", url.Values{"name": {"Van\u202egpj"}, "units": {"mm"}}); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "U&#43;202E") {
		t.Error(w.Code, w.Body)
	}
}
