package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"time"
)

// load is a bench under load, and what came of it.
type load struct {
	tally
	at       string // http://host:port
	client   *http.Client
	vehicles []vehicle
	job      string // planned over the API
	end      time.Time
}

// vehicle is one that the clients work on.
type vehicle struct {
	id     int
	name   string   // as its pages show it
	panels []string // ids
	slides []string // those whose stations are slid
}

// examples are the vehicles of a load, in the order of their ids, and last one without panels: it costs no planning, so that
// changes of it meet often.
var examples = []vehicle{
	{name: "Sprint two-seater, bodywork (sample)", panels: []string{"nose-lid", "side-pod-top", "battery-hatch", "tail-lid"}, slides: []string{"nose-lid", "battery-hatch"}},
	{name: "Harbour launch, engine hatch (sample)", panels: []string{"engine-hatch"}, slides: []string{"engine-hatch"}},
	{name: "Generator canopy, doors (sample)", panels: []string{"service-door", "louvre-panel"}, slides: []string{"service-door"}},
	{name: "Notes of the shop"},
}

// requestTime is how long a client waits for an answer: longer than the bench says that it ever needs.
const requestTime = 3 * time.Minute

// newLoad puts the examples of a folder into the bench's book.
func newLoad(at, folder string) (*load, error) {
	transport := &http.Transport{MaxIdleConnsPerHost: 256}
	l := &load{at: at, client: &http.Client{Transport: transport, Timeout: requestTime,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	for i, v := range examples {
		v.id = i + 1
		l.vehicles = append(l.vehicles, v)
		if v.panels == nil {
			if err := l.must(l.post("/vehicles", url.Values{"name": {v.name}, "units": {"mm"}})); err != nil {
				return nil, err
			}
			continue
		}
		text, err := os.ReadFile(filepath.Join(folder, []string{"01-sprint", "02-launch", "03-canopy"}[i], "job.yaml"))
		if err != nil {
			return nil, err
		}
		if i == 1 {
			l.job = string(text)
		}
		if err := l.must(l.upload(text)); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// answer is what the bench answered, whole.
type answer struct {
	status int
	body   string
	took   time.Duration
	err    error
}

func (l *load) must(a answer) error {
	if a.err != nil || a.status != http.StatusSeeOther {
		return fmt.Errorf("the examples could not be brought in: %d %w %.300s", a.status, a.err, a.body)
	}
	return nil
}

// send asks, and reads the whole answer.
func (l *load) send(method, path, kind string, body io.Reader) answer {
	r, err := http.NewRequest(method, l.at+path, body)
	if err != nil {
		return answer{err: err}
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	begun := time.Now()
	w, err := l.client.Do(r)
	if err != nil {
		return answer{err: err, took: time.Since(begun)}
	}
	text, err := io.ReadAll(w.Body)
	return answer{w.StatusCode, string(text), time.Since(begun), errors.Join(err, w.Body.Close())}
}

func (l *load) get(path string) answer { return l.send("GET", path, "", nil) }

func (l *load) post(path string, form url.Values) answer {
	return l.send("POST", path, "application/x-www-form-urlencoded", strings.NewReader(form.Encode()))
}

func (l *load) upload(text []byte) answer {
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part, err := form.CreateFormFile("job", "job.yaml")
	if err != nil {
		return answer{err: err}
	}
	if _, err := part.Write(text); err != nil {
		return answer{err: err}
	}
	if err := form.Close(); err != nil {
		return answer{err: err}
	}
	return l.send("POST", "/vehicles/import", form.FormDataContentType(), &b)
}

// run lets clients work until the time is over.
func (l *load) run(clients int, long time.Duration, seed uint64) {
	l.end = time.Now().Add(long)
	var all sync.WaitGroup
	for i := range clients {
		all.Add(1)
		go func() {
			defer all.Done()
			c := &client{load: l, name: fmt.Sprintf("client %d", i+1), rng: rand.New(rand.NewPCG(seed, uint64(i)))}
			for time.Now().Before(l.end) {
				c.pause(thinkMin, thinkMax)
				c.step()
			}
		}()
	}
	all.Wait()
	l.client.CloseIdleConnections()
}

// What a page says when there is no plan to show yet, and why.
var (
	saysWaiting = regexp.MustCompile(`Waiting for its turn|<strong>Planning</strong>|Planning this panel|it was stopped`)
	saysBusy    = regexp.MustCompile(`too much is being planned at once|(?i)busy`)
	saysOld     = regexp.MustCompile(`Changed meanwhile|Reload the page: the plan has changed|the card has no such box, or no longer`)
)

// judge says how an answer is to be counted: status and words as wanted is good.
func judge(a answer, status int, words ...string) (outcome, string) {
	told := func(why string) (outcome, string) {
		return bad, fmt.Sprintf("%s: status %d after %.1f s: %.400s", why, a.status, a.took.Seconds(), a.body)
	}
	switch {
	case a.err != nil:
		return bad, fmt.Sprintf("no answer after %.1f s: %v", a.took.Seconds(), a.err)
	case a.status == http.StatusConflict && saysOld.MatchString(a.body):
		return outdated, ""
	case a.status == http.StatusServiceUnavailable && saysBusy.MatchString(a.body):
		return busy, ""
	case a.status != status:
		return told("another status was to come")
	}
	for _, w := range words {
		switch {
		case strings.Contains(a.body, w):
		case strings.Contains(a.body, "too much is being planned"):
			return busy, ""
		case saysWaiting.MatchString(a.body):
			return waiting, ""
		default:
			return told(fmt.Sprintf("%q is not in the answer", w))
		}
	}
	return good, ""
}
