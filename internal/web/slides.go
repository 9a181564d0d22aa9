package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"panelwright"
	"panelwright/internal/fault"
	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// Bounds of what is kept ready for hands on the set-out pages.
const (
	panelsKept    = 24 // plans of one panel each, a megabyte or two
	panelsWaiting = 32 // plans that are asked for and not yet made; beyond it a new one is refused
	panelsTurns   = 2  // panels planned at once
	slidesTurns   = 2  // stations made ready at once: a hand waits for it, so it does not stand behind plans
	slidesKept    = 32 // stations that are ready to slide: each holds 3 to 6 MB
	slideStep     = 5  // mm between the places of a sliding station
)

// panelPlans plans single panels, for the set-out pages: quicker than the vehicle, and without drawings. It is safe for use by several
// goroutines.
type panelPlans struct {
	log   io.Writer     // what went wrong on our side
	turns chan struct{} // to plan
	ready chan struct{} // to make stations ready

	mu     sync.Mutex
	all    map[panelKey]*panelPlan
	order  []panelKey // oldest use first
	open   int        // plans that are not made yet
	slides []*slideEntry
}

type panelKey struct {
	vehicle int64
	rev     int
	panel   string
}

func newPanelPlans(log io.Writer) *panelPlans {
	return &panelPlans{log: log, turns: make(chan struct{}, panelsTurns), ready: make(chan struct{}, slidesTurns), all: map[panelKey]*panelPlan{}}
}

// panelPlan is one panel of one revision, which never changes.
type panelPlan struct {
	of     *panelPlans
	ctx    context.Context
	stop   context.CancelFunc
	done   chan struct{}
	faults fault.List
	plan   *setout.Plan // of this panel alone; nil where faults or err say why
	err    error

	// Under the lock of all plans:
	asking  int  // requests that wait for it now
	dropped bool // nobody will ask again
	slides  map[int]*slideEntry
}

type slideEntry struct {
	panel   *panelPlan
	station int
	made    bool // under the lock of all plans
	once    sync.Once
	slide   *panelwright.Slide
	err     error
}

// errNoPanel says that the vehicle has no panel of that id.
var errNoPanel = errors.New("this vehicle has no such panel")

// of gives the plan of a panel, begun now if it was not before, or if it took too long then. It waits no longer than ctx: ready says
// whether it is there. Plans of older revisions of the vehicle are let go, and stopped where nobody waits for them.
func (p *panelPlans) of(ctx context.Context, v Revision, panel string) (plan *panelPlan, ready bool) {
	key := panelKey{v.Vehicle, v.Number, panel}
	p.mu.Lock()
	e := p.all[key]
	if e == nil || e.again() {
		if p.open >= panelsWaiting {
			p.mu.Unlock()
			return &panelPlan{err: errBusy}, true
		}
		e = &panelPlan{of: p, done: make(chan struct{}), slides: map[int]*slideEntry{}}
		e.ctx, e.stop = context.WithCancel(context.Background())
		p.all[key] = e
		p.open++
		go p.work(e, v, panel)
	}
	e.asking++
	p.order = append(slices.DeleteFunc(p.order, func(k panelKey) bool { return k == key }), key)
	p.forget(key)
	p.mu.Unlock()
	defer p.left(e)
	select {
	case <-e.done:
		return e, true
	case <-ctx.Done():
		return e, false
	}
}

// again says whether a plan was stopped at its bound, so that who asks once more shall have it tried once more.
func (e *panelPlan) again() bool {
	select {
	case <-e.done:
		return errors.Is(e.err, errTooLong)
	default:
		return false
	}
}

// left notes that a request waits no longer.
func (p *panelPlans) left(e *panelPlan) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if e.asking--; e.asking == 0 && e.dropped {
		e.stop()
	}
}

// forget lets go what is older than a revision, and of what is made already that which was not asked for longest. The lock is held.
func (p *panelPlans) forget(now panelKey) {
	over := len(p.order) - panelsKept
	p.order = slices.DeleteFunc(p.order, func(k panelKey) bool {
		e := p.all[k]
		older := k.vehicle == now.vehicle && k.rev < now.rev
		if !older && (over <= 0 || k == now || !e.made()) {
			return false
		}
		over--
		delete(p.all, k)
		e.dropped = true
		p.slides = slices.DeleteFunc(p.slides, func(s *slideEntry) bool { return s.panel == e })
		if e.asking == 0 {
			e.stop()
		}
		return true
	})
}

func (e *panelPlan) made() bool {
	select {
	case <-e.done:
		return true
	default:
		return false
	}
}

// work plans. A panic in the computation ends this plan and nothing else.
func (p *panelPlans) work(e *panelPlan, v Revision, panel string) {
	defer func() {
		if x := recover(); x != nil {
			fmt.Fprintf(p.log, "planning a panel: panic: %v\n%s\n", x, debug.Stack())
			e.plan, e.err = nil, errPlanOurs
		}
		p.mu.Lock()
		p.open--
		p.mu.Unlock()
		close(e.done)
	}()
	defer e.stop()
	back, err := place(e.ctx, p.turns)
	if err != nil {
		e.err = err
		return
	}
	defer back()
	j, faults := job.Read("job.yaml", []byte(v.Text), v.Open)
	if len(faults) > 0 {
		e.faults = faults
		return
	}
	one := *j
	one.Panels = slices.DeleteFunc(slices.Clone(j.Panels), func(q *job.Panel) bool { return q.ID != panel })
	if len(one.Panels) == 0 {
		e.err = errNoPanel
		return
	}
	ctx, stop := context.WithTimeout(e.ctx, planTime)
	defer stop()
	plan, err := panelwright.Plan(ctx, &one, nil)
	switch {
	case err == nil:
		e.plan = plan
	case errors.Is(err, context.DeadlineExceeded):
		e.err = errTooLong
	case errors.Is(err, context.Canceled):
		e.err = err
	default:
		fmt.Fprintf(p.log, "planning a panel: %v\n", err)
		e.err = errPlanOurs
	}
}

// refusal says why there is no plan to work on; nil where there is one.
func (e *panelPlan) refusal(ready bool) error {
	switch {
	case ready && e.plan != nil:
		return nil
	case !ready, errors.Is(e.err, errBusy):
		return refuse(http.StatusServiceUnavailable, "Busy", "%s.", errBusy)
	case errors.Is(e.err, context.Canceled):
		return refuse(http.StatusConflict, "Changed meanwhile", "Somebody has saved a newer revision while this one was planned. Reload the page.")
	case errors.Is(e.err, errTooLong):
		return refuse(http.StatusUnprocessableEntity, "Too long", "%s.", errTooLong)
	case errors.Is(e.err, errPlanOurs):
		return refuse(http.StatusInternalServerError, "Our mistake", "%s.", errPlanOurs)
	}
	return refuse(http.StatusConflict, "No set-out", "There is no plan of this panel: mend the job's faults first.")
}

// slide returns a station ready to slide, prepared once. It fails where there is no such station, or the panel model cannot say.
func (e *panelPlan) slide(station int) (*panelwright.Slide, error) {
	if e.plan == nil || station < 0 || station >= len(e.plan.Panels[0].Stations) {
		return nil, errors.New("there is no such station")
	}
	s := e.of.slideOf(e, station)
	s.once.Do(func() { // not the asker's own context: the next one wants it too
		defer e.of.readied(s)
		ctx, stop := context.WithTimeout(context.Background(), planTime)
		defer stop()
		back, err := place(ctx, e.of.ready)
		if err != nil {
			s.err = errBusy
			return
		}
		defer back()
		s.slide, s.err = panelwright.NewSlide(ctx, e.plan, 0, station, slideStep)
	})
	return s.slide, s.err
}

// slideOf gives the entry of a station, and makes it the one that was used last.
func (p *panelPlans) slideOf(e *panelPlan, station int) *slideEntry {
	p.mu.Lock()
	defer p.mu.Unlock()
	s := e.slides[station]
	if s == nil {
		s = &slideEntry{panel: e, station: station}
		e.slides[station] = s
	}
	p.slides = append(slices.DeleteFunc(p.slides, func(o *slideEntry) bool { return o == s }), s)
	return s
}

// readied notes that a station is made ready, and drops those beyond the bound that were not used for longest. What is still in the making
// is not dropped: whoever waits for it would find it gone at the next step.
func (p *panelPlans) readied(s *slideEntry) {
	p.mu.Lock()
	defer p.mu.Unlock()
	s.made = true
	over := -slidesKept
	for _, o := range p.slides {
		if o.made {
			over++
		}
	}
	p.slides = slices.DeleteFunc(p.slides, func(o *slideEntry) bool {
		if over <= 0 || !o.made {
			return false
		}
		over--
		delete(o.panel.slides, o.station)
		return true
	})
}

// setoutPatience is how long the set-out page waits for its panel's plan before it is shown without.
const setoutPatience = 3 * time.Second
