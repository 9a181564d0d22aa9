package web

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"hash/crc32"
	"io"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

// inert is a text that would run, or break out of its place, if anything forgot to escape it.
const inert = `"'><script>alert(1)</script><img src=x onerror=alert(2)>{{.}}`

// smallJob is a job without faults; name is its vehicle's.
func smallJob(name string) string {
	return "job: { name: " + name + ", units: mm, drills: any size }\npanels:\n  - name: Lid\n    outline: { rectangle: [600, 400] }\n" +
		"    outer: { material: grp_csm30, thickness: 2.5 ± 0.2 mm }\n    inner: { material: al5754h22, thickness: 1.5 ± 0.05 mm }\n" +
		"    supports:\n      - { name: flange, flange: [bottom, right, top, left], width: 36 }\n"
}

// hostile is one request that means no good, and how it must be answered.
type hostile struct {
	name   string
	ask    func() *http.Request
	status int      // 0: any that is no success and no failure of ours
	shown  []string // what the answer must say
}

func send(method, path, body string, headers ...string) func() *http.Request {
	return func() *http.Request {
		r := httptest.NewRequest(method, "http://"+testAddress+"/", strings.NewReader(body))
		at, query, _ := strings.Cut(path, "?")
		r.URL = &url.URL{Path: at, RawQuery: query}
		r.RequestURI = path
		if method == "POST" {
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Origin", "http://"+testAddress)
			r.Header.Set("Sec-Fetch-Site", "same-origin")
		}
		for i := 0; i+1 < len(headers); i += 2 {
			switch {
			case headers[i] == "Host":
				r.Host = headers[i+1]
			case headers[i+1] == "":
				r.Header.Del(headers[i])
			default:
				r.Header.Set(headers[i], headers[i+1])
			}
		}
		return r
	}
}

func fields(pairs ...string) string {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return v.Encode()
}

// upload is an import of files: the first is the job.
func upload(files ...string) func() *http.Request {
	return func() *http.Request {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		for i := 0; i+1 < len(files); i += 2 {
			field := "files"
			if i == 0 {
				field = "job"
			}
			w, _ := m.CreateFormFile(field, files[i])
			io.WriteString(w, files[i+1])
		}
		m.Close()
		return send("POST", "/vehicles/import", b.String(), "Content-Type", m.FormDataContentType())()
	}
}

func zipped(files ...string) string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i+1 < len(files); i += 2 {
		w, _ := z.Create(files[i])
		io.WriteString(w, files[i+1])
	}
	z.Close()
	return b.String()
}

// liar is an archive whose one file says that it is small and unpacks to 64 MB.
func liar() string {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	var packed bytes.Buffer
	inner := zip.NewWriter(&packed)
	w, _ := inner.Create("job.yaml")
	w.Write(bytes.Repeat([]byte("#\n"), 32<<20))
	inner.Close()
	in, _ := zip.NewReader(bytes.NewReader(packed.Bytes()), int64(packed.Len()))
	raw, _ := in.File[0].OpenRaw()
	h := in.File[0].FileHeader
	h.UncompressedSize64 = 10
	h.CRC32 = crc32.ChecksumIEEE([]byte("0123456789"))
	out, _ := z.CreateRaw(&h)
	io.Copy(out, raw)
	z.Close()
	return b.String()
}

func hostileRequests() []hostile {
	save := func(text string) string { return fields("rev", "1", "text", text) }
	deep := strings.Repeat("a: {", 20000) + strings.Repeat("}", 20000)
	alias := "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b]\nd: [*c,*c,*c,*c,*c,*c,*c,*c,*c]\n"
	xml := `<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]><svg xmlns="http://www.w3.org/2000/svg"><text>&c;</text></svg>`
	withFile := strings.Replace(smallJob("x"), "outline: { rectangle: [600, 400] }", "outline: { file: lid.svg }", 1)
	json := []string{"Content-Type", "application/yaml"}
	return []hostile{
		// From elsewhere.
		{"another site's form", send("POST", "/vehicles", fields("name", "x"), "Origin", "http://evil.example", "Sec-Fetch-Site", "cross-site"), 403, nil},
		{"another site, without Sec-Fetch-Site", send("POST", "/vehicles", fields("name", "x"), "Origin", "http://evil.example", "Sec-Fetch-Site", ""), 403, nil},
		{"another port of this machine", send("POST", "/vehicles", fields("name", "x"), "Origin", "http://127.0.0.1:9", "Sec-Fetch-Site", "same-site"), 403, nil},
		{"an origin that is null", send("POST", "/vehicles", fields("name", "x"), "Origin", "null", "Sec-Fetch-Site", ""), 403, nil},
		{"Sec-Fetch-Site that lies beside a foreign origin", send("POST", "/vehicles", fields("name", "x"), "Origin", "http://evil.example"), 403, nil},
		{"a cross-site plan over the API", send("POST", "/api/plan", smallJob("x"), append(json, "Origin", "http://evil.example", "Sec-Fetch-Site", "cross-site")...), 403, nil},
		{"a rebound name", send("GET", "/", "", "Host", "evil.example:8745"), 421, nil},
		{"a rebound name that begins like ours", send("GET", "/", "", "Host", "127.0.0.1.evil.example:8745"), 421, nil},
		{"the right name with another port", send("GET", "/", "", "Host", "127.0.0.1:80"), 421, nil},
		{"no host", send("GET", "/", "", "Host", ""), 421, nil},
		{"a host with signs of its own", send("GET", "/", "", "Host", "localhost:8745/../x"), 421, nil},
		{"a forwarded host is not believed", send("GET", "/", "", "Host", "evil.example:8745", "X-Forwarded-Host", testAddress), 421, nil},
		// Names and paths.
		{"dots in an asset's name", send("GET", "/assets/..%2f..%2fserver.go", ""), 404, nil},
		{"dots in a file's name", send("GET", "/v/1/files/../../../etc/passwd", ""), 0, nil},
		{"a file's name with a slash in it", send("GET", "/v/1/files/..\\..\\x", ""), 404, nil},
		{"a file that the pack does not have", send("GET", "/v/1/files/secret.txt", ""), 404, nil},
		{"a zero sign in a path", send("GET", "/v/1/files/plan.html\x00.txt", ""), 404, nil},
		{"an upload that climbs out", upload("job.yaml", smallJob("x"), "..", "x"), 422, nil},
		{"an archive that climbs out", upload("job.zip", zipped("job.yaml", smallJob("x"), "../../evil.sh", "x")), 422, nil},
		{"an archive with a root path", upload("job.zip", zipped("job.yaml", smallJob("x"), "/etc/evil", "x")), 422, nil},
		{"an archive with a drive letter", upload("job.zip", zipped("job.yaml", smallJob("x"), "C:\\evil", "x")), 422, nil},
		{"a settings form that leads elsewhere", send("POST", "/settings", fields("units", "mm", "from", "//evil.example/")), 303, nil},
		// Numbers.
		{"a vehicle that is not there", send("GET", "/v/999/", ""), 404, nil},
		{"a vehicle that is no number", send("GET", "/v/1%20or%201=1/", ""), 404, nil},
		{"a vehicle below nothing", send("GET", "/v/-1/", ""), 404, nil},
		{"a vehicle beyond all numbers", send("GET", "/v/99999999999999999999/", ""), 404, nil},
		{"a negative revision", send("POST", "/v/1/text", fields("rev", "-1", "text", "x")), 400, nil},
		{"a revision of words", send("POST", "/v/1/text", fields("rev", "latest'--", "text", "x")), 400, nil},
		{"no revision", send("POST", "/v/1/text", fields("text", "x")), 400, nil},
		{"a revision to come", send("POST", "/v/1/text", fields("rev", "77", "text", "job: { name: y }")), 0, nil},
		{"a comparison below nothing", send("GET", "/v/1/history?old=-3&new=1", ""), 404, nil},
		{"a panel that is not there", send("GET", "/v/1/p/no-such/card", ""), 404, nil},
		{"a piece too many", send("GET", "/v/1/p/lid/card?piece=1000000000", ""), 404, nil},
		// Size and depth.
		{"a form of 2 MB", send("POST", "/v/1/text", save(strings.Repeat("x", 2<<20))), 413, nil},
		{"an upload of 9 MB", upload("job.yaml", strings.Repeat("# x\n", 9<<18)), 413, nil},
		{"a plan of 5 MB", send("POST", "/api/plan", strings.Repeat("# x\n", 5<<18), json...), 413, nil},
		{"a body without end", func() *http.Request {
			r := send("POST", "/vehicles", "")()
			r.Body, r.ContentLength = io.NopCloser(endless{}), -1
			return r
		}, 413, nil},
		{"10000 fields", send("POST", "/v/1/marks", fields("panel", "lid", "piece", "1")+strings.Repeat("&a=b", 5)+manyFields(10000)), 400, nil},
		{"3000 boxes on one card", send("POST", "/v/1/marks", fields("panel", "lid", "piece", "1")+manyFields(3000)), 413, nil},
		{"deep YAML", send("POST", "/api/plan", deep, json...), 422, nil},
		{"an alias bomb", send("POST", "/api/plan", alias, json...), 422, []string{`"rule"`}},
		{"a line of a million letters", send("POST", "/api/plan", "job: { name: "+strings.Repeat("a", 1000000)+" }", json...), 422, nil},
		{"a number of a million digits", send("POST", "/api/plan", strings.Replace(smallJob("x"), "600", strings.Repeat("9", 1000000), 1), json...), 422, nil},
		{"a bomb in a zip", upload("job.zip", zipped("job.yaml", smallJob("x"), "big.dxf", strings.Repeat("0", 64<<20))), 413, nil},
		{"a zip that lies about its size", upload("job.zip", liar()), 0, nil},
		{"a zip of 500 files", upload("job.zip", zipped(manyFiles(500)...)), 413, nil},
		{"a zip in a zip", upload("job.zip", zipped("job.zip", zipped("job.yaml", "x"))), 422, nil},
		{"half a zip", upload("job.zip", zipped("job.yaml", smallJob("x"))[:60]), 422, nil},
		// Texts.
		{"bad UTF-8 in a form", send("POST", "/v/1/text", "rev=1&text=%ff%fe"), 400, nil},
		{"bad UTF-8 in an upload", upload("job.yaml", "job: { name: \xff\xfe }"), 400, nil},
		{"bad UTF-8 over the API", send("POST", "/api/plan", "job: { name: \xff }", json...), 422, nil},
		{"a zero sign in a text", send("POST", "/v/1/text", save("job: { name: \x00 }")), 400, nil},
		{"a name of nothing but blanks", send("POST", "/vehicles", fields("name", " \t ")), 422, nil},
		{"a name of a thousand letters", send("POST", "/vehicles", fields("name", strings.Repeat("n", 1000))), 422, nil},
		{"a reading of a thousand letters", send("POST", "/v/1/marks", fields("panel", "lid", "piece", "1", "x", strings.Repeat("n", 1000))), 413, nil},
		{"lines in a header by way of a form", send("POST", "/v/1/undo", fields("rev", "1", "from", "/\r\nSet-Cookie: x=y")), 0, nil},
		// Manners.
		{"a wrong method on a page", send("DELETE", "/v/1/text", ""), 405, nil},
		{"a change by GET", send("GET", "/v/1/run/stop", ""), 405, nil},
		{"TRACE", send("TRACE", "/", ""), 405, nil},
		{"a form that is JSON", send("POST", "/vehicles", `{"name":"x"}`, "Content-Type", "application/json"), 415, nil},
		{"a form that is plain text", send("POST", "/vehicles", "name=x", "Content-Type", "text/plain"), 415, nil},
		{"an upload without a boundary", send("POST", "/vehicles/import", "x", "Content-Type", "multipart/form-data"), 415, nil},
		{"a choice that is none", send("POST", "/v/1/changed", fields("rev", "1", "choice", "both")), 400, nil},
		// XML that grows, beside a job that names it: it comes in as a file and its outline is a fault, no more.
		{"an XML bomb", upload("job.yaml", withFile, "lid.svg", xml), 303, nil},
	}
}

type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = 'a'
	}
	return len(p), nil
}

func manyFields(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "&m%d=x", i)
	}
	return b.String()
}

func manyFiles(n int) []string {
	out := []string{"job.yaml", "x"}
	for i := range n {
		out = append(out, fmt.Sprintf("f%d.csv", i), "x")
	}
	return out
}

// Each hostile request is refused, leaves the vehicle as it was, takes no longer than a page, and is told nothing of the
// machine.
func TestHostileRequests(t *testing.T) {
	all := hostileRequests()
	if len(all) < 40 {
		t.Fatalf("only %d requests", len(all))
	}
	b := newTestBench(t)
	b.add("Lid", smallJob("Lid"))
	for _, h := range all {
		t.Run(h.name, func(t *testing.T) {
			begin := time.Now()
			w := b.do(h.ask())
			body := w.Body.String()
			switch {
			case h.status != 0 && w.Code != h.status:
				t.Errorf("status %d, want %d: %.300s", w.Code, h.status, body)
			case h.status == 0 && (w.Code < 300 || w.Code >= 500):
				t.Errorf("status %d: %.300s", w.Code, body)
			}
			for _, want := range h.shown {
				if !strings.Contains(body, want) {
					t.Errorf("does not say %q: %.300s", want, body)
				}
			}
			for _, leak := range []string{"goroutine", ".go:", "/tmp/", "runtime error", "sqlite", "SQL"} {
				if strings.Contains(body, leak) {
					t.Errorf("tells %q: %.400s", leak, body)
				}
			}
			if where := w.Header().Get("Location"); where != "" && (!strings.HasPrefix(where, "/") || strings.HasPrefix(where, "//")) {
				t.Errorf("leads to %q", where)
			}
			if w.Header().Get("X-Content-Type-Options") != "nosniff" || w.Header().Get("Content-Security-Policy") == "" {
				t.Errorf("comes without its guards: %v", w.Header())
			}
			if took := time.Since(begin); took > 20*time.Second {
				t.Errorf("took %s", took)
			}
			if v, err := b.book.Get(context.Background(), 1); err != nil || v.Number != 1 || v.Text != smallJob("Lid") {
				t.Errorf("the vehicle was changed: revision %d, %v", v.Number, err)
			}
		})
	}
	// What was taken in can be looked at, whatever is in it.
	kept, err := b.book.Vehicles(context.Background())
	if err != nil || len(kept) < 2 {
		t.Error(kept, err)
	}
	for _, v := range kept {
		for _, at := range []string{"", "text", "range", "order", "prints"} {
			if w := b.get(address(v.ID, at)); w.Code != 200 {
				t.Errorf("vehicle %d, /%s: status %d", v.ID, at, w.Code)
			}
		}
	}
	if b.log.Len() > 0 {
		t.Errorf("our mistakes: %s", b.log.String())
	}
}

// HTML in every text field is shown as text, and as nothing else, on every page that shows it.
func TestHTMLIsInert(t *testing.T) {
	b := newTestBench(t)
	b.post("/vehicles", url.Values{"name": {inert}, "units": {"mm"}})
	w := b.post("/v/1/panels", url.Values{"rev": {"1"}, "name": {"Lid " + inert}, "along": {"600"}, "across": {"400"}, "outer": {"grp_csm30"},
		"outer-thickness": {"2.5 mm"}, "inner": {"al5754h22"}, "inner-thickness": {"1.5 mm"}, "width": {"36"}})
	if w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	b.planned(1)
	panel := regexpID(t, w.Header().Get("Location"))
	b.post("/v/1/marks", url.Values{"panel": {panel}, "piece": {"1"}, "trial: signed": {inert}, inert: {inert}})
	pages := []string{"/", "/v/1/", "/v/1/text", "/v/1/history", "/v/1/history?old=1&new=2", "/v/1/range", "/v/1/order", "/v/1/prints",
		"/v/1/p/" + panel + "/card", "/v/1/p/" + panel + "/setout", "/v/1/p/" + panel + "/survey", "/v/1/files/plan.html", "/v/1/files/panel-" + panel + ".svg"}
	for _, at := range pages {
		if body := b.get(at).Body.String(); strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x") {
			t.Errorf("%s shows it alive", at)
		}
	}
	for name, w := range map[string]*httptest.ResponseRecorder{
		"a bad field of a new panel":     b.post("/v/1/panels", url.Values{"rev": {"2"}, "name": {"x"}, "along": {inert}}),
		"an outdated text":               b.post("/v/1/text", url.Values{"rev": {"1"}, "text": {"# " + inert}}),
		"a text to edit by hand":         b.post("/v/1/changed", url.Values{"rev": {"2"}, "choice": {"edit"}, "mine": {"</textarea>" + inert}}),
		"a path that is not there":       b.get("/" + url.PathEscape(inert)),
		"a query":                        b.get("/settings?from=" + url.QueryEscape(inert)),
		"a panel that is not there":      b.get("/v/1/p/" + url.PathEscape(inert) + "/card"),
		"the set-out of no such panel":   b.get("/v/1/p/" + url.PathEscape(inert) + "/setout"),
		"a job that is nothing but HTML": b.do(upload("job.yaml", inert)()),
		"a file's name":                  b.do(upload("job.yaml", smallJob("x"), inert, "x")()),
		"faults of a job over the API":   b.do(send("POST", "/api/plan", "job: { "+`"<script>alert(1)</script>": x }`, "Content-Type", "application/yaml")()),
	} {
		body := w.Body.String()
		if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") && (strings.Contains(body, "<script>alert") || strings.Contains(body, "<img src=x")) {
			t.Errorf("%s shows it alive: %.400s", name, body)
		}
		if w.Code >= 500 {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
}

func regexpID(t *testing.T, at string) string {
	t.Helper()
	parts := strings.Split(at, "/")
	if len(parts) < 6 {
		t.Fatalf("led to %q", at)
	}
	return parts[4]
}

// Every address that changes something refuses a wrong origin, a wrong site and a wrong host, whatever it is sent.
func TestEveryPostRefusesStrangers(t *testing.T) {
	b := newTestBench(t)
	b.add("Lid", smallJob("Lid"))
	posts := 0
	for pattern := range (&server{}).routes() {
		method, path, _ := strings.Cut(pattern, " ")
		if method != "POST" {
			continue
		}
		posts++
		path = strings.NewReplacer("{v}", "1", "{panel}", "lid", "{name}", "x").Replace(path)
		for what, c := range map[string]struct {
			headers []string
			status  int
		}{
			"origin": {[]string{"Origin", "http://evil.example"}, 403},
			"site":   {[]string{"Sec-Fetch-Site", "cross-site", "Origin", ""}, 403},
			"host":   {[]string{"Host", "evil.example:8745", "Origin", "http://evil.example:8745"}, 421},
		} {
			if w := b.do(send("POST", path, "rev=1", c.headers...)()); w.Code != c.status {
				t.Errorf("POST %s with a wrong %s: status %d, want %d", path, what, w.Code, c.status)
			}
		}
	}
	if posts < 10 {
		t.Errorf("only %d addresses were tried", posts)
	}
}

// With a key nothing but the door is open, and the key itself opens everything.
func TestKey(t *testing.T) {
	key := NewKey()
	if len(key) != keyLength || key == NewKey() {
		t.Fatalf("the key is %q", key)
	}
	b := newTestBench(t, func(o *Options) { o.Network, o.Key, o.Hosts = true, key, []string{"192.168.7.9"} })
	b.add("Lid", smallJob("Lid"))
	for pattern := range (&server{}).routes() {
		method, path, _ := strings.Cut(pattern, " ")
		path = strings.NewReplacer("{v}", "1", "{panel}", "lid", "{name}", "bench.css", "{$}", "").Replace(path)
		want := http.StatusForbidden
		if method == "GET" && (path == "/enter" || strings.HasPrefix(path, "/assets/")) {
			want = http.StatusOK
		}
		if w := b.do(send(method, path, "")()); w.Code != want {
			t.Errorf("%s %s without the key: status %d, want %d", method, path, w.Code, want)
		}
	}
	for _, wrong := range []string{"", "x", key[:31], key + "A", strings.Repeat("A", 32)} {
		b.cookies[keyCookie] = wrong
		if w := b.get("/v/1/"); w.Code != http.StatusForbidden {
			t.Errorf("key %q: status %d", wrong, w.Code)
		}
	}
	clear(b.cookies)
	w := b.get("/enter?key=" + key)
	c := w.Result().Cookies()
	if w.Code != http.StatusSeeOther || len(c) != 1 || !c[0].HttpOnly || c[0].SameSite != http.SameSiteStrictMode {
		t.Fatal(w.Code, c)
	}
	if w := b.get("/"); w.Code != 200 {
		t.Error(w.Code)
	}
	clear(b.cookies)
	typed := strings.ToLower(key[:4] + " " + key[4:])
	if w := b.post("/enter", url.Values{"key": {typed}}); w.Code != http.StatusSeeOther {
		t.Errorf("typed as %q: status %d", typed, w.Code)
	}
	if w := b.do(send("GET", "/", "", "Host", "192.168.7.9:8745")()); w.Code != 200 {
		t.Errorf("by its address on the network: %d", w.Code)
	}
	clear(b.cookies)
	if w := b.do(send("GET", "/v/1/", "", "Authorization", "Bearer "+key)()); w.Code != 200 {
		t.Errorf("by a program with the key: %d", w.Code)
	}
}

// A client that sends its head or its body drop by drop, or a giant head, is cut off, and others are served meanwhile.
func TestSlowAndGreedyClients(t *testing.T) {
	b := newTestBench(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := NewServer(b.handler)
	if s.ReadHeaderTimeout <= 0 || s.ReadTimeout <= 0 || s.WriteTimeout <= 0 || s.IdleTimeout <= 0 || s.MaxHeaderBytes > 64<<10 {
		t.Errorf("a bound is missing: %+v", s)
	}
	s.ReadHeaderTimeout, s.ReadTimeout = 300*time.Millisecond, 600*time.Millisecond // as the bench has them, but sooner
	go s.Serve(l)
	t.Cleanup(func() { s.Close() })
	for name, c := range map[string]struct {
		first string
		want  string // what the answer begins with, "" for a closed line
	}{
		"a head that never ends": {"GET / HTTP/1.1\r\nHost: " + testAddress + "\r\nX: ", ""},
		"a body that never comes": {"POST /vehicles HTTP/1.1\r\nHost: " + testAddress + "\r\nOrigin: http://" + testAddress +
			"\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 500\r\n\r\nname=", "HTTP/1.1 400"},
		"a giant head":             {"GET / HTTP/1.1\r\nHost: " + testAddress + "\r\nX: " + strings.Repeat("x", 100<<10) + "\r\n\r\n", "HTTP/1.1 431"},
		"a hundred thousand names": {"GET / HTTP/1.1\r\nHost: " + testAddress + "\r\n" + strings.Repeat("A: b\r\n", 100000) + "\r\n", "HTTP/1.1 431"},
		"two hosts":                {"GET / HTTP/1.1\r\nHost: " + testAddress + "\r\nHost: evil.example\r\n\r\n", "HTTP/1.1 400"},
		"two lengths":              {"POST / HTTP/1.1\r\nHost: " + testAddress + "\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nx", "HTTP/1.1 400"},
	} {
		t.Run(name, func(t *testing.T) {
			line, err := net.Dial("tcp", l.Addr().String())
			if err != nil {
				t.Fatal(err)
			}
			defer line.Close()
			line.SetDeadline(time.Now().Add(10 * time.Second))
			go io.WriteString(line, c.first)
			answer, err := io.ReadAll(line)
			if e, ok := err.(net.Error); ok && e.Timeout() {
				t.Fatal("the line was still held after ten seconds")
			}
			if !strings.HasPrefix(string(answer), c.want) && len(answer) > 0 {
				t.Errorf("answered %.200q", answer)
			}
		})
	}
}
