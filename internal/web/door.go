package web

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/base32"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// keyBytes is how many random bytes make a key: 160 bits, 32 letters.
const (
	keyBytes  = 20
	keyLength = 32
)

const keyCookie = "bench_key"

// NewKey makes a key of 160 random bits in 32 letters and digits that are read out without doubt (RFC 4648 base 32).
func NewKey() string {
	var b [keyBytes]byte
	rand.Read(b[:])
	return base32.StdEncoding.EncodeToString(b[:])
}

// limits bound what one request may bring, bytes.
type limits struct{ form, upload, plan int64 }

var usualLimits = limits{form: 1 << 20, upload: 8 << 20, plan: 4 << 20}

func (l limits) of(r *http.Request) int64 {
	switch {
	case r.URL.Path == "/api/plan":
		return l.plan
	case strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data"):
		return l.upload
	}
	return l.form
}

// pagePolicy lets a page load our own files only, run no script but ours, and be framed by nobody.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// filePolicy is for files of the pack, which carry their style inside and need nothing else.
const filePolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none'; base-uri 'none'; frame-ancestors 'none'; sandbox"

// door is everything that stands before the pages: who may ask, from where, how much.
func (s *server) door(inside http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		// Not no-referrer: with it a browser sends Origin: null with the forms of our own pages.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		switch {
		case !s.hostKnown(r.Host):
			s.bare(w, http.StatusMisdirectedRequest, "This bench is not reached under that name. Use the address that it printed when it was started.")
		case cross.Check(r) != nil || foreignOrigin(r):
			s.showTrouble(w, r, refuse(http.StatusForbidden, "Refused", "This request came from another site, so nothing was changed. Open the bench itself and try there."))
		case s.Network && !s.hasKey(r) && !open(r):
			s.showTrouble(w, r, refuse(http.StatusForbidden, "The bench is locked",
				"Scan the code that is shown in the terminal where the bench runs, or type its key.").back("/enter", "Type the key"))
		default:
			r.Body = http.MaxBytesReader(w, r.Body, s.limits.of(r))
			inside.ServeHTTP(w, r)
		}
	})
}

// open says whether a request needs no key: to enter, and what the page to enter looks like.
func open(r *http.Request) bool {
	return r.URL.Path == "/enter" || r.Method == http.MethodGet && strings.HasPrefix(r.URL.Path, "/assets/")
}

// bare answers without a page: to a stranger.
func (s *server) bare(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(text + "\n")) // nobody is left to tell when it fails
}

// hostKnown says whether the Host header is a name of this bench: a page of another site whose name was made to point here
// (DNS rebinding) brings its own name.
func (s *server) hostKnown(host string) bool {
	bound, port, err := net.SplitHostPort(s.Address)
	if err != nil {
		return false
	}
	name, asked, err := net.SplitHostPort(host)
	if err != nil {
		name, asked = strings.Trim(host, "[]"), "80"
	}
	if asked != port {
		return false
	}
	name = strings.ToLower(name)
	for _, known := range append([]string{bound, "localhost", "127.0.0.1", "::1"}, s.Hosts...) {
		if known != "" && name == strings.ToLower(known) {
			return true
		}
	}
	return false
}

// foreignOrigin refuses a change whose Origin is not exactly this bench, "null" too; http.CrossOriginProtection lets through
// one that says Sec-Fetch-Site: same-origin beside it.
func foreignOrigin(r *http.Request) bool {
	origin := r.Header.Get("Origin")
	if origin == "" || r.Method == http.MethodGet || r.Method == http.MethodHead {
		return false
	}
	u, err := url.Parse(origin)
	return err != nil || u.Host != r.Host
}

// hasKey looks for the key in the cookie, or where a program sends one.
func (s *server) hasKey(r *http.Request) bool {
	if key, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok && s.isKey(key) {
		return true
	}
	c, err := r.Cookie(keyCookie)
	return err == nil && s.isKey(c.Value)
}

func (s *server) isKey(given string) bool {
	given = strings.ToUpper(strings.NewReplacer(" ", "", "-", "").Replace(given))
	return s.Key != "" && subtle.ConstantTimeCompare([]byte(given), []byte(s.Key)) == 1
}

// enter is the page to type the key; with ?key=… it is the door itself, for the code that a tablet scans.
func (s *server) enter(w http.ResponseWriter, r *http.Request) error {
	if key := r.URL.Query().Get("key"); key != "" {
		return s.tryKey(w, r, key)
	}
	s.show(w, r, http.StatusOK, "enter", page{Title: "Enter"})
	return nil
}

func (s *server) enterKey(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	return s.tryKey(w, r, r.PostForm.Get("key"))
}

func (s *server) tryKey(w http.ResponseWriter, r *http.Request, key string) error {
	if s.Network && !s.isKey(key) {
		return refuse(http.StatusForbidden, "Not the key", "That is not the key. It stands in the terminal where the bench runs, and is another one after each start.").back("/enter", "Type it again")
	}
	if s.Network {
		http.SetCookie(w, &http.Cookie{Name: keyCookie, Value: s.Key, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// cookieLife is how long a tablet remembers its settings.
const cookieLife = 400 * 24 * time.Hour
