package web

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// A revision is planned once for all who ask; a newer one stops the older; one that was stopped for that is begun again when
// somebody looks at it, one that the user stopped only when it is asked for.
func TestPlannerKeepsAndStops(t *testing.T) {
	pl := NewPlanner(&bytes.Buffer{})
	text := example(t, "01-sprint")
	first := pl.Show(1, 1, text, nil)
	if pl.Show(1, 1, text, nil) != first {
		t.Error("the same revision is planned twice")
	}
	second := pl.Show(1, 2, smallJob("x"), nil)
	if s := first.Wait(context.Background()); s.State != Stopped {
		t.Errorf("the older is %s", s.State)
	}
	again := pl.Show(1, 1, text, nil)
	if again == first {
		t.Error("the older is not begun again")
	}
	again.Stop()
	if s := again.Wait(context.Background()); s.State != Stopped || pl.Show(1, 1, text, nil) != again {
		t.Errorf("stopped by the user, it is %s", s.State)
	}
	if pl.Start(1, 1, text, nil) == again {
		t.Error("asked for, it is not begun")
	}
	if s := second.Wait(context.Background()); s.State != Done || s.Plan == nil {
		t.Errorf("the newer is %s: %v %v", s.State, s.Err, s.Faults)
	}
	if pack, err := second.Pack(context.Background()); err != nil || len(pack.Files) < 15 {
		t.Error(pack, err)
	}
}

// No more than so many wait; who asked and went away is not planned for; a panic is ours and is told to the log only.
func TestPlannerBounds(t *testing.T) {
	var log bytes.Buffer
	pl := NewPlanner(&log)
	for range plansAtOnce {
		pl.slots <- struct{}{}
	}
	ctx, leave := context.WithCancel(context.Background())
	var runs []*Run
	for range plansWaiting + 1 {
		runs = append(runs, pl.Once(ctx, "x", nil))
	}
	if s := runs[plansWaiting].Status(); s.State != Failed || !errors.Is(s.Err, errBusy) {
		t.Errorf("one too many is %s, %v", s.State, s.Err)
	}
	leave()
	for _, r := range runs[:plansWaiting] {
		if s := r.Wait(context.Background()); s.State != Stopped {
			t.Fatalf("without anybody to answer it is %s", s.State)
		}
	}
	for range plansAtOnce {
		<-pl.slots
	}
	bad := strings.Replace(smallJob("x"), "units: mm", "units: mm, range: mine.yaml", 1)
	s := pl.Once(context.Background(), bad, func(string) ([]byte, error) { panic("a secret of ours") }).Wait(context.Background())
	if s.State != Failed || strings.Contains(s.Err.Error(), "secret") || !strings.Contains(log.String(), "a secret of ours") {
		t.Errorf("%s, %v; the log has %q", s.State, s.Err, log.String())
	}
}

// Old runs are forgotten, the one in hand is not.
func TestPlannerForgets(t *testing.T) {
	pl := NewPlanner(&bytes.Buffer{})
	for rev := range runsKept + 5 {
		pl.Show(int64(rev+1), 1, "not a job", nil).Wait(context.Background())
	}
	last := pl.Show(runsKept+5, 1, "not a job", nil)
	last.packBytes = packBytesKept + 1
	pl.mu.Lock()
	pl.forget()
	kept := len(pl.runs)
	pl.mu.Unlock()
	if kept != 1 || pl.Show(runsKept+5, 1, "not a job", nil) != last {
		t.Errorf("%d are kept beside one whose pack is too large for others", kept)
	}
}

// The page says that planning was stopped, and begins it again when it is told to.
func TestStopButton(t *testing.T) {
	b := newTestBench(t)
	b.add("Sprint", example(t, "01-sprint"))
	if page := b.get("/v/1/").Body.String(); !strings.Contains(page, "/v/1/run/stop") || !strings.Contains(page, "data-run") {
		t.Skip("planned before it could be stopped: a fast machine")
	}
	b.post("/v/1/run/stop", url.Values{})
	for range 2 {
		if page := b.get("/v/1/").Body.String(); !strings.Contains(page, "Not planned") || !strings.Contains(page, "Plan again") {
			t.Fatalf("it does not say so: %s", page)
		}
	}
	if w := b.post("/v/1/run", url.Values{}); w.Code != http.StatusSeeOther {
		t.Error(w.Code)
	}
	b.planned(1)
	if page := b.get("/v/1/").Body.String(); !strings.Contains(page, "not known") {
		t.Error("planned again, the page does not show it")
	}
}
