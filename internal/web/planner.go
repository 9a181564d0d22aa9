package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
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
	plansAtOnce   = 2                // runs that work at the same time
	planTime      = 60 * time.Second // one run, drawing not counted
	drawTime      = 60 * time.Second
	plansWaiting  = 32 // for a slot; beyond it a new run is refused
	drawsAtOnce   = 2
	runsKept      = 16       // finished runs that are kept for pages to come
	packBytesKept = 64 << 20 // of their packs, together
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

// Planner plans revisions in the background, at most two at a time, and keeps what came out of the last ones. It is safe for use by
// several goroutines.
type Planner struct {
	log   io.Writer     // what went wrong on our side
	limit time.Duration // of one run: planTime, but in tests

	mu      sync.Mutex
	slots   chan struct{}
	waiting int // runs that have not got a slot yet
	runs    map[runKey]*Run
	order   []runKey // oldest use first
	draws   chan struct{}
}

type runKey struct {
	vehicle int64
	rev     int
}

// NewPlanner returns a planner without runs. What goes wrong on our side is written to log.
func NewPlanner(log io.Writer) *Planner {
	return &Planner{log: log, limit: planTime, slots: make(chan struct{}, plansAtOnce), draws: make(chan struct{}, drawsAtOnce), runs: map[runKey]*Run{}}
}

// Run is the planning of one revision, of all its panels. A revision never changes, so neither does what came out.
type Run struct {
	of     *Planner
	key    runKey
	cancel context.CancelFunc
	done   chan struct{}

	mu     sync.Mutex
	state  State
	asked  bool // it was stopped because the user asked for it
	doing  string
	job    *job.Job
	faults fault.List
	plan   *setout.Plan
	err    error
	moved  chan struct{} // closed at every change of state or doing

	drawing   chan struct{}     // held by whom draws, or looks for what is drawn; it guards pack
	pack      *panelwright.Pack // nil until drawn
	packBytes int               // guarded by mu
}

// Status is a run at one moment.
type Status struct {
	State  State
	Doing  string
	Job    *job.Job // as far as it could be read; nil before it was
	Faults fault.List
	Plan   *setout.Plan // nil until done, and where faults were found
	Err    error        // why it failed
}

// Start returns the run of a revision, begun now if it was not before. Runs of older revisions of the vehicle are stopped: nobody waits
// for what they would say. A run that was stopped or failed is begun anew.
func (pl *Planner) Start(vehicle int64, rev int, text string, open func(name string) ([]byte, error)) *Run {
	return pl.start(vehicle, rev, text, open, true)
}

// Show is Start for a page that only shows how a revision stands: a run that failed, or that the user stopped, stays so.
func (pl *Planner) Show(vehicle int64, rev int, text string, open func(name string) ([]byte, error)) *Run {
	return pl.start(vehicle, rev, text, open, false)
}

func (pl *Planner) start(vehicle int64, rev int, text string, open func(name string) ([]byte, error), anew bool) *Run {
	pl.mu.Lock()
	defer pl.mu.Unlock()
	key := runKey{vehicle, rev}
	pl.order = slices.DeleteFunc(pl.order, func(k runKey) bool {
		older := k.vehicle == vehicle && k.rev < rev
		if older {
			pl.runs[k].cancel() // whoever waits for it is told, and it is gone then
			delete(pl.runs, k)
		}
		return older
	})
	if r := pl.runs[key]; r != nil {
		if !r.lost(anew) {
			pl.touch(key)
			return r
		}
	}
	r := pl.begin(context.Background(), key, text, open)
	pl.runs[key] = r
	pl.touch(key)
	pl.forget()
	return r
}

// Once plans a text that belongs to no vehicle, in turn with the others. The run ends with ctx, and is not kept.
func (pl *Planner) Once(ctx context.Context, text string, open func(name string) ([]byte, error)) *Run {
	pl.mu.Lock()
	defer pl.mu.Unlock()
	return pl.begin(ctx, runKey{}, text, open)
}

// begin starts a run, or gives one that failed at once when too many wait. The lock is held.
func (pl *Planner) begin(ctx context.Context, key runKey, text string, open func(name string) ([]byte, error)) *Run {
	ctx, cancel := context.WithCancel(ctx)
	r := &Run{of: pl, key: key, cancel: cancel, done: make(chan struct{}), moved: make(chan struct{}), drawing: make(chan struct{}, 1)}
	if pl.waiting >= plansWaiting {
		r.state, r.err = Failed, errBusy
		cancel()
		close(r.done)
		return r
	}
	pl.waiting++
	go pl.work(ctx, r, text, open)
	return r
}

// Why a run came to nothing, in words for the user.
var (
	errBusy     = errors.New("too much is being planned at once: try again in a minute")
	errTooLong  = fmt.Errorf("planning took longer than %.0f s and was stopped: plan it on the command line, which has no such limit", planTime.Seconds())
	errPlanOurs = errors.New("our mistake: the terminal in which the bench runs says more")
)

// touch makes a key the one that was used last.
func (pl *Planner) touch(key runKey) {
	pl.order = append(slices.DeleteFunc(pl.order, func(k runKey) bool { return k == key }), key)
}

// forget drops the finished runs that were not used for longest, until their number and their packs are within bounds. The one that was
// used last stays. The lock is held.
func (pl *Planner) forget() {
	bytes, kept := 0, 0
	for _, k := range slices.Backward(slices.Clone(pl.order)) {
		ended, size := pl.runs[k].size()
		bytes += size
		if kept++; kept > 1 && ended && (kept > runsKept || bytes > packBytesKept) {
			delete(pl.runs, k)
			pl.order = slices.DeleteFunc(pl.order, func(o runKey) bool { return o == k })
		}
	}
}

// size is how many bytes the run's pack has, 0 before it is drawn, and whether the run has ended.
func (r *Run) size() (ended bool, bytes int) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.status().Ended(), r.packBytes
}

// work waits for a place, then plans. A panic in the computation ends the run and nothing else.
func (pl *Planner) work(ctx context.Context, r *Run, text string, open func(string) ([]byte, error)) {
	defer close(r.done)
	defer r.cancel()
	defer func() {
		if p := recover(); p != nil {
			fmt.Fprintf(pl.log, "planning: panic: %v\n%s\n", p, debug.Stack())
			r.set(func() {
				r.state, r.err = Failed, errPlanOurs
			})
		}
	}()
	mine := false
	select {
	case pl.slots <- struct{}{}:
		mine = true
		defer func() { <-pl.slots }()
	case <-ctx.Done():
	}
	pl.mu.Lock()
	pl.waiting--
	pl.mu.Unlock()
	if !mine {
		r.set(func() { r.state = Stopped })
		return
	}
	ctx, stop := context.WithTimeout(ctx, pl.limit)
	defer stop()
	r.set(func() { r.state, r.doing = Running, "reading the job" })
	j, faults := job.Read("job.yaml", []byte(text), open)
	if len(faults) > 0 {
		r.set(func() { r.state, r.job, r.faults, r.doing = Done, j, faults, "" })
		return
	}
	r.set(func() { r.job = j })
	p, err := panelwright.Plan(ctx, j, func(doing string) { r.set(func() { r.doing = doing }) })
	r.set(func() {
		r.doing = ""
		switch {
		case err == nil:
			r.state, r.plan = Done, p
		case errors.Is(err, context.DeadlineExceeded):
			r.state, r.err = Failed, errTooLong
		case errors.Is(err, context.Canceled):
			r.state = Stopped
		default:
			fmt.Fprintf(pl.log, "planning: %v\n", err)
			r.state, r.err = Failed, errPlanOurs
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
	return Status{State: r.state, Doing: r.doing, Job: r.job, Faults: r.faults, Plan: r.plan, Err: r.err}
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

// Stop ends the run soon, as the user asked. One that has ended stays as it is.
func (r *Run) Stop() {
	r.mu.Lock()
	r.asked = true
	r.mu.Unlock()
	r.cancel()
}

// lost says whether the run came to nothing and is to be begun again: one that the user stopped, or that failed
// for more than want of room, only when anew.
func (r *Run) lost(anew bool) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	switch r.state {
	case Stopped:
		return anew || !r.asked
	case Failed:
		return anew || r.err == errBusy
	}
	return false
}

// Pack draws the plan's files, once. It fails where there is no plan, or when ctx ends before its turn.
func (r *Run) Pack(ctx context.Context) (*panelwright.Pack, error) {
	s := r.Wait(ctx)
	if s.Plan == nil {
		if s.Err != nil {
			return nil, s.Err
		}
		return nil, errors.New("there is no plan to draw: mend the job's faults first")
	}
	back, err := place(ctx, r.drawing)
	if err != nil {
		return nil, err
	}
	defer back()
	if r.pack == nil {
		pack, err := r.of.draw(ctx, s.Plan)
		if err != nil {
			return nil, err
		}
		r.pack = pack
		r.of.drawn(r)
	}
	return r.pack, nil
}

// draw waits for a place to draw in, then draws.
func (pl *Planner) draw(ctx context.Context, p *setout.Plan) (*panelwright.Pack, error) {
	back, err := place(ctx, pl.draws)
	if err != nil {
		return nil, err
	}
	defer back()
	// Not the asker's own context: the next one wants it too.
	ctx, stop := context.WithTimeout(context.Background(), drawTime)
	defer stop()
	return panelwright.Draw(ctx, p, nil)
}

// drawn notes how large a run's pack is, and makes room for it.
func (pl *Planner) drawn(r *Run) {
	pl.mu.Lock()
	defer pl.mu.Unlock()
	r.mu.Lock()
	for _, f := range r.pack.Files {
		r.packBytes += len(f.Data)
	}
	r.mu.Unlock()
	if pl.runs[r.key] == r {
		pl.touch(r.key)
		pl.forget()
	}
}

// place waits for one of the places that a channel has room for, until ctx ends. It is to be given back.
func place(ctx context.Context, places chan struct{}) (back func(), err error) {
	select {
	case places <- struct{}{}:
		return func() { <-places }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
