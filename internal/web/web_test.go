package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"panelwright/internal/book"
)

// testAddress is where the bench of the tests says that it is bound; requests bring it as their Host.
const testAddress = "127.0.0.1:8745"

// testBench is a bench on a keeper of its own, asked without a network.
type testBench struct {
	t       *testing.T
	handler http.Handler
	book    shelf
	log     bytes.Buffer
	cookies map[string]string
}

func newTestBench(t *testing.T, change ...func(*Options)) *testBench {
	t.Helper()
	b := &testBench{t: t, cookies: map[string]string{}}
	kept, err := book.Open(filepath.Join(t.TempDir(), "bench.book"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kept.Close() })
	o := Options{Book: kept, Address: testAddress, Version: "test", Log: &b.log,
		Now: func() time.Time { return time.Date(2026, 5, 4, 10, 20, 30, 0, time.UTC) }}
	for _, f := range change {
		f(&o)
	}
	b.book = shelf{o.Book}
	b.handler = New(o)
	return b
}

// add keeps a job and gives its vehicle.
func (b *testBench) add(name, text string) int64 {
	b.t.Helper()
	id, err := b.book.Create(context.Background(), Content{Name: name, Text: text, Note: "made"}, "2026-05-04T10:20:30Z")
	if err != nil {
		b.t.Fatal(err)
	}
	return id
}

func (b *testBench) do(r *http.Request) *httptest.ResponseRecorder {
	if r.Host == "example.com" { // httptest's own
		r.Host = testAddress
	}
	for name, value := range b.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	w := httptest.NewRecorder()
	b.handler.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if b.cookies[c.Name] = c.Value; c.MaxAge < 0 {
			delete(b.cookies, c.Name)
		}
	}
	return w
}

func (b *testBench) get(path string) *httptest.ResponseRecorder {
	return b.do(httptest.NewRequest("GET", path, nil))
}

func (b *testBench) post(path string, form url.Values) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "http://"+testAddress)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return b.do(r)
}

// planned waits until the present revision has been planned.
func (b *testBench) planned(id int64) {
	b.t.Helper()
	for range 600 {
		w := b.get(fmt.Sprintf("/v/%d/run", id))
		if body, _ := io.ReadAll(w.Body); strings.Contains(string(body), `"state":"done"`) {
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	b.t.Fatal("not planned in a minute")
}

func example(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile("../../examples/" + name + "/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestMakeVehicleAndPanel(t *testing.T) {
	b := newTestBench(t)
	w := b.post("/vehicles", url.Values{"name": {`Sample "one": two # three`}, "units": {"mm"}})
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/v/1/" {
		t.Fatal(w.Code, w.Body)
	}
	b.planned(1)
	if page := b.get("/v/1/").Body.String(); !strings.Contains(page, "No panel yet") || strings.Contains(page, "bad-box") {
		t.Errorf("a vehicle that has just been made is called faulty: %s", page)
	}
	w = b.post("/v/1/panels", url.Values{"rev": {"1"}, "name": {"Lid <b>"}, "along": {"600"}, "across": {"400"}, "outer": {"grp_csm30"},
		"outer-thickness": {"2.5 ± 0.2 mm"}, "inner": {"al5754h22"}, "inner-thickness": {"1.5 mm"}, "width": {"36"}})
	if w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	v, err := b.book.Get(context.Background(), 1)
	if err != nil || v.Number != 2 {
		t.Fatal(v, err)
	}
	j, faults := readJob(v)
	if !faults || j.Name != `Sample "one": two # three` || len(j.Panels) != 1 || j.Panels[0].Name != "Lid <b>" {
		t.Errorf("the job is\n%s", v.Text)
	}
	b.planned(1)
	page := b.get("/v/1/").Body.String()
	if !strings.Contains(page, "Lid &lt;b&gt;") || !strings.Contains(page, "not known") {
		t.Error(page)
	}
}

// A change from an outdated revision is shown with both versions, and each choice does what it says.
func TestChangedMeanwhile(t *testing.T) {
	for choice, want := range map[string]string{"mine": "mine", "theirs": "theirs"} {
		b := newTestBench(t)
		id := b.add("x", "job: { name: first }\n")
		b.post("/v/1/text", url.Values{"rev": {"1"}, "text": {"job: { name: theirs }\n"}})
		w := b.post("/v/1/text", url.Values{"rev": {"1"}, "text": {"job: { name: mine }\r\n"}})
		if w.Code != http.StatusConflict || !strings.Contains(w.Body.String(), "job: { name: mine }") || !strings.Contains(w.Body.String(), "job: { name: theirs }") {
			t.Fatal(w.Code, w.Body)
		}
		rev := regexp.MustCompile(`name="rev" value="(\d+)"`).FindStringSubmatch(w.Body.String())
		b.post("/v/1/changed", url.Values{"rev": {rev[1]}, "mine": {"job: { name: mine }\n"}, "choice": {choice}})
		if v, _ := b.book.Get(context.Background(), id); v.Text != "job: { name: "+want+" }\n" {
			t.Errorf("%s: kept %q", choice, v.Text)
		}
	}
}
