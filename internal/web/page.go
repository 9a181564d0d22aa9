package web

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"mime"
	"net/http"
	"path"
	"strconv"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/report"
	"panelwright/internal/setout"
)

//go:embed pages
var pageFiles embed.FS

// page is what every page has. Body is its own.
type page struct {
	Title   string
	At      string // the entry of the vehicle's menu that it belongs to
	Vehicle *Revision
	Panel   *panelHead // of a page about one panel
	Script  string     // a file of assets, "" for none
	Note    string     // said once, after a change
	Body    any

	// Set by show.
	Look    look
	Path    string // of this page, to come back to
	Version string
	Locked  bool // no key yet: no menu
}

// panelHead is a panel of the vehicle as the menu names it.
type panelHead struct{ ID, Name string }

// look is how the reader wants the pages.
type look struct {
	Inch  bool
	Theme string // "auto", "light", "dark"
}

const (
	unitCookie  = "bench_units"
	themeCookie = "bench_theme"
)

func lookOf(r *http.Request) look {
	l := look{Theme: "auto"}
	if c, err := r.Cookie(unitCookie); err == nil && c.Value == "inch" {
		l.Inch = true
	}
	if c, err := r.Cookie(themeCookie); err == nil && (c.Value == "light" || c.Value == "dark") {
		l.Theme = c.Value
	}
	return l
}

// Length shows a length of v mm in the reader's unit.
func (l look) Length(v float64) string {
	if l.Inch {
		return measure.Inch(v)
	}
	return measure.MM(v)
}

// Figure shows a check's figure with its unit; lengths in the reader's.
func (l look) Figure(v float64, unit string) string {
	if unit == "mm" && l.Inch {
		return measure.Inch(v)
	}
	return strings.TrimSpace(report.CheckNumber(v, unit) + " " + unit)
}

// Sign is a verdict's mark, never without its word.
func Sign(v setout.Verdict) string {
	switch v {
	case setout.Holds:
		return "✓"
	case setout.DoesNotHold:
		return "✗"
	}
	return "?"
}

var pageFuncs = template.FuncMap{
	"sign":   Sign,
	"scope":  func() string { return report.Scope },
	"day":    day,
	"plural": plural,
	"mul":    func(a, b float64) float64 { return a * b },
	"dict":   dict,
}

// dict gives a template several named values.
func dict(pairs ...any) map[string]any {
	m := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		m[pairs[i].(string)] = pairs[i+1]
	}
	return m
}

// day shortens an RFC 3339 time to what a list needs.
func day(at string) string {
	if len(at) < len("2006-01-02T15:04") {
		return at
	}
	return strings.Replace(at[:len("2006-01-02T15:04")], "T", " ", 1)
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// pages holds a template set for each page: the layout with the page's own blocks.
var pages = func() map[string]*template.Template {
	layout := template.Must(template.New("layout").Funcs(pageFuncs).ParseFS(pageFiles, "pages/layout.tmpl"))
	all := map[string]*template.Template{}
	names, err := pageFiles.ReadDir("pages")
	if err != nil {
		panic("web: " + err.Error())
	}
	for _, n := range names {
		if name := strings.TrimSuffix(n.Name(), ".tmpl"); name != "layout" {
			all[name] = template.Must(template.Must(layout.Clone()).ParseFS(pageFiles, path.Join("pages", n.Name())))
		}
	}
	return all
}()

// show renders a page. It is made whole before anything is sent, so that a fault in it is an error page and no half page.
func (s *server) show(w http.ResponseWriter, r *http.Request, status int, name string, p page) {
	p.Look, p.Path, p.Version = lookOf(r), r.URL.Path, s.Version
	p.Locked = s.Network && !s.hasKey(r)
	if r.Method != http.MethodGet {
		p.Path = "/"
	}
	if p.Note == "" {
		p.Note = takeNote(w, r)
	}
	t := pages[name]
	if t == nil {
		panic("web: no page " + name)
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "layout", p); err != nil {
		panic("web: page " + name + ": " + err.Error())
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Length", strconv.Itoa(b.Len()))
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // a reader that went away needs nothing
}

// see sends the reader to a page after a change, which says the note once.
func see(w http.ResponseWriter, r *http.Request, where, note string) {
	if note != "" {
		http.SetCookie(w, &http.Cookie{Name: noteCookie, Value: note, Path: "/", MaxAge: 60, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	}
	http.Redirect(w, r, where, http.StatusSeeOther)
}

const (
	noteCookie = "bench_note"
	ontoNote   = "onto-" // and the number of the revision that a change was put onto
)

// notes are what may be said after a change: a cookie picks one, and can say nothing else.
var notes = map[string]string{
	"saved":    "Saved as a new revision.",
	"same":     "Nothing was changed.",
	"undone":   "Undone. Redo brings it back.",
	"redone":   "Done again.",
	"made":     "Made and kept in the book.",
	"imported": "Imported and kept in the book.",
	"away":     "Put away. It stands under 'put away' and can be taken back.",
	"back":     "Taken back.",
	"marks":    "Ticks and readings are kept.",
	"settings": "Settings are kept on this device.",
	"theirs":   "Theirs was kept; yours was dropped.",
	"stopped":  "Planning was stopped.",
}

func takeNote(w http.ResponseWriter, r *http.Request) string {
	c, err := r.Cookie(noteCookie)
	if err != nil {
		return ""
	}
	http.SetCookie(w, &http.Cookie{Name: noteCookie, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	if n, onto := strings.CutPrefix(c.Value, ontoNote); onto {
		if n, err := strconv.Atoi(n); err == nil {
			return fmt.Sprintf("Saved: put onto revision %d, which changed elsewhere meanwhile.", n)
		}
	}
	return notes[c.Value]
}

// readForm reads the fields of a plain form within the limit of the door.
func readForm(r *http.Request) error {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil || kind != "application/x-www-form-urlencoded" {
		return refuse(http.StatusUnsupportedMediaType, "Not a form", "This address takes the form of its page only.")
	}
	if err := r.ParseForm(); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return err
		}
		return refuse(http.StatusBadRequest, "Not readable", "The form came broken. Go back, reload the page and send it again.")
	}
	for _, values := range r.PostForm {
		for _, v := range values {
			if err := plainText(v); err != nil {
				return err
			}
		}
	}
	return nil
}

// number reads a number of an address or a form.
func number(text, what string) (int64, error) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		return 0, refuse(http.StatusNotFound, "Nothing here", "%s must be a number from 1 upwards.", what)
	}
	return n, nil
}

// address is a page of a vehicle.
func address(v int64, rest string) string { return fmt.Sprintf("/v/%d/%s", v, rest) }
