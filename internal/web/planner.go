package web

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"panelwright"
	"panelwright/internal/fault"
	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// Bounds of the planner.
const (
	plansAtOnce = 2                // runs that work at the same time
	planTime    = 60 * time.Second // one run, drawing not counted
	drawTime    = 60 * time.Second
	runsKept    = 24 // finished runs that are kept for pages to come
)

// State is how far a run has come.
type State int

// The states. A run that found faults in its job is Done, without a plan.
const (
	Waiting State = iota
	Running
	Done
	Failed
	Stopped
)

// String gives the word that a page shows.
func (s State) String() string {
	return [...]string{"waiting", "planning", "done", "failed", "stopped"}[s]
}

// Planner plans revisions in the background and keeps what came out. It is safe for use by several goroutines.
type Planner struct {
	mu    sync.Mutex
	slots chan struct{}
	runs  map[runKey]*Run
	order []runKey // oldest use first
}

type runKey struct {
	vehicle int64
	rev     int
	panel   string // "": the whole vehicle; else the panel's id: that panel alone, which is quicker
}

// NewPlanner returns a planner without runs.
func NewPlanner() *Planner {
	return &Planner{slots: make(chan struct{}, plansAtOnce), runs: map[runKey]*Run{}}
}

// Run is the planning of one revision, of all its panels or of one. A revision never changes, so neither does what came out.
type Run struct {
	key    runKey
	cancel context.CancelFunc
	done   chan struct{}

	mu     sync.Mutex
	state  State
	doing  string
	faults fault.List
	plan   *setout.Plan
	err    error
	moved  chan struct{} // closed at every change of state or doing

	draw    sync.Once
	pack    *panelwright.Pack
	packErr error

	slides slideStore
}

// Status is a run at one moment.
type Status struct {
	State  State
	Doing  string
	Faults fault.List
	Plan   *setout.Plan // nil until done, and where faults were found
	Err    error        // why it failed
}

// Start returns the run of a revision, begun now if it was not before. Runs of older revisions of the vehicle are stopped: nobody waits
// for what they would say. A run that was stopped or failed is begun anew.
func (pl *Planner) Start(vehicle int64, rev int, panel, text string, open func(name string) ([]byte, error)) *Run {
	pl.mu.Lock()
	defer pl.mu.Unlock()
	key := runKey{vehicle, rev, panel}
	for k, r := range pl.runs {
		if k.vehicle == vehicle && k.rev < rev {
			r.Stop()
		}
	}
	if r := pl.runs[key]; r != nil {
		if s := r.Status().State; s != Stopped && s != Failed {
			pl.touch(key)
			return r
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	r := &Run{key: key, cancel: cancel, done: make(chan struct{}), moved: make(chan struct{})}
	pl.runs[key] = r
	pl.touch(key)
	pl.forget()
	go pl.work(ctx, r, text, open)
	return r
}

// touch makes a key the one that was used last.
func (pl *Planner) touch(key runKey) {
	pl.order = append(slices.DeleteFunc(pl.order, func(k runKey) bool { return k == key }), key)
}

// forget drops the finished runs that were not used for longest.
func (pl *Planner) forget() {
	for i := 0; len(pl.order) > runsKept && i < len(pl.order); {
		k := pl.order[i]
		if s := pl.runs[k].Status().State; s == Waiting || s == Running {
			i++
			continue
		}
		delete(pl.runs, k)
		pl.order = slices.Delete(pl.order, i, i+1)
	}
}

// work waits for a place, then plans. A panic in the computation ends the run and nothing else.
func (pl *Planner) work(ctx context.Context, r *Run, text string, open func(string) ([]byte, error)) {
	defer close(r.done)
	defer r.cancel()
	defer func() {
		if p := recover(); p != nil {
			r.set(func() { r.state, r.err = Failed, fmt.Errorf("the program erred: %v", p) })
		}
	}()
	select {
	case pl.slots <- struct{}{}:
		defer func() { <-pl.slots }()
	case <-ctx.Done():
		r.set(func() { r.state = Stopped })
		return
	}
	ctx, stop := context.WithTimeout(ctx, planTime)
	defer stop()
	r.set(func() { r.state, r.doing = Running, "reading the job" })
	j, faults := job.Read("job.yaml", []byte(text), open)
	if len(faults) > 0 {
		r.set(func() { r.state, r.faults, r.doing = Done, faults, "" })
		return
	}
	if r.key.panel != "" {
		one := *j
		one.Panels = slices.DeleteFunc(slices.Clone(j.Panels), func(p *job.Panel) bool { return p.ID != r.key.panel })
		if len(one.Panels) == 0 {
			r.set(func() { r.state, r.err = Failed, errors.New("this vehicle has no such panel") })
			return
		}
		j = &one
	}
	p, err := panelwright.Plan(ctx, j, func(doing string) { r.set(func() { r.doing = doing }) })
	r.set(func() {
		r.doing = ""
		switch {
		case err == nil:
			r.state, r.plan = Done, p
		case errors.Is(err, context.DeadlineExceeded):
			r.state, r.err = Failed, fmt.Errorf("planning took longer than %s and was stopped: plan it on the command line, or with fewer stations", planTime)
		case errors.Is(err, context.Canceled):
			r.state = Stopped
		default:
			r.state, r.err = Failed, err
		}
	})
}

// set changes the run and wakes those who wait for a change.
func (r *Run) set(change func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	change()
	close(r.moved)
	r.moved = make(chan struct{})
}

// Status tells how the run stands.
func (r *Run) Status() Status {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.status()
}

func (r *Run) status() Status {
	return Status{State: r.state, Doing: r.doing, Faults: r.faults, Plan: r.plan, Err: r.err}
}

// Watch returns the status, and a channel that is closed when it is no longer true.
func (r *Run) Watch() (Status, <-chan struct{}) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.status(), r.moved
}

// Wait waits until the run has ended, or the context has, and returns its status then.
func (r *Run) Wait(ctx context.Context) Status {
	select {
	case <-r.done:
	case <-ctx.Done():
	}
	return r.Status()
}

// Ended says whether nothing more will come.
func (s Status) Ended() bool { return s.State != Waiting && s.State != Running }

// Stop ends the run soon. One that has ended stays as it is.
func (r *Run) Stop() { r.cancel() }

// Pack draws the plan's files, once. It fails where there is no plan.
func (r *Run) Pack(ctx context.Context) (*panelwright.Pack, error) {
	s := r.Wait(ctx)
	if s.Plan == nil {
		if s.Err != nil {
			return nil, s.Err
		}
		return nil, errors.New("there is no plan to draw: mend the job's faults first")
	}
	r.draw.Do(func() {
		// Not the asker's own context: the next one wants it too.
		ctx, stop := context.WithTimeout(context.Background(), drawTime)
		defer stop()
		r.pack, r.packErr = panelwright.Draw(ctx, s.Plan, nil)
	})
	return r.pack, r.packErr
}
