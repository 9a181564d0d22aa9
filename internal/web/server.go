// Package web is the bench: pages on which a vehicle is surveyed, set out, checked and printed, over the same
// panelwright.Plan as the command line.
//
// Pages are made on the server and work without script; scripts only make them quicker. Every change is a POST with the
// revision that its page was made from. To add a page: a row in routes, a handler, a template in pages/.
package web

import (
	"crypto/rand"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"panelwright/internal/book"
)

//go:embed assets
var assets embed.FS

// Options is what the bench is opened with.
type Options struct {
	Book    *book.Book
	Planner *Planner         // nil: one of its own
	Address string           // host:port that it is bound to
	Hosts   []string         // further host names or addresses, without port, under which this machine is asked for
	Network bool             // reachable by others: every page needs the key
	Key     string           // with Network; see NewKey
	Now     func() time.Time // for the time of a change; nil: the clock
	Version string           // of the program, for the foot of the pages and plan.json
	Log     io.Writer        // what went wrong on our side; nil: nowhere

	patience time.Duration // 0: the constant; tests have less
}

// server has what handlers share. It is not changed after New.
type server struct {
	Options
	Book    shelf // in place of the Options' own
	mux     *http.ServeMux
	limits  limits
	planned *Planner
	panels  *panelPlans
	streams chan struct{} // one place for each stream of events
	copies  chan struct{} // one for each copy of the book that is being sent
	marking sync.Mutex    // from reading marks to writing them
}

// handler answers a request. An error is shown as a page: a *trouble as it says, any other as our mistake, with its text in
// the log only.
type handler func(w http.ResponseWriter, r *http.Request) error

// routes is the table of the bench's pages: method and path as net/http's patterns have them.
func (s *server) routes() map[string]handler {
	return map[string]handler{
		"GET /{$}":                           s.vehicles,
		"POST /vehicles":                     s.newVehicle,
		"POST /vehicles/import":              s.importVehicle,
		"POST /v/{v}/archive":                s.archive,
		"GET /book":                          s.bookCopy,
		"GET /v/{v}/{$}":                     s.vehicle,
		"POST /v/{v}/panels":                 s.newPanel,
		"POST /v/{v}/conditions":             s.saveConditions,
		"GET /v/{v}/text":                    s.text,
		"POST /v/{v}/text":                   s.saveText,
		"GET /v/{v}/history":                 s.history,
		"POST /v/{v}/undo":                   s.undo,
		"POST /v/{v}/redo":                   s.redo,
		"GET /v/{v}/range":                   s.rangePage,
		"GET /v/{v}/order":                   s.order,
		"GET /v/{v}/prints":                  s.prints,
		"GET /v/{v}/files/{name}":            s.packFile,
		"GET /v/{v}/pack.zip":                s.packZip,
		"GET /v/{v}/job.zip":                 s.jobZip,
		"GET /v/{v}/p/{panel}/survey":        s.survey,
		"POST /v/{v}/p/{panel}/survey":       s.saveSurvey,
		"POST /v/{v}/p/{panel}/survey/check": s.checkSurvey,
		"POST /v/{v}/p/{panel}/survey/file":  s.surveyFile,
		"GET /v/{v}/p/{panel}/setout":        s.setout,
		"POST /v/{v}/p/{panel}/stations":     s.changeStations,
		"POST /v/{v}/p/{panel}/slide":        s.slideStart,
		"GET /v/{v}/p/{panel}/slide":         s.slideMove,
		"GET /v/{v}/p/{panel}/card":          s.card,
		"POST /v/{v}/marks":                  s.saveMarks,
		"GET /v/{v}/run":                     s.runEvents,
		"POST /v/{v}/run":                    s.runAgain,
		"POST /v/{v}/run/stop":               s.runStop,
		"GET /settings":                      s.settings,
		"POST /settings":                     s.saveSettings,
		"GET /enter":                         s.enter,
		"POST /enter":                        s.enterKey,
		"POST /api/plan":                     s.apiPlan,
		"GET /api/openapi.json":              s.apiDescription,
		"GET /assets/{name}":                 s.asset,
		"POST /v/{v}/changed":                s.changedChoice,
	}
}

// New returns the bench as a handler. It panics when the options make no bench: no book, or a network without a key.
func New(o Options) http.Handler {
	if o.Book == nil {
		panic("web: a bench without a book")
	}
	if o.Network && len(o.Key) < keyLength {
		panic("web: a bench on the network without a key")
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.patience == 0 {
		o.patience = patience
	}
	if o.Log == nil {
		o.Log = io.Discard
	}
	if o.Planner == nil {
		o.Planner = NewPlanner(o.Log)
	}
	s := &server{Options: o, Book: shelf{o.Book}, mux: http.NewServeMux(), planned: o.Planner, panels: newPanelPlans(o.Log), limits: usualLimits, streams: make(chan struct{}, eventsOpen),
		copies: make(chan struct{}, copiesAtOnce)}
	for pattern, h := range s.routes() {
		s.mux.Handle(pattern, s.answer(h))
	}
	s.mux.Handle("/", s.answer(s.nowhere))
	return s.whole(s.door(s.mux))
}

// answerTime is when a line is closed on an answer that has not been read, and patience how long a handler waits for a plan or a pack at
// most, so that it can still say that it waits no longer: a plan of a minute that waits for two others.
const (
	answerTime = 150 * time.Second
	patience   = answerTime - 15*time.Second
)

// NewServer gives a handler the time and size limits of the bench: a slow or greedy client cannot hold it.
func NewServer(h http.Handler) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       60 * time.Second, // an upload of 8 MB over a weak radio
		WriteTimeout:      answerTime,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
	}
}

// answer runs a handler and shows its error.
func (s *server) answer(h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.showTrouble(w, r, err)
		}
	})
}

// trouble is an answer that is no page of the plan: what is wrong and what the user can do.
type trouble struct {
	status      int
	title, text string
	way         string // address of the way out; "" the vehicles
	wayWords    string
	cause       error // for the log
}

// Error gives the title and the text.
func (t *trouble) Error() string { return t.title + ": " + t.text }

func refuse(status int, title, format string, args ...any) *trouble {
	return &trouble{status: status, title: title, text: fmt.Sprintf(format, args...)}
}

func (t *trouble) back(way, words string) *trouble {
	t.way, t.wayWords = way, words
	return t
}

func (s *server) showTrouble(w http.ResponseWriter, r *http.Request, err error) {
	var t *trouble
	var tooLarge *http.MaxBytesError
	switch {
	case errors.As(err, &t):
		if t.cause != nil {
			fmt.Fprintf(s.Log, "%s %s %s: %v\n", s.Now().UTC().Format(time.RFC3339), r.Method, r.URL.EscapedPath(), t.cause)
		}
	case errors.As(err, &tooLarge):
		t = refuse(http.StatusRequestEntityTooLarge, "Too large", "At most %d kB are taken here. Send less, or plan it with the command line.", tooLarge.Limit>>10)
	default:
		t = s.ourMistake(r, err.Error())
	}
	if t.way == "" {
		t.way, t.wayWords = "/", "To the vehicles"
	}
	if strings.HasPrefix(r.URL.Path, "/api/") {
		apiTrouble(w, t)
		return
	}
	s.show(w, r, t.status, "trouble", page{Title: t.title, Body: struct{ Text, Way, Words string }{t.text, t.way, t.wayWords}})
}

// ourMistake logs what happened under an id, and says only the id.
func (s *server) ourMistake(r *http.Request, what string) *trouble {
	var b [4]byte
	rand.Read(b[:])
	id := hex.EncodeToString(b[:])
	fmt.Fprintf(s.Log, "%s %s %s %s: %s\n", s.Now().UTC().Format(time.RFC3339), id, r.Method, r.URL.EscapedPath(), what)
	return refuse(http.StatusInternalServerError, "Our mistake",
		"Something went wrong that is not your doing. Nothing was changed by this request unless the history shows it. If it comes again, report number %s: the terminal in which the bench runs says more.", id)
}

// whole catches panics of everything inside it.
func (s *server) whole(inside http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.showTrouble(w, r, s.ourMistake(r, fmt.Sprintf("panic: %v\n%s", p, debug.Stack())))
			}
		}()
		inside.ServeHTTP(w, r)
	})
}

// nowhere answers what no route does: 405 with what is allowed, or 404.
func (s *server) nowhere(w http.ResponseWriter, r *http.Request) error {
	var allowed []string
	for _, m := range []string{"GET", "HEAD", "POST"} {
		if m == r.Method {
			continue
		}
		other := r.Clone(r.Context())
		other.Method = m
		if _, pattern := s.mux.Handler(other); pattern != "/" && pattern != "" {
			allowed = append(allowed, m)
		}
	}
	if len(allowed) > 0 {
		w.Header().Set("Allow", strings.Join(allowed, ", "))
		return refuse(http.StatusMethodNotAllowed, "Not done this way", "This address takes %s only.", strings.Join(allowed, ", "))
	}
	return refuse(http.StatusNotFound, "Nothing here", "There is no such page.")
}

// asset serves a style sheet or a script. They change only with the program.
func (s *server) asset(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("name")
	kind := map[bool]string{strings.HasSuffix(name, ".css"): "text/css; charset=utf-8", strings.HasSuffix(name, ".js"): "text/javascript; charset=utf-8",
		strings.HasSuffix(name, ".svg"): "image/svg+xml"}[true]
	text, err := assets.ReadFile("assets/" + name)
	if err != nil || kind == "" {
		return refuse(http.StatusNotFound, "Nothing here", "There is no such file.")
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "no-cache")
	_, err = w.Write(text)
	return ignoreGone(err)
}

// ignoreGone drops the error of a client that went away while we wrote: nobody is left to tell.
func ignoreGone(error) error { return nil }
