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

// Bounds of what is kept ready for hands on the set-out pages.
const (
	panelsKept  = 12 // plans of one panel each
	slidesKept  = 4  // stations of such a plan that are ready to slide: each holds some megabytes
	slideStep   = 5  // mm between the places of a sliding station
	panelsTurns = 2  // panels planned at once
)

// panelPlans plans single panels, for the set-out pages: quicker than the vehicle, and without drawings. It is safe for use by several
// goroutines.
type panelPlans struct {
	mu    sync.Mutex
	turns chan struct{}
	all   map[panelKey]*panelPlan
	order []panelKey // oldest use first
}

type panelKey struct {
	vehicle int64
	rev     int
	panel   string
}

func newPanelPlans() *panelPlans {
	return &panelPlans{turns: make(chan struct{}, panelsTurns), all: map[panelKey]*panelPlan{}}
}

// panelPlan is one panel of one revision, which never changes.
type panelPlan struct {
	done   chan struct{}
	faults fault.List
	plan   *setout.Plan // of this panel alone; nil where faults or err say why
	err    error

	mu     sync.Mutex
	slides map[int]*slideEntry
	order  []int
}

type slideEntry struct {
	once  sync.Once
	slide *panelwright.Slide
	err   error
}

// errNoPanel says that the vehicle has no panel of that id.
var errNoPanel = errors.New("this vehicle has no such panel")

// of gives the plan of a panel, begun now if it was not before. It waits no longer than ctx: ready says whether it is there.
func (p *panelPlans) of(ctx context.Context, v Revision, panel string) (plan *panelPlan, ready bool) {
	key := panelKey{v.Vehicle, v.Number, panel}
	p.mu.Lock()
	e := p.all[key]
	if e == nil {
		e = &panelPlan{done: make(chan struct{}), slides: map[int]*slideEntry{}}
		p.all[key] = e
		go p.work(e, v, panel)
	}
	p.order = append(slices.DeleteFunc(p.order, func(k panelKey) bool { return k == key }), key)
	for len(p.order) > panelsKept {
		delete(p.all, p.order[0])
		p.order = p.order[1:]
	}
	p.mu.Unlock()
	select {
	case <-e.done:
		return e, true
	case <-ctx.Done():
		return e, false
	}
}

// work plans. A panic in the computation ends this plan and nothing else.
func (p *panelPlans) work(e *panelPlan, v Revision, panel string) {
	defer close(e.done)
	defer func() {
		if x := recover(); x != nil {
			e.plan, e.err = nil, fmt.Errorf("%w: %v", errPlanOurs, x)
		}
	}()
	p.turns <- struct{}{}
	defer func() { <-p.turns }()
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
	ctx, stop := context.WithTimeout(context.Background(), planTime)
	defer stop()
	e.plan, e.err = panelwright.Plan(ctx, &one, nil)
	if errors.Is(e.err, context.DeadlineExceeded) {
		e.plan, e.err = nil, errTooLong
	}
}

// slide returns a station ready to slide, prepared once. It fails where there is no such station, or the panel model cannot say.
func (e *panelPlan) slide(station int) (*panelwright.Slide, error) {
	if e.plan == nil || station < 0 || station >= len(e.plan.Panels[0].Stations) {
		return nil, errors.New("there is no such station")
	}
	e.mu.Lock()
	s := e.slides[station]
	if s == nil {
		s = &slideEntry{}
		e.slides[station] = s
		if e.order = append(e.order, station); len(e.order) > slidesKept {
			delete(e.slides, e.order[0])
			e.order = e.order[1:]
		}
	}
	e.mu.Unlock()
	s.once.Do(func() {
		ctx, stop := context.WithTimeout(context.Background(), planTime)
		defer stop()
		s.slide, s.err = panelwright.NewSlide(ctx, e.plan, 0, station, slideStep)
	})
	return s.slide, s.err
}

// setoutPatience is how long the set-out page waits for its panel's plan before it is shown without.
const setoutPatience = 3 * time.Second
