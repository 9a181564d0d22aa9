package main

import (
	"fmt"
	"html"
	"io"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// worker is a client that changes and ticks as quickly as it can, and notes what was acknowledged.
type worker struct {
	*acks
	at, name string
	round, n int
	dead     chan struct{} // closed when the bench was killed
	rng      *rand.Rand
	client   *http.Client
}

func newWorker(a *acks, at, name string, round int, dead chan struct{}, rng *rand.Rand) *worker {
	return &worker{acks: a, at: at, name: name, round: round, dead: dead, rng: rng, client: &http.Client{
		Transport: &http.Transport{}, Timeout: time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// work goes on until the bench is dead.
func (w *worker) work() {
	defer w.client.CloseIdleConnections()
	for {
		select {
		case <-w.dead:
			return
		default:
		}
		w.n++
		v := 1 + w.rng.IntN(vehicles)
		if w.rng.IntN(2) == 0 {
			w.change(v)
		} else {
			w.tick(v)
		}
	}
}

// ask gives status 0 when the bench died.
func (w *worker) ask(method, path string, form url.Values) (status int, body string) {
	r, err := http.NewRequest(method, w.at+path, strings.NewReader(form.Encode()))
	if err != nil {
		w.fault(err)
		return 0, ""
	}
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	answer, err := w.client.Do(r)
	if err != nil {
		w.cutOff(err)
		return 0, ""
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil && method == "GET" { // of a change the head is the acknowledgement
		w.cutOff(err)
		return 0, ""
	}
	return answer.StatusCode, string(text)
}

// cutOff counts a request that got no answer, which is right only of a bench that was killed.
func (w *worker) cutOff(err error) {
	select {
	case <-w.dead:
		w.mu.Lock()
		defer w.mu.Unlock()
		w.sum.cut++
	case <-time.After(2 * time.Second):
		w.fault(fmt.Errorf("no answer from a bench that was not killed: %w", err))
	}
}

func (w *worker) fault(err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.wrong == nil {
		w.wrong = err
	}
}

var (
	revisionOf = regexp.MustCompile(`name="rev" value="(\d+)"`)
	textOf     = regexp.MustCompile(`(?s)<textarea id="text"[^>]*>(.*?)</textarea>`)
)

// change saves the job with a remark of its own.
func (w *worker) change(v int) {
	path := fmt.Sprintf("/v/%d/text", v)
	status, page := w.ask("GET", path, nil)
	if status == 0 {
		return
	}
	rev, old := revisionOf.FindStringSubmatch(page), textOf.FindStringSubmatch(page)
	if status != http.StatusOK || rev == nil || old == nil || !strings.Contains(html.UnescapeString(old[1]), job) {
		w.fault(fmt.Errorf("the text of vehicle %d: status %d: %.500s", v, status, page))
		return
	}
	text := job + fmt.Sprintf("# %s, round %d, change %d\n", w.name, w.round, w.n)
	switch status, body := w.ask("POST", path, url.Values{"rev": {rev[1]}, "text": {text}}); status {
	case 0:
	case http.StatusConflict:
		w.mu.Lock()
		defer w.mu.Unlock()
		w.sum.refused++
	case http.StatusSeeOther:
		base, err := strconv.ParseInt(rev[1], 10, 64)
		if err != nil {
			w.fault(err)
			return
		}
		w.mu.Lock()
		defer w.mu.Unlock()
		w.revisions[[2]int64{int64(v), base + 1}] = text
		w.sum.revisions++
	default:
		w.fault(fmt.Errorf("a change: status %d: %.500s", status, body))
	}
}

// tick writes into a box that nobody else writes into.
func (w *worker) tick(v int) {
	var piece int
	if _, err := fmt.Sscanf(w.name, "client %d", &piece); err != nil {
		w.fault(err)
		return
	}
	piece++
	name := []string{"trial: signed", "trial: date"}[w.rng.IntN(2)]
	box, value := fmt.Sprintf("vehicle %d %d/%s", v, piece, name), fmt.Sprintf("round %d, %d", w.round, w.n)
	w.mu.Lock()
	w.marks[box] = append(w.tried(box), value)
	w.mu.Unlock()
	switch status, body := w.ask("POST", fmt.Sprintf("/v/%d/marks", v), url.Values{"panel": {"lid"}, "piece": {fmt.Sprint(piece)}, "quiet": {"yes"}, name: {value}}); status {
	case 0:
	case http.StatusNoContent:
		w.mu.Lock()
		defer w.mu.Unlock()
		w.marks[box] = []string{value}
		w.sum.marks++
	default:
		w.fault(fmt.Errorf("a tick: status %d: %.500s", status, body))
	}
}

// tried is what a box may hold now: nothing before the first try.
func (a *acks) tried(box string) []string {
	if now := a.marks[box]; now != nil {
		return now
	}
	return []string{""}
}
