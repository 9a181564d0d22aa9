package web

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"
)

// emptyJob is answered at once: it has no panels.
const emptyJob = "job: { name: x, units: mm, drills: any size }\n"

// stopsWithin is how soon a run ends that is told to: the longest step that does not look up, on a machine that is busy.
const stopsWithin = 5 * time.Second

// A job that would be planned for ever is stopped at the limit, says so on its page and over the API, and leaves its place to others.
func TestPlanForEver(t *testing.T) {
	var log bytes.Buffer
	pl := NewPlanner(&log)
	pl.limit = 100 * time.Millisecond
	b := newTestBench(t, func(o *Options) { o.Planner = pl })
	b.add("x", example(t, "01-sprint"))
	begun := time.Now()
	w := b.apiPost(example(t, "01-sprint"))
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "took longer than 60 s and was stopped") {
		t.Errorf("over the API: %d: %.300s", w.Code, w.Body)
	}
	if took := time.Since(begun); took > pl.limit+stopsWithin {
		t.Errorf("stopped after %v", took)
	}
	b.get("/v/1/")
	pl.Show(1, 1, "", nil).Wait(context.Background())
	if page := b.get("/v/1/").Body.String(); !strings.Contains(page, "plan it on the command line") || !strings.Contains(page, "Plan again") {
		t.Errorf("the page does not say so: %s", page)
	}
	if len(pl.slots) > 0 || log.Len() > 0 {
		t.Errorf("%d places are still taken; the log has %s", len(pl.slots), log.String())
	}
	pl.limit = planTime
	if w := b.apiPost(emptyJob); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "panels is missing") {
		t.Errorf("afterwards: %d: %.300s", w.Code, w.Body)
	}
}

// What the user stops is soon ended, and its place is free.
func TestStopIsSoon(t *testing.T) {
	pl := NewPlanner(&bytes.Buffer{})
	r := pl.Start(1, 1, example(t, "01-sprint"), nil)
	for s, moved := r.Watch(); s.State != Running || s.Doing == ""; s, moved = r.Watch() {
		<-moved
	}
	time.Sleep(200 * time.Millisecond)
	begun := time.Now()
	r.Stop()
	if s := r.Wait(context.Background()); s.State != Stopped || time.Since(begun) > stopsWithin || len(pl.slots) > 0 {
		t.Errorf("%s after %v, %d places taken", s.State, time.Since(begun), len(pl.slots))
	}
}

// Of forty plans asked for at once, two work, as many wait as may, and the others are refused with when to ask again; those that waited
// are answered.
func TestFortyPlansAtOnce(t *testing.T) {
	const asked = 40 + plansAtOnce
	pl := NewPlanner(&bytes.Buffer{})
	b := newTestBench(t, func(o *Options) { o.Planner = pl })
	for range plansAtOnce {
		pl.slots <- struct{}{} // two that take their time
	}
	answers := make(chan *httptest.ResponseRecorder, asked)
	for range asked {
		go func() {
			r := httptest.NewRequest("POST", "/api/plan", strings.NewReader(emptyJob))
			r.Host = testAddress
			w := httptest.NewRecorder()
			b.handler.ServeHTTP(w, r)
			answers <- w
		}()
	}
	for range asked - plansWaiting {
		w := <-answers
		if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" || !strings.Contains(w.Body.String(), "try again") {
			t.Errorf("one too many: %d: %s", w.Code, w.Body)
		}
	}
	if len(answers) > 0 {
		t.Error("one that has no place is answered")
	}
	for range plansAtOnce {
		<-pl.slots
	}
	for range plansWaiting {
		if w := <-answers; !strings.Contains(w.Body.String(), "panels is missing") {
			t.Errorf("one that waited: %d: %s", w.Code, w.Body)
		}
	}
}

// Who waits for a plan or a pack is answered before the line is closed on it, with when to ask again.
func TestPatienceEnds(t *testing.T) {
	if s := NewServer(nil); patience+10*time.Second > s.WriteTimeout || patience < 2*planTime {
		t.Errorf("handlers wait %v, lines %v, one plan %v", patience, s.WriteTimeout, planTime)
	}
	pl := NewPlanner(&bytes.Buffer{})
	b := newTestBench(t, func(o *Options) { o.Planner, o.patience = pl, 100*time.Millisecond })
	b.add("x", smallJob("x"))
	for range plansAtOnce {
		pl.slots <- struct{}{}
	}
	if w := b.apiPost(smallJob("x")); w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" {
		t.Errorf("a plan: %d: %s", w.Code, w.Body)
	}
	if w := b.get("/v/1/pack.zip"); w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "try again") {
		t.Errorf("a pack that is not planned: %d: %s", w.Code, w.Body)
	}
	for range plansAtOnce {
		<-pl.slots
	}
	b.planned(1)
	for range drawsAtOnce {
		pl.draws <- struct{}{}
	}
	for _, path := range []string{"/v/1/pack.zip", "/v/1/prints", "/v/1/files/order.csv"} {
		if w := b.get(path); w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "try again") {
			t.Errorf("%s, not drawn: %d: %.200s", path, w.Code, w.Body)
		}
	}
	for range drawsAtOnce {
		<-pl.draws
	}
}

// A bench that is closed while it plans does not answer as if the plan were empty.
func TestClosedWhilePlanning(t *testing.T) {
	b := newTestBench(t)
	ctx, closed := context.WithCancel(context.Background())
	time.AfterFunc(50*time.Millisecond, closed)
	r := httptest.NewRequest("POST", "/api/plan", strings.NewReader(example(t, "01-sprint")))
	if w := b.do(r.WithContext(ctx)); w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "closed") {
		t.Errorf("%d: %.200s", w.Code, w.Body)
	}
}

// Set-out pages of many vehicles at once: so many panels wait for their plan, the others are told to come again, and nothing is lost.
func TestManyPanelsAtOnce(t *testing.T) {
	p := newPanelPlans(&bytes.Buffer{})
	for range panelsTurns {
		p.turns <- struct{}{}
	}
	none, stop := context.WithCancel(context.Background())
	stop() // who asks does not wait
	ask := func(ctx context.Context, vehicle int) (*panelPlan, bool) {
		return p.of(ctx, Revision{Vehicle: int64(vehicle), Number: 1, Content: Content{Text: smallJob("x")}}, "no-such")
	}
	for v := range panelsWaiting {
		if _, ready := ask(none, v+1); ready {
			t.Fatal("ready without a place to plan in")
		}
	}
	if e, ready := ask(context.Background(), panelsWaiting+1); !ready || e.err != errBusy || e.refusal(ready) == nil {
		t.Errorf("one too many: %v %v", ready, e.err)
	}
	for range panelsTurns {
		<-p.turns
	}
	for v := range panelsWaiting + 1 {
		if e, ready := ask(context.Background(), v+1); !ready || e.err != errNoPanel {
			t.Errorf("vehicle %d: %v", v+1, e.err)
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.all) > panelsKept || len(p.order) != len(p.all) || p.open != 0 {
		t.Errorf("%d plans are kept, %d in order, %d not made", len(p.all), len(p.order), p.open)
	}
}

// A newer revision stops the plan of an older one that nobody waits for, and leaves the one that somebody waits for.
func TestOlderPanelsAreLetGo(t *testing.T) {
	p := newPanelPlans(&bytes.Buffer{})
	for range panelsTurns {
		p.turns <- struct{}{}
	}
	none, stop := context.WithCancel(context.Background())
	stop()
	at := func(rev int) Revision {
		return Revision{Vehicle: 1, Number: rev, Content: Content{Text: smallJob("x")}}
	}
	left, _ := p.of(none, at(1), "lid")
	wanted := make(chan *panelPlan)
	go func() {
		e, _ := p.of(context.Background(), at(2), "lid")
		wanted <- e
	}()
	for waits := false; !waits; time.Sleep(time.Millisecond) {
		p.mu.Lock()
		e := p.all[panelKey{1, 2, "lid"}]
		waits = e != nil && e.asking > 0
		p.mu.Unlock()
	}
	if <-left.done; left.plan != nil || left.refusal(true) == nil {
		t.Error("the older is planned, though nobody wants it")
	}
	p.of(none, at(3), "lid")
	for range panelsTurns {
		<-p.turns
	}
	if e := <-wanted; e.plan == nil {
		t.Errorf("somebody waited, and got %v", e.err)
	}
}

// Stations that are ready to slide are few, whatever is taken up.
func TestSlidesAreBounded(t *testing.T) {
	p := newPanelPlans(&bytes.Buffer{})
	e, ready := p.of(context.Background(), Revision{Vehicle: 1, Number: 1, Content: Content{Text: example(t, "02-launch")}}, "engine-hatch")
	if !ready || e.plan == nil {
		t.Fatal(e.err)
	}
	if _, err := e.slide(-1); err == nil {
		t.Error("a station that is not there slides")
	}
	var all sync.WaitGroup
	for i := range 3 * slidesKept { // more than there are: each is asked for by several
		all.Add(1)
		go func() {
			defer all.Done()
			p.readied(p.slideOf(e, i))
		}()
	}
	all.Wait()
	if len(p.slides) != slidesKept || len(e.slides) != slidesKept {
		t.Errorf("%d are kept, %d by their panel", len(p.slides), len(e.slides))
	}
	first, err := e.slide(0)
	again, _ := e.slide(0)
	if err != nil || first == nil || first != again {
		t.Error(fmt.Sprint("made ready twice: ", err))
	}
}
